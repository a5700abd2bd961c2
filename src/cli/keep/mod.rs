//! Commands that keep the register: depots, units, parts, gauges, people, bookings, holds, events.
//!
//! Owns: what they have in common. Refuses: rules and dates; every change goes through the book's one write path.

pub mod booking;
pub mod depot;
pub mod event;
pub mod gauge;
pub mod hold;
pub mod hours;
pub mod part;
pub mod person;
pub mod unit;

use super::complaint::Complaint;
use super::console::Console;
use crate::book::Recorded;
use crate::journal::Change;

/// Says what was recorded, one line an entry, each with the number by which it can be voided.
///
/// # Errors
/// [`Complaint`] where it cannot be written.
pub fn say_recorded(recorded: &Recorded, console: &mut Console<'_>) -> Result<(), Complaint> {
    for (seq, change) in &recorded.entries {
        writeln!(console.out, "recorded {seq}: {}", crate::show::changes::said(change))?;
    }
    if recorded.added == 0 {
        writeln!(console.out, "nothing new: that is on record already")?;
    }
    for (_, change) in &recorded.entries {
        if let Change::PartFitted { part, .. } = change {
            writeln!(
                console.talk,
                "caution: after any work on the gas system a leak check by a qualified person comes before use ({part})"
            )?;
        }
    }
    Ok(())
}

/// The complaint that a code is taken.
#[must_use]
pub fn taken(what: &str, code: &str) -> Complaint {
    Complaint::refused(
        format!("{what} {code} is in the book already"),
        format!("pigtail {what} show {code}, or change it with pigtail {what} amend {code} …"),
    )
}

/// Takes an option's value where it was given.
pub fn set<T: Clone>(field: &mut T, given: Option<&T>) {
    if let Some(given) = given {
        field.clone_from(given);
    }
}

/// Takes an option's value where it was given, for a field that may be missing.
pub fn set_some<T: Clone>(field: &mut Option<T>, given: Option<&T>) {
    if given.is_some() {
        *field = given.cloned();
    }
}
