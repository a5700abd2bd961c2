//! Lengths and volumes of tubes and lines.
//!
//! Owns: their units and reading them as people type them. Refuses: a bare number, since inches and feet, cubic inches and
//! cubic feet are all in use for the same tube.

use super::quantity::{QuantityError, clip, plain_unit, read};
use std::str::FromStr;

const FOOT_IN: f64 = 12.0;
const CENTIMETRE_IN: f64 = 1.0 / 2.54;
/// Beyond any tube or line of the trade.
const MOST: f64 = 1e9;

/// A length of zero or more, kept in inches.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Length {
    inches: f64,
}

impl Length {
    /// Inches.
    #[must_use]
    pub fn inches(self) -> f64 {
        self.inches
    }

    /// Feet.
    #[must_use]
    pub fn feet(self) -> f64 {
        self.inches / FOOT_IN
    }
}

impl FromStr for Length {
    type Err = QuantityError;
    /// Reads `12ft`, `0.25in`, `8mm`, `30cm` or `3m`.
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let (value, unit) = read(text)?;
        let inches = match plain_unit(unit).as_str() {
            "in" | "inch" | "inches" | "\"" => value,
            "ft" | "foot" | "feet" | "'" => value * FOOT_IN,
            "mm" => value * CENTIMETRE_IN / 10.0,
            "cm" => value * CENTIMETRE_IN,
            "m" => value * CENTIMETRE_IN * 100.0,
            _ => return Err(unknown(text, unit, "length", "in, ft, mm, cm, m")),
        };
        in_bounds(text, inches).map(|inches| Self { inches })
    }
}

/// A volume of zero or more, kept in cubic inches.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Volume {
    cubic_inches: f64,
}

impl Volume {
    /// Cubic inches.
    #[must_use]
    pub fn in3(self) -> f64 {
        self.cubic_inches
    }

    /// Cubic feet.
    #[must_use]
    pub fn ft3(self) -> f64 {
        self.cubic_inches / FOOT_IN.powi(3)
    }
}

impl FromStr for Volume {
    type Err = QuantityError;
    /// Reads `50in3`, `0.05 ft³`, `700cm3` or `0.7L`.
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let (value, unit) = read(text)?;
        let cubic_inches = match plain_unit(unit).as_str() {
            "in3" | "cuin" | "inch3" | "inches3" => value,
            "ft3" | "cuft" | "feet3" | "foot3" | "cf" => value * FOOT_IN.powi(3),
            "cm3" | "cc" | "ml" | "ccm" => value * CENTIMETRE_IN.powi(3),
            "l" | "litre" | "litres" | "liter" | "liters" | "dm3" => value * 1000.0 * CENTIMETRE_IN.powi(3),
            _ => return Err(unknown(text, unit, "volume", "in3, ft3, cm3, L")),
        };
        in_bounds(text, cubic_inches).map(|cubic_inches| Self { cubic_inches })
    }
}

fn unknown(text: &str, unit: &str, quantity: &'static str, known: &'static str) -> QuantityError {
    if unit.is_empty() {
        return QuantityError::NoUnit { text: clip(text.trim()), known };
    }
    QuantityError::UnknownUnit { unit: clip(unit), quantity, known }
}

fn in_bounds(text: &str, value: f64) -> Result<f64, QuantityError> {
    let text = clip(text.trim());
    if value < 0.0 {
        return Err(QuantityError::Negative { text });
    }
    if value > MOST { Err(QuantityError::TooLarge { text, limit: "anything in the trade" }) } else { Ok(value) }
}
