//! The standard atmosphere, and what it does to a closed gas line.
//!
//! Owns: air pressure by elevation, the effect of a temperature or barometer change, a U-tube's own volume.
//! Refuses: weather. Real air pressure wanders by some 30 mbar about these figures.

use super::range::{Input, OutOfRange};
use crate::model::{Elevation, Pressure, Temperature};

/// Air pressure at sea level in the standard atmosphere, pascals.
const SEA_LEVEL_PA: f64 = 101_325.0;

const ELEVATION: Input = Input { what: "elevation", unit: "m", least: -1_000.0, most: 11_000.0 };
const AIR: Input = Input { what: "temperature", unit: "°F", least: -40.0, most: 150.0 };
const LINE: Input = Input { what: "line pressure", unit: "psi", least: 0.0, most: 30.0 };
const VOLUME: Input = Input { what: "volume", unit: "in³", least: 0.01, most: 1e6 };
const BORE: Input = Input { what: "tube bore", unit: "in", least: 0.01, most: 2.0 };

/// Air pressure at an elevation: `101325 × (1 − 0.0065 h / 288.15)^5.255876` Pa, `h` in metres.
///
/// Source: US Standard Atmosphere 1976, lowest layer. Range: −1000 to 11 000 m.
///
/// # Errors
/// [`OutOfRange`] outside that layer.
pub fn atmosphere(elevation: Elevation) -> Result<Pressure, OutOfRange> {
    let metres = ELEVATION.check(elevation.metres())?;
    let pascals = SEA_LEVEL_PA * (1.0 - 0.0065 * metres / 288.15).powf(5.255_876);
    Pressure::of(pascals, crate::model::PressureUnit::Pascal).ok_or(OutOfRange {
        what: "air pressure",
        value: pascals,
        unit: "Pa",
        least: 0.0,
        most: SEA_LEVEL_PA,
    })
}

/// What a closed line of fixed volume would show after its gas went from one temperature to another, in. w.c.; less
/// than zero where it would draw a vacuum: `(Pa + P₁) × T₂ / T₁ − Pa`, temperatures absolute.
///
/// Source: ideal gas law. Propane vapour near 10 in. w.c. moves about 4 % more. Range: −40 to 150 °F, 0 to 30 psi.
///
/// # Errors
/// [`OutOfRange`] naming the input outside its range.
pub fn warmed_inwc(
    start: Pressure,
    from: Temperature,
    to: Temperature,
    elevation: Elevation,
) -> Result<f64, OutOfRange> {
    LINE.check(start.to(crate::model::PressureUnit::Psi))?;
    AIR.check(from.fahrenheit())?;
    AIR.check(to.fahrenheit())?;
    let air_inwc = atmosphere(elevation)?.inwc();
    Ok((air_inwc + start.inwc()) * (to.rankine() / from.rankine()) - air_inwc)
}

/// The fraction of a closed line's pressure change that a U-tube connected to it shows, 0 to 1:
/// `V / (V + Pabs × A / 2)`, `Pabs` in inches of water and `A` the bore's area in square inches. The column itself makes
/// room as it falls.
///
/// Source: ideal gas law and geometry. Range: 0.01 to 1 000 000 in³, bore 0.01 to 2 in.
///
/// # Errors
/// [`OutOfRange`] naming the input outside its range.
pub fn u_tube_fraction(volume_in3: f64, bore_in: f64, line: Pressure, elevation: Elevation) -> Result<f64, OutOfRange> {
    VOLUME.check(volume_in3)?;
    BORE.check(bore_in)?;
    LINE.check(line.to(crate::model::PressureUnit::Psi))?;
    let absolute_inwc = atmosphere(elevation)?.inwc() + line.inwc();
    let area_in2 = std::f64::consts::FRAC_PI_4 * bore_in * bore_in;
    Ok(volume_in3 / (volume_in3 + absolute_inwc * area_in2 / 2.0))
}
