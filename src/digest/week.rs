//! The week a digest is for.
//!
//! Owns: ISO 8601 week numbers, so that one recipient gets one digest a week. Refuses: schedules.

use crate::model::Day;
use chrono::Datelike;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// An ISO week, written `2026-W10`; it begins on Monday.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Week {
    year: i32,
    week: u32,
}

/// A text that is no week.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{}` is not a week; write it as 2026-W10", .text.escape_debug())]
pub struct WeekError {
    /// What was written.
    pub text: String,
}

impl Week {
    /// The week a day is in.
    #[must_use]
    pub fn of(day: Day) -> Self {
        let iso = day.date().iso_week();
        Self { year: iso.year(), week: iso.week() }
    }
}

impl fmt::Display for Week {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{:04}-W{:02}", self.year, self.week))
    }
}

impl FromStr for Week {
    type Err = WeekError;
    fn from_str(text: &str) -> Result<Self, WeekError> {
        let refused = || WeekError { text: text.to_owned() };
        let (year, week) = text.trim().split_once("-W").ok_or_else(refused)?;
        let digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
        if year.len() != 4 || week.len() != 2 || !digits(year) || !digits(week) {
            return Err(refused());
        }
        let (year, week) = (year.parse().map_err(|_| refused())?, week.parse().map_err(|_| refused())?);
        chrono::NaiveDate::from_isoywd_opt(year, week, chrono::Weekday::Mon)
            .map(|_| Self { year, week })
            .ok_or_else(refused)
    }
}

impl TryFrom<String> for Week {
    type Error = WeekError;
    fn try_from(text: String) -> Result<Self, WeekError> {
        text.parse()
    }
}

impl From<Week> for String {
    fn from(week: Week) -> Self {
        week.to_string()
    }
}
