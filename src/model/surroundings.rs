//! Temperatures and elevations that a gas test was made at.
//!
//! Owns: their units and reading them as people type them. Refuses: physics, which `gastest` does.

use super::quantity::{QuantityError, clip, plain_unit, read, rounded};
use std::fmt;
use std::str::FromStr;

/// Degrees Fahrenheit at absolute zero, negated: exact.
const FAHRENHEIT_ZERO: f64 = 459.67;
/// Degrees Celsius at absolute zero, negated: exact.
const CELSIUS_ZERO: f64 = 273.15;
/// Metres in a foot: exact.
const FOOT_M: f64 = 0.3048;

/// A temperature above absolute zero, kept in degrees Fahrenheit.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Temperature {
    fahrenheit: f64,
}

impl Temperature {
    /// A temperature in degrees Fahrenheit, if above absolute zero by more than rounding and not above 2000 °F.
    #[must_use]
    pub fn from_fahrenheit(fahrenheit: f64) -> Option<Self> {
        (-459.0..=2000.0).contains(&fahrenheit).then_some(Self { fahrenheit })
    }

    /// Degrees Fahrenheit.
    #[must_use]
    pub fn fahrenheit(self) -> f64 {
        self.fahrenheit
    }

    /// Degrees Celsius.
    #[must_use]
    pub fn celsius(self) -> f64 {
        (self.fahrenheit - 32.0) / 1.8
    }

    /// Degrees Rankine: Fahrenheit degrees above absolute zero.
    #[must_use]
    pub fn rankine(self) -> f64 {
        self.fahrenheit + FAHRENHEIT_ZERO
    }

    /// Kelvins.
    #[must_use]
    pub fn kelvin(self) -> f64 {
        self.rankine() / 1.8
    }
}

impl fmt::Display for Temperature {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{} °F", rounded(self.fahrenheit, 1)))
    }
}

impl FromStr for Temperature {
    type Err = QuantityError;
    /// Reads `60`, `60F`, `15.5 °C` or `288K`. A bare number is degrees Fahrenheit.
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let (value, unit) = read(text)?;
        let fahrenheit = match plain_unit(unit).as_str() {
            "" if unit.is_empty() => value,
            "f" | "degf" | "fahrenheit" => value,
            "c" | "degc" | "celsius" => value * 1.8 + 32.0,
            "k" | "kelvin" => (value - CELSIUS_ZERO) * 1.8 + 32.0,
            _ => {
                return Err(QuantityError::UnknownUnit { unit: clip(unit), quantity: "temperature", known: "F, C, K" });
            }
        };
        Self::from_fahrenheit(fahrenheit)
            .ok_or_else(|| QuantityError::TooLarge { text: clip(text.trim()), limit: "absolute zero to 2000 °F" })
    }
}

/// A height above sea level, kept in feet; negative below it.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Elevation {
    feet: f64,
}

impl Elevation {
    /// Sea level.
    pub const SEA_LEVEL: Self = Self { feet: 0.0 };

    /// A height in feet, if within 100 000 ft of sea level.
    #[must_use]
    pub fn from_feet(feet: f64) -> Option<Self> {
        (-100_000.0..=100_000.0).contains(&feet).then_some(Self { feet })
    }

    /// Feet.
    #[must_use]
    pub fn feet(self) -> f64 {
        self.feet
    }

    /// Metres.
    #[must_use]
    pub fn metres(self) -> f64 {
        self.feet * FOOT_M
    }
}

impl fmt::Display for Elevation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{} ft", rounded(self.feet, 0)))
    }
}

impl FromStr for Elevation {
    type Err = QuantityError;
    /// Reads `200`, `200ft` or `60m`. A bare number is feet.
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let (value, unit) = read(text)?;
        let feet = match plain_unit(unit).as_str() {
            "" if unit.is_empty() => value,
            "ft" | "foot" | "feet" | "'" => value,
            "m" | "metre" | "metres" | "meter" | "meters" => value / FOOT_M,
            "km" => value * 1000.0 / FOOT_M,
            _ => {
                return Err(QuantityError::UnknownUnit { unit: clip(unit), quantity: "elevation", known: "ft, m, km" });
            }
        };
        Self::from_feet(feet)
            .ok_or_else(|| QuantityError::TooLarge { text: clip(text.trim()), limit: "100 000 ft from sea level" })
    }
}
