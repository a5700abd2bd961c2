//! Days, months and spans of time on the civil calendar.
//!
//! Owns: month arithmetic and the rule that a month is good to its last day. Refuses: clocks and time zones.

use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// Years a date may fall in; anything outside is a slip of the keyboard.
const YEARS: std::ops::RangeInclusive<i32> = 1900..=2200;

/// Why a text is no date.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DayError {
    /// `3/2/2026` means different days in different places.
    #[error("`{}` is ambiguous; write the day as YYYY-MM-DD, as in 2026-02-03", .text.escape_debug())]
    Ambiguous {
        /// What was written.
        text: String,
    },
    /// Not of the form `YYYY-MM-DD`.
    #[error("`{}` is not a day; write YYYY-MM-DD, as in 2026-02-03", .text.escape_debug())]
    NotADay {
        /// What was written.
        text: String,
    },
    /// Not of the form `YYYY-MM`.
    #[error("`{}` is not a month; write YYYY-MM, as in 2026-02", .text.escape_debug())]
    NotAMonth {
        /// What was written.
        text: String,
    },
    /// Well formed, but no such day or month, as 2025-02-29 or 2015-13.
    #[error("`{}` is not on the calendar", .text.escape_debug())]
    NoSuchDay {
        /// What was written.
        text: String,
    },
    /// Not of the form `12 years`, `18 months` or `31 days`.
    #[error("`{}` is not a span of time; write it as `12 years`, `18 months` or `31 days`", .text.escape_debug())]
    NotASpan {
        /// What was written.
        text: String,
    },
}

/// A civil day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "std::borrow::Cow<'_, str>", into = "String")]
pub struct Day(NaiveDate);

impl Day {
    /// The day of a calendar date, if within 1900 to 2200.
    #[must_use]
    pub fn from_date(date: NaiveDate) -> Option<Self> {
        YEARS.contains(&date.year()).then_some(Self(date))
    }

    /// The day a clock shows, taken as it is: a clock set before 1900 is wrong, but it is not a slip of the keyboard.
    #[must_use]
    pub fn of_clock(date: NaiveDate) -> Self {
        Self(date)
    }

    /// The day as the calendar library's type.
    #[must_use]
    pub fn date(self) -> NaiveDate {
        self.0
    }

    /// The month this day is in.
    #[must_use]
    pub fn month(self) -> Month {
        Month::of(self.0)
    }

    /// This day moved by whole days, negative for earlier; stops at the calendar's ends.
    #[must_use]
    pub fn plus_days(self, days: i64) -> Self {
        chrono::TimeDelta::try_days(days).and_then(|delta| self.0.checked_add_signed(delta)).map_or(self, Self)
    }

    /// This day moved by whole months; a day that the target month lacks becomes its last (29 February + 1 year is
    /// 28 February).
    #[must_use]
    pub fn plus_months(self, months: i32) -> Self {
        let month = self.month().plus_months(months);
        let last = month.last_day();
        Self(last.0.with_day(self.0.day().min(last.0.day())).unwrap_or(last.0))
    }

    /// Days from this day to `other`, negative if `other` is earlier.
    #[must_use]
    pub fn days_until(self, other: Self) -> i64 {
        other.0.signed_duration_since(self.0).num_days()
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut text = *b"0000-00-00";
        digits_into(&mut text[..4], self.0.year().unsigned_abs());
        digits_into(&mut text[5..7], self.0.month());
        digits_into(&mut text[8..], self.0.day());
        f.pad(std::str::from_utf8(&text).unwrap_or_default())
    }
}

/// Writes a number right-aligned into a field of zeros. Dates are written millions of times in an import, and the
/// formatting machinery costs more than all the rest of it.
fn digits_into(field: &mut [u8], mut number: u32) {
    for place in field.iter_mut().rev() {
        *place = b'0' + u8::try_from(number % 10).unwrap_or(0);
        number /= 10;
    }
}

fn digits(text: &str, width: usize) -> Option<u32> {
    (text.len() == width && text.bytes().all(|b| b.is_ascii_digit())).then(|| text.parse().ok()).flatten()
}

impl FromStr for Day {
    type Err = DayError;
    fn from_str(text: &str) -> Result<Self, DayError> {
        let text = text.trim();
        let not_a_day = || {
            let numbers: Vec<&str> = text.split(['/', '.', '-']).collect();
            let all_numbers =
                numbers.len() == 3 && numbers.iter().all(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()));
            if all_numbers && numbers[0].len() < 3 {
                DayError::Ambiguous { text: text.to_owned() }
            } else {
                DayError::NotADay { text: text.to_owned() }
            }
        };
        let mut fields = text.split('-');
        let (Some(year), Some(month), Some(day), None) = (
            fields.next().and_then(|y| digits(y, 4)),
            fields.next().and_then(|m| digits(m, 2)),
            fields.next().and_then(|d| digits(d, 2)),
            fields.next(),
        ) else {
            return Err(not_a_day());
        };
        i32::try_from(year)
            .ok()
            .and_then(|year| NaiveDate::from_ymd_opt(year, month, day))
            .and_then(Self::from_date)
            .ok_or_else(|| DayError::NoSuchDay { text: text.to_owned() })
    }
}

impl TryFrom<std::borrow::Cow<'_, str>> for Day {
    type Error = DayError;
    fn try_from(text: std::borrow::Cow<'_, str>) -> Result<Self, DayError> {
        text.parse()
    }
}

impl From<Day> for String {
    fn from(day: Day) -> Self {
        day.to_string()
    }
}

/// A calendar month, as stamped on a cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "std::borrow::Cow<'_, str>", into = "String")]
pub struct Month {
    /// Months since January of year 0.
    index: i32,
}

impl Month {
    /// The month `month` (1 to 12) of `year`, if within 1900 to 2200.
    #[must_use]
    pub fn new(year: i32, month: u32) -> Option<Self> {
        let month = i32::try_from(month).ok()?;
        (YEARS.contains(&year) && (1..=12).contains(&month)).then_some(Self { index: year * 12 + month - 1 })
    }

    fn of(date: NaiveDate) -> Self {
        Self { index: date.year() * 12 + i32::try_from(date.month0()).unwrap_or(0) }
    }

    /// Calendar year.
    #[must_use]
    pub fn year(self) -> i32 {
        self.index.div_euclid(12)
    }

    /// Month of the year, 1 to 12.
    #[must_use]
    pub fn month(self) -> u32 {
        self.index.rem_euclid(12).unsigned_abs() + 1
    }

    /// This month moved by whole months, negative for earlier.
    #[must_use]
    pub fn plus_months(self, months: i32) -> Self {
        Self { index: self.index.saturating_add(months) }
    }

    /// The first day of the month.
    #[must_use]
    pub fn first_day(self) -> Day {
        Day(NaiveDate::from_ymd_opt(self.year(), self.month(), 1).unwrap_or(NaiveDate::MAX))
    }

    /// The last day of the month: the last good day of anything known to the month only.
    #[must_use]
    pub fn last_day(self) -> Day {
        self.plus_months(1).first_day().plus_days(-1)
    }
}

impl fmt::Display for Month {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut text = *b"0000-00";
        digits_into(&mut text[..4], self.year().unsigned_abs());
        digits_into(&mut text[5..], self.month());
        f.pad(std::str::from_utf8(&text).unwrap_or_default())
    }
}

impl FromStr for Month {
    type Err = DayError;
    fn from_str(text: &str) -> Result<Self, DayError> {
        let text = text.trim();
        let Some((year, month)) =
            text.split_once('-').and_then(|(year, month)| Some((digits(year, 4)?, digits(month, 2)?)))
        else {
            return Err(DayError::NotAMonth { text: text.to_owned() });
        };
        i32::try_from(year)
            .ok()
            .and_then(|year| Self::new(year, month))
            .ok_or_else(|| DayError::NoSuchDay { text: text.to_owned() })
    }
}

impl TryFrom<std::borrow::Cow<'_, str>> for Month {
    type Error = DayError;
    fn try_from(text: std::borrow::Cow<'_, str>) -> Result<Self, DayError> {
        text.parse()
    }
}

impl From<Month> for String {
    fn from(month: Month) -> Self {
        month.to_string()
    }
}

/// A date known to the day or only to the month.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "std::borrow::Cow<'_, str>", into = "String")]
pub enum Dated {
    /// Known to the month.
    Month(Month),
    /// Known to the day.
    Day(Day),
}

impl Dated {
    /// The earliest day it can mean.
    #[must_use]
    pub fn first_day(self) -> Day {
        match self {
            Self::Month(month) => month.first_day(),
            Self::Day(day) => day,
        }
    }

    /// The last day on which something good "through" it still is good.
    #[must_use]
    pub fn last_day(self) -> Day {
        match self {
            Self::Month(month) => month.last_day(),
            Self::Day(day) => day,
        }
    }

    /// The month it falls in.
    #[must_use]
    pub fn month(self) -> Month {
        match self {
            Self::Month(month) => month,
            Self::Day(day) => day.month(),
        }
    }

    /// The date one span later. Days counted from a month run from its first day, the cautious end.
    #[must_use]
    pub fn plus(self, span: Span) -> Self {
        match (self, span) {
            (Self::Month(month), Span::Months(months)) => Self::Month(month.plus_months(signed(months))),
            (Self::Day(day), Span::Months(months)) => Self::Day(day.plus_months(signed(months))),
            (dated, Span::Days(days)) => Self::Day(dated.first_day().plus_days(i64::from(days))),
        }
    }
}

fn signed(months: u32) -> i32 {
    i32::try_from(months).unwrap_or(i32::MAX / 2)
}

impl fmt::Display for Dated {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Month(month) => month.fmt(f),
            Self::Day(day) => day.fmt(f),
        }
    }
}

impl FromStr for Dated {
    type Err = DayError;
    fn from_str(text: &str) -> Result<Self, DayError> {
        if text.trim().len() <= "2026-02".len() && !text.contains(['/', '.']) {
            if let Ok(month) = text.parse() {
                return Ok(Self::Month(month));
            }
            if let Err(error @ DayError::NoSuchDay { .. }) = text.parse::<Month>() {
                return Err(error);
            }
        }
        text.parse().map(Self::Day)
    }
}

impl TryFrom<std::borrow::Cow<'_, str>> for Dated {
    type Error = DayError;
    fn try_from(text: std::borrow::Cow<'_, str>) -> Result<Self, DayError> {
        text.parse()
    }
}

impl From<Dated> for String {
    fn from(dated: Dated) -> Self {
        dated.to_string()
    }
}

/// A span of civil time, as rules give it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "std::borrow::Cow<'_, str>", into = "String")]
pub enum Span {
    /// Whole months; years are twelve.
    Months(u32),
    /// Whole days.
    Days(u32),
}

impl Span {
    /// Its length in days where a month counts 30.4375, good enough to say which of two spans is longer.
    #[must_use]
    pub fn rough_days(self) -> f64 {
        match self {
            Self::Months(months) => f64::from(months) * 30.4375,
            Self::Days(days) => f64::from(days),
        }
    }

    /// The day one span before `day`.
    #[must_use]
    pub fn before(self, day: Day) -> Day {
        match self {
            Self::Months(months) => day.plus_months(-signed(months)),
            Self::Days(days) => day.plus_days(-i64::from(days)),
        }
    }
}

impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (count, word) = match *self {
            Self::Months(months) if months > 12 && months % 12 == 0 => (months / 12, "year"),
            Self::Months(months) => (months, "month"),
            Self::Days(days) => (days, "day"),
        };
        write!(f, "{count} {word}{}", if count == 1 { "" } else { "s" })
    }
}

impl FromStr for Span {
    type Err = DayError;
    fn from_str(text: &str) -> Result<Self, DayError> {
        /// Longer than any clock in the trade; keeps arithmetic inside the calendar.
        const MOST_MONTHS: u32 = 100 * 12;
        let refused = || DayError::NotASpan { text: text.to_owned() };
        let trimmed = text.trim();
        let split = trimmed.find(|c: char| !c.is_ascii_digit()).ok_or_else(refused)?;
        let count: u32 = trimmed[..split].parse().map_err(|_| refused())?;
        let span = match trimmed[split..].trim_start() {
            "y" | "year" | "years" => Self::Months(count.checked_mul(12).ok_or_else(refused)?),
            "month" | "months" => Self::Months(count),
            "d" | "day" | "days" => Self::Days(count),
            "w" | "week" | "weeks" => Self::Days(count.checked_mul(7).ok_or_else(refused)?),
            _ => return Err(refused()),
        };
        let small = match span {
            Self::Months(months) => months <= MOST_MONTHS,
            Self::Days(days) => days <= MOST_MONTHS * 31,
        };
        if small { Ok(span) } else { Err(refused()) }
    }
}

impl TryFrom<std::borrow::Cow<'_, str>> for Span {
    type Error = DayError;
    fn try_from(text: std::borrow::Cow<'_, str>) -> Result<Self, DayError> {
        text.parse()
    }
}

impl From<Span> for String {
    fn from(span: Span) -> Self {
        span.to_string()
    }
}
