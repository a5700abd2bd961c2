//! What happens to units: checks, events, holds, bookings.
//!
//! Owns: their kinds and fields. Refuses: what follows from them, which rules say.

use super::code::{BookingCode, PartCode, PersonCode, UnitCode};
use super::day::Day;
use super::text::Text;
use crate::named;
use serde::{Deserialize, Serialize};
use std::fmt;

/// The name of a rule, such as `cylinder-requalification`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct RuleId(Box<str>);

/// A text that is no rule name.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{}` is not a rule name; it is lower-case words joined by hyphens", .text.escape_debug())]
pub struct RuleIdError {
    /// What was written.
    pub text: String,
}

impl RuleId {
    /// The rule's name.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// The rule that gas tests are made under, in every pack.
const GAS_TEST: &str = "gas-test";

/// The rule that gauges are checked under, in every pack.
const GAUGE_CHECK: &str = "gauge-check";

impl RuleId {
    /// The rule that gas tests are made under.
    #[must_use]
    pub fn gas_test() -> Self {
        Self(GAS_TEST.into())
    }

    /// The rule that gauges are checked under.
    #[must_use]
    pub fn gauge_check() -> Self {
        Self(GAUGE_CHECK.into())
    }
}

impl std::str::FromStr for RuleId {
    type Err = RuleIdError;
    fn from_str(text: &str) -> Result<Self, RuleIdError> {
        let text = text.trim();
        let sound = !text.is_empty()
            && text.len() <= 60
            && text.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
            && !text.starts_with('-');
        if sound { Ok(Self(text.into())) } else { Err(RuleIdError { text: text.to_owned() }) }
    }
}

impl TryFrom<String> for RuleId {
    type Error = RuleIdError;
    fn try_from(text: String) -> Result<Self, RuleIdError> {
        text.parse()
    }
}

impl From<RuleId> for String {
    fn from(rule: RuleId) -> Self {
        rule.0.into()
    }
}

impl fmt::Display for RuleId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// Outcome of a check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CheckResult {
    /// Found good.
    Pass,
    /// Found wanting.
    Fail,
}

named!(CheckResult, "a check result", { Pass = "pass", Fail = "fail" });

/// Something looked at under a rule, as an extinguisher's monthly look.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Check {
    /// The unit.
    pub unit: UnitCode,
    /// The part, where the rule is about one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<PartCode>,
    /// Day of the check.
    pub on: Day,
    /// Who looked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<PersonCode>,
    /// Under which rule.
    pub rule: RuleId,
    /// What was found.
    pub result: CheckResult,
    /// In which words.
    #[serde(default, skip_serializing_if = "Text::is_blank")]
    pub note: Text,
}

/// What can happen to a unit that opens work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum EventKind {
    /// The containers ran dry.
    OutOfGas,
    /// A connection of the gas system was opened.
    SystemOpened,
    /// The unit was struck.
    Collision,
    /// The unit was on fire or close to one.
    Fire,
    /// A regulator was replaced.
    RegulatorReplaced,
    /// A hose was replaced.
    HoseReplaced,
}

named!(EventKind, "an event", {
    OutOfGas = "out-of-gas",
    SystemOpened = "system-opened",
    Collision = "collision",
    Fire = "fire",
    RegulatorReplaced = "regulator-replaced",
    HoseReplaced = "hose-replaced",
});

/// One event.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Event {
    /// The unit.
    pub unit: UnitCode,
    /// Day it happened.
    pub on: Day,
    /// What happened.
    pub event: EventKind,
    /// In which words.
    #[serde(default, skip_serializing_if = "Text::is_blank")]
    pub note: Text,
}

/// A unit kept off rent.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hold {
    /// The unit.
    pub unit: UnitCode,
    /// Since when.
    pub placed_on: Day,
    /// Why.
    pub reason: Text,
    /// Day it was lifted; none while it stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lifted_on: Option<Day>,
    /// Why it was lifted.
    #[serde(default, skip_serializing_if = "Text::is_blank")]
    pub lifted_because: Text,
}

/// One hire: the unit is away from `out_on` and back on `back_on`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Booking {
    /// Its code.
    pub booking: BookingCode,
    /// The unit.
    pub unit: UnitCode,
    /// First day away.
    pub out_on: Day,
    /// Day of return.
    pub back_on: Day,
}
