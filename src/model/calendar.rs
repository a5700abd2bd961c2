//! Who works when.
//!
//! Owns: minutes per weekday or day, for a person or a whole depot. Refuses: planning.

use super::code::{DepotCode, PersonCode};
use super::day::Day;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A weekday, every week, or one day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum DayOrWeekday {
    /// Every such weekday.
    Weekday(chrono::Weekday),
    /// That day only.
    Day(Day),
}

/// A text that is neither a weekday nor a day.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{}` is neither a weekday (mon to sun) nor a day (YYYY-MM-DD)", .text.escape_debug())]
pub struct DayOrWeekdayError {
    /// What was written.
    pub text: String,
}

const WEEKDAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

impl FromStr for DayOrWeekday {
    type Err = DayOrWeekdayError;
    fn from_str(text: &str) -> Result<Self, DayOrWeekdayError> {
        let text = text.trim();
        if let Ok(weekday) = text.parse() {
            return Ok(Self::Weekday(weekday));
        }
        text.parse().map(Self::Day).map_err(|_| DayOrWeekdayError { text: text.to_owned() })
    }
}

impl TryFrom<String> for DayOrWeekday {
    type Error = DayOrWeekdayError;
    fn try_from(text: String) -> Result<Self, DayOrWeekdayError> {
        text.parse()
    }
}

impl From<DayOrWeekday> for String {
    fn from(value: DayOrWeekday) -> Self {
        value.to_string()
    }
}

impl fmt::Display for DayOrWeekday {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Weekday(weekday) => f.pad(WEEKDAYS[weekday.num_days_from_monday() as usize]),
            Self::Day(day) => day.fmt(f),
        }
    }
}

/// Working minutes of one person, or of a whole depot where `person` is none; 0 is closed or off.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CalendarLine {
    /// The depot.
    pub depot: DepotCode,
    /// The person; none for the whole depot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub person: Option<PersonCode>,
    /// When.
    pub when: DayOrWeekday,
    /// Minutes of work.
    pub minutes: u32,
}
