//! What a digest is made from.
//!
//! Owns: the shape in which the command layer hands over what the book knows. Refuses: asking the book.

use super::week::Week;
use crate::due::{Item, ItemKind, PlannedDays, State};
use crate::model::{BookingCode, Day, Depot, Email, PartCode, RuleId, Text, UnitCode};
use serde::{Deserialize, Serialize};
use std::fmt;

/// Everything one recipient's digest is made from.
#[derive(Debug, Clone)]
pub struct Facts {
    /// The day it speaks of.
    pub as_of: Day,
    /// Their depots.
    pub depots: Vec<DepotFacts>,
    /// Items of no depot: gauges and people.
    pub general: Vec<Item>,
    /// The day promised for each piece of work.
    pub planned: PlannedDays,
    /// Where the journal ended when the facts were read.
    pub head: JournalHead,
    /// What their last digest said; none before the first.
    pub since: Option<Previous>,
    /// Digests of others that could not be delivered and will not be tried again.
    pub undelivered: Vec<Undelivered>,
}

/// What is known of one depot.
#[derive(Debug, Clone)]
pub struct DepotFacts {
    /// The depot.
    pub depot: Depot,
    /// Items of its units; those in date beyond the digest's horizon may be left out or not.
    pub items: Vec<Item>,
    /// Its units on hold.
    pub holds: Vec<HoldLine>,
    /// Its bookings that run past a due date.
    pub crossings: Vec<Crossing>,
}

/// Where a journal ends: a mail that bears it pins everything before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct JournalHead {
    /// SHA-256 of the last entry.
    pub hash: [u8; 32],
    /// How many entries there are.
    pub entries: u64,
}

impl fmt::Display for JournalHead {
    /// The hash alone, as 64 hexadecimal digits.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.hash.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

/// A unit on hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HoldLine {
    /// The unit.
    pub unit: UnitCode,
    /// Since when.
    pub placed_on: Day,
    /// Why.
    pub reason: Text,
}

/// A booking that runs past a due date, or goes out with something undated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Crossing {
    /// The booking.
    pub booking: BookingCode,
    /// Its unit.
    pub unit: UnitCode,
    /// Day the unit goes out.
    pub out_on: Day,
    /// Day it comes back.
    pub back_on: Day,
    /// The part that falls due, where it is about one.
    pub part: Option<PartCode>,
    /// What is to be done to it.
    pub what: String,
    /// Its last day in date; none where undated.
    pub due_on: Option<Day>,
}

/// A digest that could not be delivered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Undelivered {
    /// To whom.
    pub to: Email,
    /// For which week.
    pub week: Week,
    /// Why.
    pub reason: String,
}

/// What names an item from one week to the next: the thing and the rule. A part keeps its name when it moves.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct ItemKey {
    /// What it is about.
    pub kind: ItemKind,
    /// Code of the part, gauge or person, or else of the unit.
    pub code: String,
    /// By which rule.
    pub rule: RuleId,
}

impl ItemKey {
    /// The name of an item.
    #[must_use]
    pub fn of(item: &Item) -> Self {
        let unit = || item.unit.as_ref().map(UnitCode::as_str);
        let code = item.part.as_ref().map(PartCode::as_str).or_else(unit).unwrap_or_default();
        Self { kind: item.kind, code: code.to_owned(), rule: item.rule.clone() }
    }
}

/// An item that a digest named, and how it stood.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Known {
    /// Which.
    pub item: ItemKey,
    /// How it stood.
    pub state: State,
    /// Its last day in date; none where undated. A later one next time means that the work was done.
    pub due_on: Option<Day>,
}

/// What an earlier digest said, as kept with its outbox row.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Previous {
    /// The day it spoke of.
    pub as_of: Day,
    /// Everything it named.
    pub items: Vec<Known>,
}
