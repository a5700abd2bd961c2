//! One field of a cron expression.
//!
//! Owns: which values it may hold, and spelling it out as a list of numbers or day names, so that nothing is left for
//! the `cron` crate to read in its own way. Refuses: `L`, `W`, `#` and `?`, which crontab has not.

use std::ops::RangeInclusive;

/// Which field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Field {
    /// 0 to 59.
    Minute,
    /// 0 to 23.
    Hour,
    /// 1 to 31.
    DayOfMonth,
    /// 1 to 12 or a name.
    Month,
    /// 0 to 7 or a name; 0 and 7 are Sunday.
    Weekday,
}

/// Why a field is none.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{} `{}`: write {}, joined by commas", .field.name(), .text.escape_debug(), .field.form())]
pub struct FieldError {
    /// Which field.
    pub field: Field,
    /// The piece that is wrong.
    pub text: String,
}

const MONTHS: [&str; 12] = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];
const WEEKDAYS: [&str; 7] = ["sun", "mon", "tue", "wed", "thu", "fri", "sat"];

impl Field {
    fn name(self) -> &'static str {
        match self {
            Self::Minute => "minute",
            Self::Hour => "hour",
            Self::DayOfMonth => "day of month",
            Self::Month => "month",
            Self::Weekday => "weekday",
        }
    }

    fn form(self) -> &'static str {
        match self {
            Self::Minute => "*, 0 to 59, a range as 10-20, or steps as */15",
            Self::Hour => "*, 0 to 23, a range as 8-17, or steps as */6",
            Self::DayOfMonth => "*, 1 to 31, a range as 1-7, or steps as 1-31/2",
            Self::Month => "*, Jan to Dec or 1 to 12, or a range as Apr-Sep",
            Self::Weekday => "*, Mon to Sun or 0 to 7 (0 and 7 are Sunday), or a range as Mon-Fri",
        }
    }

    fn range(self) -> RangeInclusive<u32> {
        match self {
            Self::Minute => 0..=59,
            Self::Hour => 0..=23,
            Self::DayOfMonth => 1..=31,
            Self::Month => 1..=12,
            Self::Weekday => 0..=7,
        }
    }

    fn value(self, text: &str) -> Option<u32> {
        let named = |names: &[&str], first: u32| {
            let at = names.iter().position(|name| name.eq_ignore_ascii_case(text))?;
            Some(u32::try_from(at).ok()? + first)
        };
        let by_name = match self {
            Self::Month => named(&MONTHS, 1),
            Self::Weekday => named(&WEEKDAYS, 0),
            Self::Minute | Self::Hour | Self::DayOfMonth => None,
        };
        by_name.or_else(|| digits(text)).filter(|value| self.range().contains(value))
    }

    /// The field as the `cron` crate is to have it: `*`, or a list of numbers, or of day names.
    ///
    /// # Errors
    /// [`FieldError`] naming the piece that is wrong.
    pub(super) fn expand(self, text: &str) -> Result<String, FieldError> {
        if text == "*" {
            return Ok(text.to_owned());
        }
        let mut chosen = [false; 60];
        for piece in text.split(',') {
            let refused = || FieldError { field: self, text: piece.to_owned() };
            for value in self.piece(piece).ok_or_else(refused)? {
                if let Some(slot) = chosen.get_mut(value as usize) {
                    *slot = true;
                }
            }
        }
        let values = chosen.iter().enumerate().filter(|(_, chosen)| **chosen);
        let words: Vec<String> = match self {
            Self::Weekday => values.filter_map(|(value, _)| WEEKDAYS.get(value)).map(|day| (*day).to_owned()).collect(),
            _ => values.map(|(value, _)| value.to_string()).collect(),
        };
        Ok(words.join(","))
    }

    fn piece(self, piece: &str) -> Option<Vec<u32>> {
        let (span, step) = match piece.split_once('/') {
            Some((span, step)) => {
                let step = digits(step).filter(|step| (1..=59).contains(step))?;
                (span, Some(step as usize))
            }
            None => (piece, None),
        };
        let values: Vec<u32> = match (span, span.split_once('-')) {
            // Steps over all days would make "either will do" ambiguous: crontabs differ. A range says it plainly.
            ("*", _) if matches!(self, Self::DayOfMonth | Self::Weekday) => return None,
            ("*", _) => self.range().collect(),
            (_, Some((first, last))) => self.between(self.value(first)?, self.value(last)?)?,
            (_, None) if step.is_some() => return None,
            (single, None) => vec![self.value(single)?],
        };
        let values = values.into_iter().step_by(step.unwrap_or(1));
        Some(values.map(|value| if self == Self::Weekday { value % 7 } else { value }).collect())
    }

    /// From one value to another; only weekdays go round, as in Sat-Mon.
    fn between(self, first: u32, last: u32) -> Option<Vec<u32>> {
        match self {
            Self::Weekday if first > last => Some((first..=6).chain(0..=last).collect()),
            _ if first > last => None,
            _ => Some((first..=last).collect()),
        }
    }
}

/// A number of digits alone, without the sign that `parse` would take.
fn digits(text: &str) -> Option<u32> {
    text.bytes().all(|byte| byte.is_ascii_digit()).then(|| text.parse().ok()).flatten()
}
