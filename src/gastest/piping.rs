//! How much gas a line holds, from the sizes and lengths of its tubes.
//!
//! Owns: inside diameters of the usual tubes. Refuses: guessing fittings, hoses and appliances, which the user adds.

use super::range::{Input, OutOfRange};
use crate::named;

/// A tube or pipe by its trade size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Tube {
    /// Annealed copper, ASTM B280, 3/8 in. outside.
    Copper38,
    /// Annealed copper, ASTM B280, 1/2 in. outside.
    Copper12,
    /// Annealed copper, ASTM B280, 5/8 in. outside.
    Copper58,
    /// Copper type L, ASTM B88, 1/2 in. outside (3/8 nominal).
    CopperL12,
    /// Steel pipe, schedule 40, 1/2 in. nominal.
    Steel12,
    /// Steel pipe, schedule 40, 3/4 in. nominal.
    Steel34,
}

named!(Tube, "a tube size", {
    Copper38 = "b280-3/8",
    Copper12 = "b280-1/2",
    Copper58 = "b280-5/8",
    CopperL12 = "b88l-1/2",
    Steel12 = "sch40-1/2",
    Steel34 = "sch40-3/4",
});

impl Tube {
    /// Inside diameter in inches: published tables of ASTM B280 and B88, and pipe table 402.4(28) for schedule 40.
    #[must_use]
    pub fn bore_in(self) -> f64 {
        match self {
            Self::Copper38 => 0.311,
            Self::Copper12 => 0.436,
            Self::Copper58 => 0.555,
            Self::CopperL12 => 0.430,
            Self::Steel12 => 0.622,
            Self::Steel34 => 0.824,
        }
    }
}

const BORE: Input = Input { what: "inside diameter", unit: "in", least: 0.01, most: 12.0 };
const LENGTH: Input = Input { what: "length", unit: "ft", least: 0.0, most: 10_000.0 };

/// Volume of a straight tube in cubic inches: `π/4 × d² × 12 × length`, `d` in inches, length in feet.
///
/// Source: geometry. Range: inside diameter 0.01 to 12 in., up to 10 000 ft.
///
/// # Errors
/// [`OutOfRange`] naming the input outside its range.
pub fn volume_in3(bore_in: f64, length_ft: f64) -> Result<f64, OutOfRange> {
    let bore_in = BORE.check(bore_in)?;
    Ok(std::f64::consts::FRAC_PI_4 * bore_in * bore_in * 12.0 * LENGTH.check(length_ft)?)
}
