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
    /// Pressure under load.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flow: Option<Reading>,
    /// The load it was taken at, percent of the unit's connected Btu per hour.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub load_percent: Option<f64>,
    /// Pressure at the start of the timed drop.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drop_start: Option<Reading>,
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
}
