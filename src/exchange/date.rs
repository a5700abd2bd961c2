//! Dates in cells, and what spreadsheets make of them.
//!
//! Owns: telling a rewritten date (day number, month's name, time of day) from a mistyped one.
//! Refuses: reading any of them; only `YYYY-MM-DD` and `YYYY-MM` mean the same day to everybody.

use crate::model::{Dated, Day, DayError, Month};

/// Why a cell is no date.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DateError {
    /// Ambiguous, off the calendar, or of the wrong form for its column.
    #[error(transparent)]
    Day(#[from] DayError),
    /// Of no form known, where a day or a month would do.
    #[error("`{}` is not a date; write YYYY-MM-DD, or YYYY-MM where only the month is known", .text.escape_debug())]
    NotADate {
        /// What was written.
        text: String,
    },
    /// `45292`: days since the spreadsheet's own beginning.
    #[error(
        "`{}` is a spreadsheet's day number, {day} in most; show the column as YYYY-MM-DD before saving",
        .text.escape_debug()
    )]
    SerialNumber {
        /// What was written.
        text: String,
        /// The day it is where counting begins in 1900.
        day: Day,
    },
    /// `2026-02-03 00:00`.
    #[error("`{}` has a time of day; write {day} alone", .text.escape_debug())]
    TimeOfDay {
        /// What was written.
        text: String,
        /// The day in it.
        day: Day,
    },
    /// `Nov-21`, which may be a month of 2021 or the 21st of some November.
    #[error(
        "`{}` has a month's name; write {form}, and format the column as text so that it stays", .text.escape_debug()
    )]
    MonthName {
        /// What was written.
        text: String,
        /// The form to use.
        form: &'static str,
    },
    /// `n/a`, `unknown`, `?`.
    #[error("`{}` is not a date; leave the cell blank where the date is not known", .text.escape_debug())]
    Unknown {
        /// What was written.
        text: String,
    },
}

/// Reads a day.
///
/// # Errors
/// [`DateError`] saying how to write it.
pub(super) fn day(text: &str) -> Result<Day, DateError> {
    text.parse().map_err(|error| explain(text, "YYYY-MM-DD").unwrap_or(DateError::Day(error)))
}

/// Reads a month.
///
/// # Errors
/// [`DateError`] saying how to write it.
pub(super) fn month(text: &str) -> Result<Month, DateError> {
    text.parse().map_err(|error| explain(text, "YYYY-MM").unwrap_or(DateError::Day(error)))
}

/// Reads a day, or a month where the day is not known.
///
/// # Errors
/// [`DateError`] saying how to write it.
pub(super) fn dated(text: &str) -> Result<Dated, DateError> {
    text.parse().map_err(|error| {
        explain(text, "YYYY-MM-DD or YYYY-MM").unwrap_or(match error {
            DayError::NotADay { text } | DayError::NotAMonth { text } => DateError::NotADate { text },
            other => DateError::Day(other),
        })
    })
}

impl DateError {
    /// This error, or another where the text is a word for a date that is not known: such a cell may be left blank.
    pub(super) fn or_unknown(self, text: &str) -> Self {
        if says_unknown(text) { Self::Unknown { text: text.to_owned() } } else { self }
    }
}

/// True for words people write where they do not know.
fn says_unknown(text: &str) -> bool {
    ["n/a", "na", "n.a.", "none", "unknown", "unk", "?", "??", "-", "--", "tbd", "illegible", "unreadable", "null"]
        .iter()
        .any(|word| word.eq_ignore_ascii_case(text))
}

fn explain(text: &str, form: &'static str) -> Option<DateError> {
    if let Some(day) = from_serial(text) {
        return Some(DateError::SerialNumber { text: text.to_owned(), day });
    }
    if let Some((head, tail)) = text.split_at_checked("2026-02-03".len())
        && tail.starts_with([' ', 'T'])
        && tail.contains(':')
        && let Ok(day) = head.parse()
    {
        return Some(DateError::TimeOfDay { text: text.to_owned(), day });
    }
    has_month_name(text).then(|| DateError::MonthName { text: text.to_owned(), form })
}

/// The day of a spreadsheet's day number, with or without a fraction for the time, from 1950 to 2078.
fn from_serial(text: &str) -> Option<Day> {
    /// Day 0 of spreadsheets that count from 1900, set so that days after their false 29 February 1900 are right.
    const DAY_ZERO: &str = "1899-12-30";
    const PLAUSIBLE: std::ops::RangeInclusive<i64> = 18_264..=65_380;
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    if whole.len() != 5 || !digits(whole) || !digits(fraction) {
        return None;
    }
    let number: i64 = whole.parse().ok()?;
    let zero = DAY_ZERO.parse::<chrono::NaiveDate>().ok()?;
    PLAUSIBLE
        .contains(&number)
        .then(|| zero.checked_add_signed(chrono::TimeDelta::try_days(number)?).and_then(Day::from_date))
        .flatten()
}

fn has_month_name(text: &str) -> bool {
    const MONTHS: [&str; 12] = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];
    let digits = text.bytes().any(|byte| byte.is_ascii_digit());
    digits
        && text
            .split(|c: char| !c.is_alphabetic())
            .filter_map(|word| word.get(..3))
            .any(|start| MONTHS.iter().any(|month| start.eq_ignore_ascii_case(month)))
}
