//! Vehicle identification numbers.
//!
//! Owns: the form and check digit of 49 CFR 565.15 (17 characters, position 9 the check digit). Refuses: what the
//! other positions mean.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A vehicle identification number whose check digit is right, or an older one of another length.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(from = "String", into = "String")]
pub struct Vin(Box<str>);

/// Why a VIN is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum VinError {
    /// Not 17 characters, on a unit of model year 1981 or later, or of unknown year.
    #[error("has {chars} characters; from model year 1981 on a VIN has 17")]
    Length {
        /// How many it has.
        chars: usize,
    },
    /// A character no VIN holds (I, O, Q, or no letter or digit at all).
    #[error("holds `{}`; a VIN has digits and capital letters without I, O and Q", .character.escape_debug())]
    Character {
        /// The offending character.
        character: char,
    },
    /// The ninth character disagrees with the rest.
    #[error("has the check digit {found} where {expected} belongs (49 CFR 565.15); one character is misread")]
    CheckDigit {
        /// As written.
        found: char,
        /// As computed.
        expected: char,
    },
}

/// First model year of the 17-character form (49 CFR 565.13; the year from memory).
const FIRST_YEAR: i32 = 1981;

impl Vin {
    /// The VIN for a unit of this model year; an unknown year is held to the modern form.
    ///
    /// # Errors
    /// [`VinError`] naming what is wrong.
    pub fn for_model_year(text: &str, model_year: Option<i32>) -> Result<Self, VinError> {
        if model_year.is_some_and(|year| year < FIRST_YEAR) {
            let vin = text.trim().to_ascii_uppercase();
            return match vin.chars().find(|c| !c.is_ascii_alphanumeric()) {
                Some(character) => Err(VinError::Character { character }),
                None if vin.is_empty() || vin.len() > 17 => Err(VinError::Length { chars: vin.len() }),
                None => Ok(Self(vin.into())),
            };
        }
        text.parse()
    }

    /// The number as written on the plate.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// Value of a character in the check sum: 49 CFR 565.15 Table III.
fn value(character: char) -> Option<u32> {
    match character {
        '0'..='9' => character.to_digit(10),
        'A'..='H' => Some(u32::from(character) - u32::from('A') + 1),
        'J'..='N' => Some(u32::from(character) - u32::from('J') + 1),
        'P' => Some(7),
        'R' => Some(9),
        'S'..='Z' => Some(u32::from(character) - u32::from('S') + 2),
        _ => None,
    }
}

/// Weight of each position: 49 CFR 565.15 Table IV.
const WEIGHTS: [u32; 17] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];

impl FromStr for Vin {
    type Err = VinError;
    fn from_str(text: &str) -> Result<Self, VinError> {
        let vin = text.trim().to_ascii_uppercase();
        let chars = vin.chars().count();
        if chars != 17 {
            return Err(VinError::Length { chars });
        }
        let mut sum = 0;
        for (character, weight) in vin.chars().zip(WEIGHTS) {
            sum += value(character).ok_or(VinError::Character { character })? * weight;
        }
        let expected = match sum % 11 {
            10 => 'X',
            remainder => char::from_digit(remainder, 10).unwrap_or('X'),
        };
        let found = vin.chars().nth(8).unwrap_or(' ');
        if found == expected { Ok(Self(vin.into())) } else { Err(VinError::CheckDigit { found, expected }) }
    }
}

impl From<String> for Vin {
    /// Reads back a VIN that was checked when it entered the journal; its model year is not at hand to check it again.
    fn from(text: String) -> Self {
        Self(text.into())
    }
}

impl From<Vin> for String {
    fn from(vin: Vin) -> Self {
        vin.0.into()
    }
}

impl fmt::Display for Vin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}
