//! Requalification marks, as stamped on a cylinder's collar.
//!
//! Owns: reading a stamp as a technician types it. Refuses: guessing. What cannot be read is refused with the reason.

use super::code::PartCode;
use super::day::{Day, Month};
use crate::named;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// How a cylinder was requalified. Letters after the date: 49 CFR 180.213(f), read in secondary pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Method {
    /// Letter `E`.
    ExternalVisual,
    /// Letter `S`.
    ProofPressure,
    /// No letter.
    Volumetric,
    /// Letters `UE`; used on 3-series cylinders, not on the propane 4-series.
    Ultrasonic,
}

named!(Method, "a requalification method", {
    ExternalVisual = "external-visual",
    ProofPressure = "proof-pressure",
    Volumetric = "volumetric",
    Ultrasonic = "ultrasonic",
});

/// A requalifier's identification number: a letter and three digits (49 CFR 107.805), or `V` and three to six digits
/// for those who do visual work only (form from memory).
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Rin(Box<str>);

impl Rin {
    /// The number as stamped.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Rin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

impl FromStr for Rin {
    type Err = MarkError;
    fn from_str(text: &str) -> Result<Self, MarkError> {
        let rin = text.trim().to_ascii_uppercase();
        let mut chars = rin.chars();
        let letter = chars.next().unwrap_or(' ');
        let digits = chars.as_str();
        if !letter.is_ascii_alphabetic() || !digits.bytes().all(|b| b.is_ascii_digit()) {
            return Err(MarkError::RinForm { rin });
        }
        let allowed = if letter == 'V' { 3..=6 } else { 3..=3 };
        if !allowed.contains(&digits.len()) {
            return Err(MarkError::RinLength { rin });
        }
        Ok(Self(rin.into()))
    }
}

impl TryFrom<String> for Rin {
    type Error = MarkError;
    fn try_from(text: String) -> Result<Self, MarkError> {
        text.parse()
    }
}

impl From<Rin> for String {
    fn from(rin: Rin) -> Self {
        rin.0.into()
    }
}

/// Why a stamp or its number cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MarkError {
    /// Not month, number, year and letter in that order.
    #[error("is not a stamp: month, then identification number if any, then year and letter, as in `11 A123 21 E`")]
    NotAStamp,
    /// Two separators side by side; something between them may have been lost.
    #[error("has a doubled separator; something between may be missing")]
    DoubledSeparator,
    /// A month's name; collars carry numbers.
    #[error("has a month's name; a stamp has its number")]
    MonthName,
    /// Month outside 1 to 12.
    #[error("has month {month}")]
    NoSuchMonth {
        /// The number read.
        month: u32,
    },
    /// Only one number.
    #[error("has no month or no year")]
    OneNumber,
    /// Three numbers; a stamp has no day.
    #[error("has three numbers; a stamp has a month and a year, never a day")]
    ThreeNumbers,
    /// The year is not two or four digits.
    #[error("has the year `{year}`; a year is two or four digits")]
    YearDigits {
        /// The digits read.
        year: String,
    },
    /// A letter other than `E`, `S` or `UE`.
    #[error("ends in `{letter}`; letters are E (external visual), S (proof pressure), UE (ultrasonic)")]
    UnknownLetter {
        /// The letters read.
        letter: String,
    },
    /// The identification number does not begin with a letter and go on in digits.
    #[error("has the identification number `{rin}`; it is a letter and three digits")]
    RinForm {
        /// The number read.
        rin: String,
    },
    /// The identification number is too long or too short.
    #[error("has the identification number `{rin}` of the wrong length; it is a letter and three digits")]
    RinLength {
        /// The number read.
        rin: String,
    },
    /// After the day it was entered.
    #[error("is in the future")]
    Future,
    /// Before the cylinder was made.
    #[error("is before the make date {made}")]
    BeforeMade {
        /// The make date known.
        made: Month,
    },
}

/// A stamp as read off the collar, before anybody says whether it is a make date or a requalification mark.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp {
    /// Month and resolved year.
    pub month: Month,
    /// Method by letter, or volumetric by an identification number without a letter; none where there is neither.
    pub method: Option<Method>,
    /// Identification number, if stamped.
    pub rin: Option<Rin>,
}

/// No LP-gas cylinder still about is older; keeps `12 26` typed in November 2026 from meaning 1926.
const OLDEST_YEAR: i32 = 1930;

impl Stamp {
    /// Reads a stamp such as `11-21 E`, `11 A123 21 E` or `04 15 S`.
    ///
    /// A two-digit year is the latest one that is not after `today` and not before `made`. A number square typed as its
    /// two rows (`A1/32`) is read clockwise from the upper left.
    ///
    /// # Errors
    /// [`MarkError`] saying what could not be read.
    pub fn read(text: &str, today: Day, made: Option<Month>) -> Result<Self, MarkError> {
        let raw = Raw::split(text)?;
        let month_number: u32 = raw.month.parse().map_err(|_| MarkError::NotAStamp)?;
        if !(1..=12).contains(&month_number) {
            return Err(MarkError::NoSuchMonth { month: month_number });
        }
        let month = resolve(&raw.year, month_number, today)?;
        if let Some(made) = made.filter(|&made| month < made) {
            return Err(MarkError::BeforeMade { made });
        }
        let method = match raw.letters.as_str() {
            "" => raw.rin.is_some().then_some(Method::Volumetric),
            "E" => Some(Method::ExternalVisual),
            "S" => Some(Method::ProofPressure),
            "UE" => Some(Method::Ultrasonic),
            _ => return Err(MarkError::UnknownLetter { letter: raw.letters }),
        };
        Ok(Self { month, method, rin: raw.rin })
    }

    /// The stamp as a requalification mark on `part`; where there is neither letter nor number it is volumetric, since
    /// that method is marked by the absence of a letter.
    #[must_use]
    pub fn into_mark(self, part: PartCode) -> Mark {
        Mark { part, month: self.month, method: self.method.unwrap_or(Method::Volumetric), rin: self.rin }
    }
}

fn resolve(year: &str, month: u32, today: Day) -> Result<Month, MarkError> {
    let bad_year = || MarkError::YearDigits { year: year.to_owned() };
    let number: i32 = year.parse().map_err(|_| bad_year())?;
    let candidate = match year.len() {
        4 => Month::new(number, month).ok_or_else(bad_year)?,
        2 => {
            let century = today.month().year().div_euclid(100) * 100;
            let this = Month::new(century + number, month).ok_or_else(bad_year)?;
            if this <= today.month() { this } else { this.plus_months(-1200) }
        }
        _ => return Err(bad_year()),
    };
    if candidate > today.month() || (year.len() == 2 && candidate.year() < OLDEST_YEAR) {
        return Err(MarkError::Future);
    }
    Ok(candidate)
}

struct Raw {
    month: String,
    rin: Option<Rin>,
    year: String,
    letters: String,
}

impl Raw {
    fn split(text: &str) -> Result<Self, MarkError> {
        let upper = text.trim().to_ascii_uppercase();
        let mut pieces: Vec<String> = Vec::new();
        for word in upper.split_whitespace() {
            if let Some(square) = clockwise(word) {
                pieces.push(square);
                continue;
            }
            let inner = word.trim_matches(['-', '/']);
            if inner.is_empty() && pieces.is_empty() {
                return Err(MarkError::NotAStamp);
            }
            if inner.contains("--") || inner.contains("//") || inner.contains("-/") || inner.contains("/-") {
                return Err(MarkError::DoubledSeparator);
            }
            pieces.extend(inner.split(['-', '/']).filter(|piece| !piece.is_empty()).map(str::to_owned));
        }
        if !pieces.iter().all(|piece| piece.bytes().all(|b| b.is_ascii_alphanumeric())) {
            return Err(MarkError::NotAStamp);
        }
        let mut pieces = pieces.into_iter().peekable();
        let first = pieces.next().ok_or(MarkError::NotAStamp)?;
        if !first.bytes().all(|b| b.is_ascii_digit()) {
            let letters = first.bytes().all(|b| b.is_ascii_alphabetic()) && first.len() >= 3;
            let year_only = first.starts_with(|c: char| c.is_ascii_digit());
            return Err(if letters {
                MarkError::MonthName
            } else if year_only && pieces.peek().is_none() {
                MarkError::OneNumber
            } else {
                MarkError::NotAStamp
            });
        }
        if first.len() > 2 {
            return Err(MarkError::NotAStamp);
        }
        let second = pieces.next().ok_or(MarkError::OneNumber)?;
        let (rin, year_piece) = match pieces.peek() {
            Some(next) if next.starts_with(|c: char| c.is_ascii_digit()) => {
                if second.bytes().all(|b| b.is_ascii_digit()) {
                    return Err(MarkError::ThreeNumbers);
                }
                let year = pieces.next().ok_or(MarkError::OneNumber)?;
                (Some(second.parse()?), year)
            }
            _ => (None, second),
        };
        let end = year_piece.find(|c: char| !c.is_ascii_digit()).unwrap_or(year_piece.len());
        let (year, attached) = year_piece.split_at(end);
        if year.is_empty() {
            return Err(MarkError::OneNumber);
        }
        let mut letters = attached.to_owned();
        if let Some(next) = pieces.next() {
            if !letters.is_empty() {
                return Err(MarkError::NotAStamp);
            }
            letters = next;
        }
        if pieces.next().is_some() {
            return Err(MarkError::NotAStamp);
        }
        Ok(Self { month: first, rin, year: year.to_owned(), letters })
    }
}

/// `A1/32`, the square's two rows, as the number `A123` it spells clockwise.
fn clockwise(word: &str) -> Option<String> {
    let bytes = word.as_bytes();
    let [a, b, b'/', c, d] = *bytes else { return None };
    (a.is_ascii_alphabetic() && [b, c, d].iter().all(u8::is_ascii_digit))
        .then(|| [a, b, d, c].iter().map(|&byte| char::from(byte)).collect())
}

/// One requalification of one cylinder.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Mark {
    /// The cylinder.
    pub part: PartCode,
    /// Month stamped.
    pub month: Month,
    /// How it was requalified.
    pub method: Method,
    /// By whom, where it could be read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rin: Option<Rin>,
}
