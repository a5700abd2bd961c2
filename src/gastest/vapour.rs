//! The pressure of propane vapour over its liquid.
//!
//! Owns: pure propane. Refuses: commercial mixtures, whose limits are published up to 15 % higher.

use super::atmosphere::atmosphere;
use super::range::{Input, OutOfRange};
use crate::model::{Elevation, Temperature};
use crate::model::{Pressure, PressureUnit};

/// Critical point of propane.
const CRITICAL_KELVIN: f64 = 369.89;
const CRITICAL_PA: f64 = 4_251_200.0;
/// Coefficients and exponents of the saturation equation.
const TERMS: [(f64, f64); 5] = [(-6.7722, 1.0), (1.6938, 1.5), (-1.3341, 2.2), (-3.1876, 4.8), (0.949_37, 6.2)];

const LIQUID: Input = Input { what: "liquid temperature", unit: "°F", least: -40.0, most: 130.0 };

/// Vapour pressure of pure propane, absolute:
/// `ln(p / pc) = Tc / T × Σ nᵢ (1 − T / Tc)^kᵢ`.
///
/// Source: the saturation equation published with the reference equation of state (Lemmon, McLinden and Wagner, 2009),
/// coefficients from memory, checked against values computed from that equation of state to 0.2 psi. Range: −40 to
/// 130 °F.
///
/// # Errors
/// [`OutOfRange`] outside that range.
pub fn propane_absolute(liquid: Temperature) -> Result<Pressure, OutOfRange> {
    LIQUID.check(liquid.fahrenheit())?;
    let kelvin = liquid.kelvin();
    let distance = 1.0 - kelvin / CRITICAL_KELVIN;
    let sum: f64 = TERMS.iter().map(|(factor, exponent)| factor * distance.powf(*exponent)).sum();
    let pascals = CRITICAL_PA * (CRITICAL_KELVIN / kelvin * sum).exp();
    Pressure::of(pascals, PressureUnit::Pascal).ok_or(OutOfRange {
        what: "vapour pressure",
        value: pascals,
        unit: "Pa",
        least: 0.0,
        most: CRITICAL_PA,
    })
}

/// Vapour pressure of pure propane as a gauge shows it at an elevation, psi; may be under zero high up in the cold.
///
/// # Errors
/// [`OutOfRange`] as [`propane_absolute`] and [`atmosphere`].
pub fn propane_psig(liquid: Temperature, elevation: Elevation) -> Result<f64, OutOfRange> {
    Ok(propane_absolute(liquid)?.to(PressureUnit::Psi) - atmosphere(elevation)?.to(PressureUnit::Psi))
}
