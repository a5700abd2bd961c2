//! What elevation does to an appliance's input.
//!
//! Owns: two conventions of derating that disagree, and the loss that comes by itself. Refuses: choosing for the user;
//! the appliance's own nameplate or manual decides.

use super::atmosphere::atmosphere;
use super::range::{Input, OutOfRange};
use crate::model::{Elevation, Pressure};
use crate::named;

/// How a derating is counted.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Convention {
    /// Above 2000 ft, 4 % for each 1000 ft counted from sea level, as a kitchen appliance maker and reports of NFPA 54
    /// have it.
    #[default]
    FromSeaLevel,
    /// 4 % for each begun 1000 ft above 2000 ft, as one heater maker's table has it.
    From2000Ft,
}

named!(Convention, "a derating convention", { FromSeaLevel = "from-sea-level", From2000Ft = "from-2000-ft" });

impl Convention {
    /// Where it stands.
    #[must_use]
    pub fn source(self) -> &'static str {
        match self {
            Self::FromSeaLevel => "appliance maker's manual; NFPA 54 table as described in a trade paper",
            Self::From2000Ft => "a heater maker's manual, table in 1000 ft bands",
        }
    }
}

/// Below this, elevation is left out by both conventions, feet.
const DERATING_FROM_FT: f64 = 2000.0;
const ELEVATION: Input = Input { what: "elevation", unit: "ft", least: -1_500.0, most: 15_000.0 };
const INPUT: Input = Input { what: "input", unit: "Btu/h", least: 0.0, most: 1e7 };

/// Percent by which a convention lowers an appliance's input at an elevation.
///
/// Source: see [`Convention`]; the two disagree (5000 ft: 20 % against 12 %). Range: −1500 to 15 000 ft.
///
/// # Errors
/// [`OutOfRange`] outside that range.
pub fn derating_percent(elevation: Elevation, convention: Convention) -> Result<f64, OutOfRange> {
    let feet = ELEVATION.check(elevation.feet())?;
    if feet <= DERATING_FROM_FT {
        return Ok(0.0);
    }
    Ok(match convention {
        Convention::FromSeaLevel => 4.0 * feet / 1000.0,
        Convention::From2000Ft => 4.0 * ((feet - DERATING_FROM_FT) / 1000.0).ceil(),
    })
}

/// Input left at an elevation, Btu per hour, after a convention's derating.
///
/// # Errors
/// [`OutOfRange`] as [`derating_percent`], and above 10 000 000 Btu/h.
pub fn derated_btu_h(sea_level_btu_h: f64, elevation: Elevation, convention: Convention) -> Result<f64, OutOfRange> {
    let percent = derating_percent(elevation, convention)?;
    Ok(INPUT.check(sea_level_btu_h)? * (100.0 - percent) / 100.0)
}

/// The fraction of its sea-level flow, by mass, that an unchanged orifice passes at the same gauge pressure:
/// `√((Pa + P) / (Pa₀ + P))`.
///
/// Source: orifice law with gas density in proportion to absolute pressure before the orifice. Range: −1500 to
/// 15 000 ft.
///
/// # Errors
/// [`OutOfRange`] outside that range.
pub fn natural_fraction(elevation: Elevation, line: Pressure) -> Result<f64, OutOfRange> {
    ELEVATION.check(elevation.feet())?;
    let absolute = |elevation| -> Result<f64, OutOfRange> { Ok(atmosphere(elevation)?.pascals() + line.pascals()) };
    Ok((absolute(elevation)? / absolute(Elevation::SEA_LEVEL)?).sqrt())
}
