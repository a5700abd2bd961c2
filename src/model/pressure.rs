//! Pressures: what a gauge showed, whatever its scale.
//!
//! Owns: units, their exact size, and reading a pressure as people type one, U-tube legs included.
//! Refuses: negative and endless pressures, and judging a reading.

use super::quantity::{QuantityError, clip, plain_unit, read, rounded, split_number};
use std::fmt;
use std::str::FromStr;

/// Inch of water, conventional: 25.4 mm of water at 1000 kg/m³ under 9.80665 m/s², in pascals, exactly.
pub const INCH_OF_WATER_PA: f64 = 249.08891;
const MM_OF_WATER_PA: f64 = 9.80665;
/// Pound-force per square inch: 0.45359237 kg × 9.80665 m/s² on (0.0254 m)².
const PSI_PA: f64 = 0.453_592_37 * 9.806_65 / (0.0254 * 0.0254);
/// Inch of mercury, conventional: 25.4 mm at 13 595.1 kg/m³.
const INCH_OF_MERCURY_PA: f64 = 13.5951 * 9.80665 * 25.4;
/// Inches of water at the density it has at 39.2 °F and 60 °F: NIST SP 811 Appendix B.8, from memory.
const INCH_OF_WATER_39F_PA: f64 = 249.082;
const INCH_OF_WATER_60F_PA: f64 = 248.84;
/// 10 000 bar: far above anything in the trade, far below what arithmetic could lose.
const MOST_PA: f64 = 1e9;

/// A unit of pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PressureUnit {
    /// Conventional inch of water.
    InchOfWater,
    /// Inch of water at 39.2 °F.
    InchOfWater39F,
    /// Inch of water at 60 °F.
    InchOfWater60F,
    /// Conventional millimetre of water.
    MillimetreOfWater,
    /// Pascal.
    Pascal,
    /// Hectopascal, the same as a millibar.
    Hectopascal,
    /// Kilopascal.
    Kilopascal,
    /// Millibar.
    Millibar,
    /// Bar.
    Bar,
    /// Pound-force per square inch.
    Psi,
    /// Ounce-force per square inch.
    OunceSquareInch,
    /// Conventional inch of mercury.
    InchOfMercury,
}

impl PressureUnit {
    /// Every unit, in the order they are listed to people.
    pub const ALL: [Self; 12] = [
        Self::InchOfWater,
        Self::Millibar,
        Self::Kilopascal,
        Self::Pascal,
        Self::Psi,
        Self::OunceSquareInch,
        Self::MillimetreOfWater,
        Self::InchOfMercury,
        Self::Hectopascal,
        Self::Bar,
        Self::InchOfWater39F,
        Self::InchOfWater60F,
    ];

    const KNOWN: &'static str = "inwc, mbar, kPa, Pa, psi, oz/in2, mmH2O, inHg, hPa, bar, inH2O_39.2F, inH2O_60F";

    /// One of this unit in pascals, from the SI definitions.
    #[must_use]
    pub fn pascals(self) -> f64 {
        match self {
            Self::InchOfWater => INCH_OF_WATER_PA,
            Self::InchOfWater39F => INCH_OF_WATER_39F_PA,
            Self::InchOfWater60F => INCH_OF_WATER_60F_PA,
            Self::MillimetreOfWater => MM_OF_WATER_PA,
            Self::Pascal => 1.0,
            Self::Hectopascal | Self::Millibar => 100.0,
            Self::Kilopascal => 1000.0,
            Self::Bar => 100_000.0,
            Self::Psi => PSI_PA,
            Self::OunceSquareInch => PSI_PA / 16.0,
            Self::InchOfMercury => INCH_OF_MERCURY_PA,
        }
    }

    /// The unit as this program writes it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::InchOfWater => "inwc",
            Self::InchOfWater39F => "inH2O_39.2F",
            Self::InchOfWater60F => "inH2O_60F",
            Self::MillimetreOfWater => "mmH2O",
            Self::Pascal => "Pa",
            Self::Hectopascal => "hPa",
            Self::Kilopascal => "kPa",
            Self::Millibar => "mbar",
            Self::Bar => "bar",
            Self::Psi => "psi",
            Self::OunceSquareInch => "oz/in2",
            Self::InchOfMercury => "inHg",
        }
    }
}

impl fmt::Display for PressureUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for PressureUnit {
    type Err = QuantityError;
    /// Reads a unit in any of its usual spellings; case, spaces and points do not matter.
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        Ok(match plain_unit(text).as_str() {
            "inwc" | "inh2o" | "inwg" | "iwc" | "iwg" | "inw" | "\"wc" | "\"wg" | "\"h2o" | "inaq" | "inchwc"
            | "incheswc" | "inchh2o" | "inchesh2o" | "incheswg" | "inchofwater" | "inchesofwater" | "inwatercolumn"
            | "incheswatercolumn" | "inofwater" => Self::InchOfWater,
            "inh2o392f" | "inwc392f" | "inh2o4c" => Self::InchOfWater39F,
            "inh2o60f" | "inwc60f" => Self::InchOfWater60F,
            "mmh2o" | "mmwc" | "mmwg" | "mmws" | "mmaq" | "mmofwater" => Self::MillimetreOfWater,
            "pa" | "pascal" | "pascals" => Self::Pascal,
            "hpa" | "hectopascal" | "hectopascals" => Self::Hectopascal,
            "kpa" | "kilopascal" | "kilopascals" => Self::Kilopascal,
            "mbar" | "mb" | "millibar" | "millibars" => Self::Millibar,
            "bar" | "bars" => Self::Bar,
            "psi" | "psig" | "lb/in2" | "lbf/in2" | "lb/sqin" | "lbs/sqin" => Self::Psi,
            "oz" | "oz/in2" | "ozf/in2" | "oz/sqin" | "ozin2" | "osi" | "ozsi" | "ounce" | "ounces" => {
                Self::OunceSquareInch
            }
            "inhg" | "\"hg" | "incheshg" | "inchofmercury" | "inchesofmercury" => Self::InchOfMercury,
            _ => {
                return Err(QuantityError::UnknownUnit {
                    unit: clip(text.trim()),
                    quantity: "pressure",
                    known: Self::KNOWN,
                });
            }
        })
    }
}

/// A gauge pressure of zero or more, kept in pascals.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Pressure {
    pascals: f64,
}

/// Why a text is no reading.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReadingError {
    /// Not a number with a unit of pressure.
    #[error(transparent)]
    Quantity(#[from] QuantityError),
    /// More than two legs, or a leg that is no number.
    #[error("`{}` is not the two legs of a U-tube; write them as in 6.1+6.1", .text.escape_debug())]
    Legs {
        /// What was written.
        text: String,
    },
    /// The time behind `@` is no number of minutes in a day.
    #[error("`{}` is not a number of minutes; write a timed reading as in 14.6@5", .text.escape_debug())]
    NotMinutes {
        /// What was written.
        text: String,
    },
}

impl Pressure {
    /// `value` of `unit`, if zero or more and under 10 000 bar.
    #[must_use]
    pub fn of(value: f64, unit: PressureUnit) -> Option<Self> {
        let pascals = value * unit.pascals();
        (0.0..=MOST_PA).contains(&pascals).then_some(Self { pascals: pascals + 0.0 })
    }

    /// `value` inches of water, if zero or more and under 10 000 bar.
    #[must_use]
    pub fn from_inwc(value: f64) -> Option<Self> {
        Self::of(value, PressureUnit::InchOfWater)
    }

    /// The pressure in `unit`.
    #[must_use]
    pub fn to(self, unit: PressureUnit) -> f64 {
        self.pascals / unit.pascals()
    }

    /// The pressure in pascals.
    #[must_use]
    pub fn pascals(self) -> f64 {
        self.pascals
    }

    /// The pressure in conventional inches of water.
    #[must_use]
    pub fn inwc(self) -> f64 {
        self.to(PressureUnit::InchOfWater)
    }
}

impl fmt::Display for Pressure {
    /// In inches of water to a hundredth, as in `11.2 in. w.c.`
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{} in. w.c.", rounded(self.inwc(), 2)))
    }
}

impl FromStr for Pressure {
    type Err = ReadingError;
    /// Reads `11`, `11inwc`, `27.4 mbar` or the two legs of a U-tube, `6.1+6.1` with a unit at the end. A bare number is
    /// inches of water.
    fn from_str(text: &str) -> Result<Self, ReadingError> {
        let (mut value, mut rest) = read(text)?;
        let shown = || clip(text.trim());
        let negative = text.trim_start().starts_with('-');
        if let Some(second) = rest.strip_prefix('+') {
            let second = second.trim_start();
            let (leg, behind) = second
                .starts_with(|c: char| c.is_ascii_digit() || c == '.')
                .then(|| split_number(second))
                .flatten()
                .ok_or_else(|| ReadingError::Legs { text: shown() })?;
            value += leg;
            rest = behind.trim_start();
            if rest.contains('+') {
                return Err(ReadingError::Legs { text: shown() });
            }
        } else if rest.contains('+') {
            // `6.1in+6.1in`: a unit on the first leg could differ from the second's.
            return Err(ReadingError::Legs { text: shown() });
        }
        if negative {
            return Err(QuantityError::Negative { text: shown() }.into());
        }
        if rest.starts_with(',') {
            return Err(QuantityError::Comma { text: shown() }.into());
        }
        let unit = if rest.is_empty() { PressureUnit::InchOfWater } else { rest.parse()? };
        Self::of(value, unit).ok_or_else(|| QuantityError::TooLarge { text: shown(), limit: "10 000 bar" }.into())
    }
}
