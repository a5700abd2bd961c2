//! A due item: what is to be done, by when, on whose authority and why.
//!
//! Owns: the state of an item on a given day and the order items are listed in. Refuses: computing dates (`assess`).

use crate::model::{Day, DepotCode, PartCode, RuleId, UnitCode};
use crate::named;
use crate::rules::{Authority, ItemKind, Late};

/// How an item stands on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum State {
    /// A fact is missing. Counts as overdue everywhere.
    Undated,
    /// Its last day is past.
    Overdue,
    /// Inside its rule's notice period.
    Due,
    /// Neither.
    InDate,
}

named!(State, "a state", { Undated = "undated", Overdue = "overdue", Due = "due", InDate = "in-date" });

/// What an item's date rests on, or which fact is missing where it has none. `because` says the same in words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Basis {
    /// Counted from a fact on record, or printed on the part.
    Counted,
    /// The last test or check failed.
    Failed,
    /// The last pass was read with a gauge that was found out since.
    Doubted,
    /// Something happened that nothing has cleared since.
    Event,
    /// No make date.
    MadeMissing,
    /// No day fitted.
    FittedMissing,
    /// No first day on rent.
    InServiceMissing,
    /// No last day of a credential.
    CredentialMissing,
    /// No pass, where none is counted from anything else.
    PassMissing,
    /// No specification, or one the rule does not know.
    SpecMissing,
    /// The facts are there, and the rule gives no interval for them.
    NoInterval,
}

named!(Basis, "a basis", {
    Counted = "counted",
    Failed = "failed",
    Doubted = "doubted",
    Event = "event",
    MadeMissing = "made-missing",
    FittedMissing = "fitted-missing",
    InServiceMissing = "in-service-missing",
    CredentialMissing = "credential-missing",
    PassMissing = "pass-missing",
    SpecMissing = "spec-missing",
    NoInterval = "no-interval",
});

/// One thing to be done, as kept in the book. It does not know what day it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// Where its unit belongs; none for parts on the shelf, gauges and people.
    pub depot: Option<DepotCode>,
    /// Its unit, where it has one.
    pub unit: Option<UnitCode>,
    /// Code of the part, gauge or person; none where the item is about the whole unit.
    pub part: Option<PartCode>,
    /// What it is about.
    pub kind: ItemKind,
    /// Where on the unit.
    pub position: String,
    /// By which rule.
    pub rule: RuleId,
    /// What is to be done.
    pub what: String,
    /// Last day on which it is in date; none where a fact is missing.
    pub due_on: Option<Day>,
    /// First day on which it counts as `due`.
    pub notice_from: Option<Day>,
    /// On whose word.
    pub authority: Authority,
    /// Where that stands.
    pub cite: String,
    /// What being late means.
    pub late: Late,
    /// Fact, arithmetic and result in one line; or which fact is missing.
    pub because: String,
    /// What that rests on.
    pub basis: Basis,
}

impl Item {
    /// How the item stands on `today`.
    #[must_use]
    pub fn state(&self, today: Day) -> State {
        match self.due_on {
            None => State::Undated,
            Some(due_on) if due_on < today => State::Overdue,
            Some(_) if self.notice_from.is_some_and(|from| from <= today) => State::Due,
            Some(_) => State::InDate,
        }
    }

    /// Days from `today` to the last day in date: negative once overdue, none where undated.
    #[must_use]
    pub fn days(&self, today: Day) -> Option<i64> {
        self.due_on.map(|due_on| today.days_until(due_on))
    }
}
