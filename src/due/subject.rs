//! Everything the due engine has to know about one thing: a unit, a part, a gauge or a person.
//!
//! Owns: the facts, in one shape for all four. Refuses: fetching them.

use crate::model::{Dated, Day, DepotCode, EventKind, Method, Month, PartCode, RuleId, UnitCode};
use crate::rules::ItemKind;

/// A mark on a collar, and the journal entry that recorded it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MarkFact {
    /// Stamped month.
    pub month: Month,
    /// How it was requalified.
    pub method: Method,
    /// Journal entry.
    pub seq: u64,
}

/// What a test or check under a rule came to. Inconclusive tests are not facts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outcome {
    /// Under which rule.
    pub rule: RuleId,
    /// When.
    pub on: Day,
    /// Journal entry.
    pub seq: u64,
    /// True for a pass.
    pub passed: bool,
    /// The day the gauge it was read with was found out, where its next check did not agree.
    pub doubted_on: Option<Day>,
}

/// Something that happened to a unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EventFact {
    /// When.
    pub on: Day,
    /// What.
    pub event: EventKind,
    /// Journal entry.
    pub seq: u64,
}

/// One thing with its facts.
#[derive(Debug, Clone)]
pub struct Subject<'a> {
    /// Where its unit belongs.
    pub depot: Option<&'a DepotCode>,
    /// Its unit.
    pub unit: Option<&'a UnitCode>,
    /// Code of the part, gauge or person; none for the unit itself.
    pub part: Option<&'a PartCode>,
    /// What it is.
    pub kind: ItemKind,
    /// Where on the unit.
    pub position: &'a str,
    /// Specification, or a gauge's kind.
    pub spec: &'a str,
    /// Make date.
    pub made: Option<Dated>,
    /// Day fitted to its unit.
    pub fitted_on: Option<Day>,
    /// First day on rent.
    pub in_service_on: Option<Day>,
    /// Replace-by date printed on it.
    pub replace_by: Option<Dated>,
    /// Last day of a credential.
    pub credential_until: Option<Day>,
    /// Marks on its collar, in any order.
    pub marks: &'a [MarkFact],
    /// Outcomes of tests and checks, in any order.
    pub outcomes: &'a [Outcome],
    /// Events of its unit, in any order.
    pub events: &'a [EventFact],
}
