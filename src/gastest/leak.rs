//! Leak rates from a fall of pressure, and the smallest leak a test could have shown.
//!
//! Owns: the arithmetic. Refuses: allowing a leak; a rate is for understanding a fall, never for excusing it.

use super::range::{Input, OutOfRange};
use crate::model::Pressure;

/// Base pressure of a standard cubic foot, 14.696 psi, in inches of water.
const BASE_INWC: f64 = 406.7825;
/// Base pressure of a litre at one standard atmosphere, millibars.
const BASE_MBAR: f64 = 1013.25;
/// Heat in a cubic foot of propane vapour, Btu (published LP-gas properties, read in a secondary page).
pub const PROPANE_BTU_FT3: f64 = 2516.0;
/// Cubic inches in a cubic foot.
pub const CUBIC_FOOT_IN3: f64 = 1728.0;
/// Cubic centimetres in a cubic inch.
pub const CUBIC_INCH_CM3: f64 = 16.387_064;

const VOLUME: Input = Input { what: "volume", unit: "ft³", least: 1e-6, most: 1000.0 };
const MINUTES: Input = Input { what: "time", unit: "min", least: 1e-3, most: 10_080.0 };
const FALL: Input = Input { what: "fall", unit: "in. w.c.", least: 0.0, most: 850.0 };

/// A leak as a flow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeakRate {
    /// Standard cubic feet per hour at 14.696 psi and the gas's own temperature.
    pub scfh: f64,
    /// Btu per hour if it were propane.
    pub btu_h: f64,
    /// Litres per hour at 1013.25 mbar and the gas's own temperature.
    pub l_h: f64,
}

/// The flow that lowers a closed volume by `fall` in `minutes`:
/// `V (ft³) × ΔP (in. w.c.) / 406.7825 × 60 / minutes` cubic feet per hour.
///
/// Source: ideal gas law at steady temperature; 2516 Btu/ft³. The volume includes hoses and the regulator's outlet side.
/// Range: up to 1000 ft³, a week and 30 psi.
///
/// # Errors
/// [`OutOfRange`] naming the input outside its range.
pub fn leak_rate(volume_ft3: f64, fall: Pressure, minutes: f64) -> Result<LeakRate, OutOfRange> {
    VOLUME.check(volume_ft3)?;
    MINUTES.check(minutes)?;
    let fall_inwc = FALL.check(fall.inwc())?;
    let per_hour = 60.0 / minutes;
    let scfh = volume_ft3 * fall_inwc / BASE_INWC * per_hour;
    let litres = volume_ft3 * CUBIC_FOOT_IN3 * CUBIC_INCH_CM3 / 1000.0;
    let l_h = litres * fall.to(crate::model::PressureUnit::Millibar) / BASE_MBAR * per_hour;
    Ok(LeakRate { scfh, btu_h: scfh * PROPANE_BTU_FT3, l_h })
}

/// The smallest leak that a timed drop could have shown: one that lowers the line by just the gauge's smallest step.
///
/// Source and range: as [`leak_rate`]. A temperature that was not steady hides more than this.
///
/// # Errors
/// [`OutOfRange`] naming the input outside its range.
pub fn smallest_leak(volume_ft3: f64, resolution: Pressure, minutes: f64) -> Result<LeakRate, OutOfRange> {
    leak_rate(volume_ft3, resolution, minutes)
}
