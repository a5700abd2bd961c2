//! `pigtail event UNIT EVENT`: something happened that opens a test or requalification.
//!
//! Owns: its options. Refuses: what follows, which rules say.

use super::say_recorded;
use crate::book::DueFilter;
use crate::cli::complaint::{Answer, Status};
use crate::cli::console::Console;
use crate::cli::session::Session;
use crate::due::State;
use crate::journal::Change;
use crate::model::{Day, Event, EventKind, Text, UnitCode};
use crate::show::reasons::standing;

/// Record that something happened to a unit: out of gas, system opened, collision …
#[derive(Debug, clap::Args)]
pub struct EventArgs {
    /// The unit
    unit: UnitCode,
    /// out-of-gas, system-opened, collision, fire, regulator-replaced or hose-replaced
    event: EventKind,
    /// When [default: today]
    #[arg(long)]
    on: Option<Day>,
    /// Anything else
    #[arg(long, default_value = "")]
    note: Text,
}

/// Runs the command and says what it opened.
///
/// # Errors
/// [`crate::cli::complaint::Complaint`] where the unit is unknown or the day refused.
pub fn run(args: &EventArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    let mut book = session.book()?;
    let today = session.today(&book)?;
    let event =
        Event { unit: args.unit.clone(), on: args.on.unwrap_or(today), event: args.event, note: args.note.clone() };
    let recorded = session.record(&mut book, None, [Change::Event(event).into()])?;
    say_recorded(&recorded, console)?;
    for item in book.due_items(&DueFilter { unit: Some(args.unit.clone()), ..DueFilter::default() }, today)? {
        if matches!(item.state(today), State::Overdue | State::Undated) {
            let part = item.part.as_ref().map(|part| format!("{part}: ")).unwrap_or_default();
            writeln!(console.out, "{part}{}: {}", item.what, standing(&item, today))?;
        }
    }
    Ok(Status::Done)
}
