//! A number with a unit behind it, as people type one.
//!
//! Owns: splitting number from unit, and what counts as a number. Refuses: knowing units, which each quantity does.

use std::fmt;

/// Why a text is no quantity.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum QuantityError {
    /// Nothing but spaces.
    #[error("is blank")]
    Blank,
    /// Does not begin with a number.
    #[error("`{}` does not begin with a number", .text.escape_debug())]
    NotANumber {
        /// What was written.
        text: String,
    },
    /// A decimal comma could as well part thousands.
    #[error("`{}` has a comma; write decimals with a point", .text.escape_debug())]
    Comma {
        /// What was written.
        text: String,
    },
    /// Less than zero.
    #[error("`{}` is negative", .text.escape_debug())]
    Negative {
        /// What was written.
        text: String,
    },
    /// Beyond what the quantity can be.
    #[error("`{}` is beyond {limit}", .text.escape_debug())]
    TooLarge {
        /// What was written.
        text: String,
        /// The most (or least) it can be.
        limit: &'static str,
    },
    /// A bare number where no unit goes without saying.
    #[error("`{}` has no unit; write one of {known}", .text.escape_debug())]
    NoUnit {
        /// What was written.
        text: String,
        /// The units on the list.
        known: &'static str,
    },
    /// A unit not on the list.
    #[error("`{}` is not a unit of {quantity}; known are {known}", .unit.escape_debug())]
    UnknownUnit {
        /// The unit as written.
        unit: String,
        /// What is measured.
        quantity: &'static str,
        /// The units on the list.
        known: &'static str,
    },
}

/// The number a text begins with and the rest of it. Signs, one point and an exponent are read; `inf` and `nan` are not
/// numbers here, and what overflows is not finite, which the caller refuses.
pub(super) fn split_number(text: &str) -> Option<(f64, &str)> {
    let bytes = text.as_bytes();
    let digits_from = |start: usize| bytes[start..].iter().take_while(|b| b.is_ascii_digit()).count();
    let mut end = usize::from(matches!(bytes.first(), Some(b'-' | b'+')));
    let whole = digits_from(end);
    end += whole;
    let mut decimals = 0;
    if bytes.get(end) == Some(&b'.') {
        decimals = digits_from(end + 1);
        // The point of `11.` belongs to the number only where digits stand behind it or before it.
        if decimals > 0 || whole > 0 {
            end += 1 + decimals;
        }
    }
    if whole + decimals == 0 {
        return None;
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'-' | b'+')));
        let exponent =
            bytes.get(end + 1 + sign..).map_or(0, |rest| rest.iter().take_while(|b| b.is_ascii_digit()).count());
        if exponent > 0 {
            end += 1 + sign + exponent;
        }
    }
    Some((text[..end].parse().ok()?, &text[end..]))
}

/// A unit as written, reduced to what tells units apart: lower case without spaces, points, brackets and the like.
pub(super) fn plain_unit(unit: &str) -> String {
    unit.chars()
        .filter(|c| !(c.is_whitespace() || matches!(c, '.' | '_' | '-' | '(' | ')' | '@' | '°' | '^')))
        .flat_map(char::to_lowercase)
        .map(|c| match c {
            '²' | '₂' => '2',
            '³' => '3',
            '″' | '”' => '"',
            c => c,
        })
        .collect()
}

/// Splits a text into a finite number and its unit, which may be empty.
pub(super) fn read(text: &str) -> Result<(f64, &str), QuantityError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(QuantityError::Blank);
    }
    let shown = || clip(text);
    let Some((value, rest)) = split_number(text) else { return Err(QuantityError::NotANumber { text: shown() }) };
    if rest.starts_with(',') {
        return Err(QuantityError::Comma { text: shown() });
    }
    if !value.is_finite() {
        return Err(QuantityError::TooLarge { text: shown(), limit: "any number that can be held" });
    }
    Ok((value, rest.trim_start()))
}

/// The first characters of a text, so that an error never repeats a page.
pub(super) fn clip(text: &str) -> String {
    const MOST: usize = 40;
    if text.chars().count() <= MOST { text.to_owned() } else { text.chars().take(MOST).chain(['…']).collect() }
}

/// A number with at most `places` decimals and no trailing zeros.
#[must_use]
pub fn rounded(value: f64, places: usize) -> impl fmt::Display {
    let mut text = format!("{value:.places$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".to_owned() } else { text }
}
