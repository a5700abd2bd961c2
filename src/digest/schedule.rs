//! When digests go out: five-field cron expressions on a depot's clock.
//!
//! Owns: reading them as crontab does, and placing them on a clock that jumps. The `cron` crate only steps through wall
//! time: it counts Sunday as 1, joins day of month and weekday by "and", skips what falls into a spring gap and fires
//! twice in an autumn overlap. Refuses: reading the clock.

use super::field::{Field, FieldError};
use super::week::Week;
use crate::model::Day;
use chrono::{DateTime, NaiveDateTime, Offset, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;
use std::fmt;
use std::str::FromStr;

/// Mondays at 07:00.
pub const DEFAULT_SCHEDULE: &str = "0 7 * * Mon";

/// No clock jumps further than over a day.
const LONGEST_JUMP: TimeDelta = TimeDelta::hours(25);

/// A five-field cron expression: minute, hour, day of month, month, weekday. Weekdays are names or crontab's numbers (0
/// and 7 are Sunday). Where both day of month and weekday are given, either will do, as in crontab.
///
/// A wall time that does not exist because the clock was put forward comes at the first moment after the gap; one
/// that exists twice comes the first time only.
#[derive(Clone, PartialEq, Eq)]
pub struct Schedule {
    text: String,
    /// One, or two where either of two kinds of day will do.
    ways: Vec<cron::Schedule>,
}

/// Why a text is no schedule.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ScheduleError {
    /// Not five fields.
    #[error("`{}` is not a schedule; write five fields, minute hour day-of-month month weekday, as in `{DEFAULT_SCHEDULE}`", .text.escape_debug())]
    FieldCount {
        /// What was written.
        text: String,
    },
    /// A field that is none.
    #[error(transparent)]
    Field(#[from] FieldError),
    /// As on 30 February.
    #[error("`{}` never comes", .text.escape_debug())]
    Never {
        /// What was written.
        text: String,
    },
}

/// One coming of a schedule.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Slot {
    /// When.
    pub at: DateTime<Utc>,
    /// The week it belongs to, by the depot's clock.
    pub week: Week,
}

impl Schedule {
    /// The expression as written, single-spaced.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// The first moment after `moment`, by the clocks of `zone`; none where it never comes again (after 2100).
    #[must_use]
    pub fn next_after(&self, moment: DateTime<Utc>, zone: Tz) -> Option<DateTime<Utc>> {
        let wall = moment.with_timezone(&zone).naive_local().and_utc();
        let first =
            |way: &cron::Schedule| way.after(&wall).map(|wall| place(wall.naive_utc(), zone)).find(|at| *at > moment);
        self.ways.iter().filter_map(first).min()
    }

    /// The last moment at or before `moment`, by the clocks of `zone`; none where it never came yet (since 1970).
    #[must_use]
    pub fn last_at_or_before(&self, moment: DateTime<Utc>, zone: Tz) -> Option<DateTime<Utc>> {
        // Where the clock was put back lately, later wall times have come already.
        let offset = |at: DateTime<Utc>| zone.offset_from_utc_datetime(&at.naive_utc()).fix().local_minus_utc();
        let put_back = (offset(moment - LONGEST_JUMP) - offset(moment)).max(0);
        // `rev` gives what is before, not at, the time given.
        let wall = moment.with_timezone(&zone).naive_local().and_utc() + TimeDelta::seconds(i64::from(put_back) + 1);
        let last = |way: &cron::Schedule| {
            way.after(&wall).rev().map(|wall| place(wall.naive_utc(), zone)).find(|at| *at <= moment)
        };
        self.ways.iter().filter_map(last).max()
    }

    /// [`Self::last_at_or_before`] with the week it belongs to.
    #[must_use]
    pub fn last_slot(&self, moment: DateTime<Utc>, zone: Tz) -> Option<Slot> {
        let at = self.last_at_or_before(moment, zone)?;
        Some(Slot { at, week: Week::of(Day::from_date(at.with_timezone(&zone).date_naive())?) })
    }
}

impl Default for Schedule {
    fn default() -> Self {
        // The expression is a constant; a test reads it.
        DEFAULT_SCHEDULE.parse().unwrap_or(Self { text: String::new(), ways: Vec::new() })
    }
}

/// Puts a wall time on the clock: the first of two, or the first moment after a gap.
fn place(wall: NaiveDateTime, zone: Tz) -> DateTime<Utc> {
    if let Some(at) = zone.from_local_datetime(&wall).earliest() {
        return at.to_utc();
    }
    // Inside a gap. Clocks jump at whole minutes, so stepping by minutes finds its end exactly.
    let minutes = 1..=LONGEST_JUMP.num_minutes();
    minutes
        .filter_map(|minute| zone.from_local_datetime(&(wall + TimeDelta::minutes(minute))).earliest())
        .map(|at| at.to_utc())
        .next()
        .unwrap_or_else(|| wall.and_utc())
}

impl FromStr for Schedule {
    type Err = ScheduleError;
    fn from_str(text: &str) -> Result<Self, ScheduleError> {
        let words: Vec<&str> = text.split_whitespace().collect();
        let [minute, hour, day, month, weekday] = words[..] else {
            return Err(ScheduleError::FieldCount { text: text.to_owned() });
        };
        let time = [Field::Minute.expand(minute)?, Field::Hour.expand(hour)?].join(" ");
        let month = Field::Month.expand(month)?;
        let (days, weekdays) = (Field::DayOfMonth.expand(day)?, Field::Weekday.expand(weekday)?);
        let kinds: &[(&str, &str)] = match (days.as_str(), weekdays.as_str()) {
            ("*", _) | (_, "*") => &[(&days, &weekdays)],
            _ => &[(&days, "*"), ("*", &weekdays)],
        };
        let never = || ScheduleError::Never { text: text.to_owned() };
        let ways: Vec<cron::Schedule> = kinds
            .iter()
            .map(|(days, weekdays)| format!("0 {time} {days} {month} {weekdays}").parse().map_err(|_| never()))
            .collect::<Result<_, _>>()?;
        let schedule = Self { text: words.join(" "), ways };
        match schedule.next_after(DateTime::UNIX_EPOCH, Tz::UTC) {
            Some(_) => Ok(schedule),
            None => Err(never()),
        }
    }
}

impl fmt::Debug for Schedule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("Schedule").field(&self.text).finish()
    }
}

impl fmt::Display for Schedule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}

/// The latest slot of several clocks, as of a recipient's depots.
#[must_use]
pub fn latest_slot<'a>(clocks: impl IntoIterator<Item = (&'a Schedule, Tz)>, moment: DateTime<Utc>) -> Option<Slot> {
    clocks.into_iter().filter_map(|(schedule, zone)| schedule.last_slot(moment, zone)).max()
}
