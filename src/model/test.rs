//! Gas tests as recorded: readings and the verdict they were given.
//!
//! Owns: what was read and with what. Refuses: judging, which `gastest` does.

use super::code::{GaugeCode, PersonCode, UnitCode};
use super::day::Day;
use super::pressure::{Pressure, ReadingError};
use crate::named;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A pressure as somebody read it, kept in their own words (`11`, `6.1+6.1`, `27.4mbar`).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Reading {
    text: Box<str>,
    pressure: Pressure,
}

impl Reading {
    /// The pressure read.
    #[must_use]
    pub fn pressure(&self) -> Pressure {
        self.pressure
    }

    /// The reading as written.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.text
    }
}

impl FromStr for Reading {
    type Err = ReadingError;
    fn from_str(text: &str) -> Result<Self, ReadingError> {
        let text = text.trim();
        Ok(Self { text: text.into(), pressure: text.parse()? })
    }
}

impl TryFrom<String> for Reading {
    type Error = ReadingError;
    fn try_from(text: String) -> Result<Self, ReadingError> {
        text.parse()
    }
}

impl From<Reading> for String {
    fn from(reading: Reading) -> Self {
        reading.text.into()
    }
}

impl fmt::Display for Reading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}

/// Where the gauge was connected.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Tap {
    /// On the low-pressure line, upstream of any appliance's own regulator.
    #[default]
    Main,
    /// Downstream of a range's own regulator, where that regulator's pressure is read.
    RangeOutlet,
}

named!(Tap, "a tap point", { Main = "main", RangeOutlet = "range-outlet" });

/// How a timed pressure drop is made.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DropMethod {
    /// On gas, container valve shut, lowered to 8 to 10 in. w.c., third of the three usual tests.
    #[default]
    ThreeTest,
    /// With air at 10 to 14 in. w.c. for ten minutes.
    Air1014,
    /// With air at 150 mbar for five minutes, as in Germany.
    G607,
}

named!(DropMethod, "a timed drop method", { ThreeTest = "three-test", Air1014 = "air-10-14", G607 = "g607" });

/// A reading and when it was taken, written `14.6@5` (minutes after the first one) or `14.6` where nobody timed it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct TimedReading {
    /// The reading.
    pub reading: Reading,
    /// Minutes after the first one, where known.
    pub minutes: Option<f64>,
}

impl FromStr for TimedReading {
    type Err = ReadingError;
    fn from_str(text: &str) -> Result<Self, ReadingError> {
        let Some((reading, minutes)) = text.split_once('@') else {
            return Ok(Self { reading: text.parse()?, minutes: None });
        };
        let refused = || ReadingError::NotMinutes { text: minutes.trim().to_owned() };
        let minutes: f64 = minutes.trim().trim_end_matches("min").trim_end().parse().map_err(|_| refused())?;
        if !(0.0..=24.0 * 60.0).contains(&minutes) {
            return Err(refused());
        }
        Ok(Self { reading: reading.parse()?, minutes: Some(minutes) })
    }
}

impl TryFrom<String> for TimedReading {
    type Error = ReadingError;
    fn try_from(text: String) -> Result<Self, ReadingError> {
        text.parse()
    }
}

impl From<TimedReading> for String {
    fn from(timed: TimedReading) -> Self {
        timed.to_string()
    }
}

impl fmt::Display for TimedReading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.minutes {
            Some(minutes) => write!(f, "{}@{minutes}", self.reading),
            None => self.reading.fmt(f),
        }
    }
}

/// How a regulator's vent was found, written as whole degrees from straight down or `unseen`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum Vent {
    /// Angle from straight down, 0 to 180 degrees.
    Degrees(u8),
    /// Nobody looked, or it could not be seen.
    Unseen,
}

/// A text that is no vent position.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{}` is not a vent position; write whole degrees from straight down, 0 to 180, or `unseen`", .text.escape_debug())]
pub struct VentError {
    /// What was written.
    pub text: String,
}

impl FromStr for Vent {
    type Err = VentError;
    fn from_str(text: &str) -> Result<Self, VentError> {
        let text = text.trim();
        if text.eq_ignore_ascii_case("unseen") {
            return Ok(Self::Unseen);
        }
        let degrees = text.trim_end_matches("deg").trim_end_matches('°').trim_end();
        match degrees.parse() {
            Ok(degrees) if degrees <= 180 => Ok(Self::Degrees(degrees)),
            _ => Err(VentError { text: text.to_owned() }),
        }
    }
}

impl TryFrom<String> for Vent {
    type Error = VentError;
    fn try_from(text: String) -> Result<Self, VentError> {
        text.parse()
    }
}

impl From<Vent> for String {
    fn from(vent: Vent) -> Self {
        vent.to_string()
    }
}

impl fmt::Display for Vent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Degrees(degrees) => write!(f, "{degrees}"),
            Self::Unseen => f.pad("unseen"),
        }
    }
}

/// What a gas test showed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// Every required check passed with a gauge to be trusted.
    Pass,
    /// Something could not be trusted or was missing: counts as not tested.
    Inconclusive,
    /// Something is wrong.
    Fail,
}

named!(Verdict, "a verdict", { Pass = "pass", Inconclusive = "inconclusive", Fail = "fail" });

/// One gas-system test of one unit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GasTest {
    /// The unit.
    pub unit: UnitCode,
    /// Day of the test.
    pub on: Day,
    /// Who made it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<PersonCode>,
    /// What was read with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<GaugeCode>,
    /// Where the gauge was connected.
    #[serde(default)]
    pub tap: Tap,
    /// Pressure with nothing burning.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lockup: Option<Reading>,
    /// Lock-up read again while it was watched, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lockup_later: Vec<TimedReading>,
    /// Pressure under load.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flow: Option<Reading>,
    /// The load it was taken at, percent of the unit's connected Btu per hour.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub load_percent: Option<f64>,
    /// How the timed drop was made; none for the rule pack's usual method.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub method: Option<DropMethod>,
    /// Pressure at the start of the timed drop.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drop_start: Option<Reading>,
    /// Pressures read between its start and end, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub drop_between: Vec<TimedReading>,
    /// Pressure at its end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drop_end: Option<Reading>,
    /// How long it was watched, minutes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes: Option<f64>,
    /// Air temperature at the start, degrees Fahrenheit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub air_f: Option<f64>,
    /// Air temperature at the end, degrees Fahrenheit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub air_after_f: Option<f64>,
    /// Elevation above sea level, feet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub elevation_ft: Option<f64>,
    /// How the regulator's vent was found, where anybody looked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vent: Option<Vent>,
}
