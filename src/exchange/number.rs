//! Numbers in cells.
//!
//! Owns: the one way a number is written (digits, a point for decimals) and what the other ways are answered with.
//! Refuses: reading `1,200` or `10,5`, which mean different numbers in different places.

use std::fmt;
use std::ops::RangeInclusive;

/// Why a cell is no number of its column.
#[derive(Debug, Clone, PartialEq)]
pub enum NumberError {
    /// A comma, for thousands or for decimals.
    Comma {
        /// What was written.
        text: String,
    },
    /// Spaces or apostrophes between digits.
    Grouped {
        /// What was written.
        text: String,
        /// The same without them.
        number: String,
    },
    /// A number and something behind it.
    Trailing {
        /// What was written.
        text: String,
        /// The number at its beginning.
        number: String,
        /// What the column is counted in; blank where in nothing.
        unit: &'static str,
    },
    /// `1.2E+05`.
    Scientific {
        /// What was written.
        text: String,
    },
    /// Nothing like a number.
    NotANumber {
        /// What was written.
        text: String,
    },
    /// A fraction where only whole numbers are.
    NotWhole {
        /// What was written.
        text: String,
    },
    /// Outside what can be.
    OutOfRange {
        /// What was written.
        text: String,
        /// The smallest accepted.
        least: f64,
        /// The largest accepted.
        most: f64,
        /// What the column is counted in; blank where in nothing.
        unit: &'static str,
    },
}

impl fmt::Display for NumberError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let counted = |unit: &'static str| if unit.is_empty() { String::new() } else { format!(" {unit}") };
        match self {
            Self::Comma { text } => write!(
                f,
                "`{}` has a comma; write digits only, with a point for decimals, as in 30000 or 10.5",
                text.escape_debug()
            ),
            Self::Grouped { text, number } => {
                write!(f, "`{}` has its digits in groups; write {number}", text.escape_debug())
            }
            Self::Trailing { text, number, unit: "" } => {
                write!(f, "`{}` has more than a number in it; write {number} alone", text.escape_debug())
            }
            Self::Trailing { text, number, unit } => write!(
                f,
                "`{}` has more than a number in it; write {number} alone if it is in {unit}",
                text.escape_debug()
            ),
            Self::Scientific { text } => {
                write!(f, "`{}` is in scientific notation; write all its digits", text.escape_debug())
            }
            Self::NotANumber { text } => write!(f, "`{}` is not a number", text.escape_debug()),
            Self::NotWhole { text } => write!(f, "`{}` is not a whole number", text.escape_debug()),
            Self::OutOfRange { text, least, most, unit } => write!(
                f,
                "`{}` is out of range; from {least} to {most}{} can be right",
                text.escape_debug(),
                counted(unit)
            ),
        }
    }
}

impl std::error::Error for NumberError {}

/// Reads a number with or without decimals, in `range`; `unit` is what the column is counted in.
///
/// # Errors
/// [`NumberError`] saying how to write it.
pub(super) fn decimal(text: &str, range: &RangeInclusive<f64>, unit: &'static str) -> Result<f64, NumberError> {
    let end = plain_end(text);
    if end == 0 {
        return Err(if text.contains(',') && text.bytes().any(|byte| byte.is_ascii_digit()) {
            NumberError::Comma { text: text.to_owned() }
        } else {
            NumberError::NotANumber { text: text.to_owned() }
        });
    }
    if end < text.len() {
        return Err(trailing(text, end, unit));
    }
    let value: f64 = text.parse().map_err(|_| NumberError::NotANumber { text: text.to_owned() })?;
    if range.contains(&value) {
        // -0 is the same height or temperature as 0 and would be written back another way.
        return Ok(value + 0.0);
    }
    Err(NumberError::OutOfRange { text: text.to_owned(), least: *range.start(), most: *range.end(), unit })
}

/// Reads a whole number in `range`.
///
/// # Errors
/// [`NumberError`] saying how to write it.
pub(super) fn whole(text: &str, range: &RangeInclusive<u32>, unit: &'static str) -> Result<u32, NumberError> {
    let wide = f64::from(*range.start())..=f64::from(*range.end());
    let value = decimal(text, &wide, unit)?;
    if value.fract() != 0.0 || text.contains('.') {
        return Err(NumberError::NotWhole { text: text.to_owned() });
    }
    let digits = text.trim_start_matches(['+', '-']);
    digits.parse().map_err(|_| NumberError::NotWhole { text: text.to_owned() })
}

/// How many bytes at the beginning are a plain number; 0 where none are.
fn plain_end(text: &str) -> usize {
    let bytes = text.as_bytes();
    let mut at = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    let mut digits = 0;
    let mut points = 0;
    while let Some(&byte) = bytes.get(at) {
        match byte {
            b'0'..=b'9' => digits += 1,
            b'.' if points == 0 => points = 1,
            _ => break,
        }
        at += 1;
    }
    if digits == 0 { 0 } else { at }
}

fn trailing(text: &str, end: usize, unit: &'static str) -> NumberError {
    let (number, rest) = text.split_at(end);
    let text = text.to_owned();
    let mut signs = rest.bytes();
    match signs.next() {
        Some(b',') => return NumberError::Comma { text },
        Some(b'e' | b'E') if signs.all(|byte| byte.is_ascii_digit() || matches!(byte, b'+' | b'-')) => {
            return NumberError::Scientific { text };
        }
        _ => {}
    }
    let gap = |c: char| c == '\'' || c == '’' || c.is_whitespace();
    if rest.starts_with(gap) && rest.chars().all(|c| gap(c) || c.is_ascii_digit() || c == '.') {
        return NumberError::Grouped { number: text.chars().filter(|c| !gap(*c)).collect(), text };
    }
    NumberError::Trailing { number: number.to_owned(), text, unit }
}
