//! `pigtail hold`: units kept off rent.
//!
//! Owns: holds placed by somebody, and showing those that follow from a failed test or check. Refuses: lifting the
//! latter; only a later pass of the same kind does.

use super::say_recorded;
use crate::book::{Book, DueFilter, PlacedHold};
use crate::cli::complaint::{Answer, Complaint, Status};
use crate::cli::console::Console;
use crate::cli::session::Session;
use crate::digest::HoldLine;
use crate::due::{Basis, stands};
use crate::journal::{Change, Fact};
use crate::model::{Day, Hold, Text, UnitCode};
use crate::show::table::{elastic, fixed};
use serde::Serialize;

/// Keep units off rent, and release them.
#[derive(Debug, clap::Subcommand)]
pub enum HoldCommand {
    /// Keep a unit off rent
    #[command(visible_alias = "place")]
    Add {
        /// The unit
        unit: UnitCode,
        /// Why
        #[arg(long, value_name = "REASON")]
        because: Text,
        /// From when [default: today]
        #[arg(long)]
        on: Option<Day>,
    },
    /// Release a unit from the holds placed on it
    Lift {
        /// The unit
        unit: UnitCode,
        /// Why
        #[arg(long, value_name = "REASON")]
        because: Text,
        /// From when [default: today]
        #[arg(long)]
        on: Option<Day>,
        /// Only this hold, by the number of the entry that placed it
        #[arg(long, value_name = "SEQ")]
        hold: Option<u64>,
    },
    /// List holds that stand
    List {
        /// Only on this unit
        #[arg(long)]
        unit: Option<UnitCode>,
        /// Lifted ones too
        #[arg(long)]
        all: bool,
    },
    /// Show the holds on a unit, lifted ones too
    Show {
        /// The unit
        unit: UnitCode,
    },
}

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where a code is unknown or nothing stands to be lifted.
pub fn run(command: &HoldCommand, session: &Session, console: &mut Console<'_>) -> Answer {
    let mut book = session.book()?;
    let today = session.today(&book)?;
    let facts: Vec<Fact> = match command {
        HoldCommand::Add { unit, because, on } => vec![
            Change::Hold(Hold {
                unit: unit.clone(),
                placed_on: on.unwrap_or(today),
                reason: because.clone(),
                lifted_on: None,
                lifted_because: Text::default(),
            })
            .into(),
        ],
        HoldCommand::Lift { unit, because, on, hold } => {
            let mut standing = book.holds(Some(unit))?;
            standing.retain(|placed| placed.hold.lifted_on.is_none() && hold.is_none_or(|seq| placed.seq == seq));
            if standing.is_empty() {
                return Err(nothing_to_lift(&book, unit, today)?);
            }
            let lifted = |placed: PlacedHold| {
                let (on, because) = (on.unwrap_or(today), because.clone());
                Change::HoldLifted { unit: unit.clone(), hold: placed.seq, on, because }.into()
            };
            standing.into_iter().map(lifted).collect()
        }
        HoldCommand::List { unit, all } => return list(&holds(&book, unit.as_ref(), *all, today)?, console),
        HoldCommand::Show { unit } => return list(&holds(&book, Some(unit), true, today)?, console),
    };
    let recorded = session.record(&mut book, None, facts)?;
    say_recorded(&recorded, console)?;
    Ok(Status::Done)
}

/// A hold as listed: placed by somebody, or following from a failed test or check.
#[derive(Debug, Clone, Serialize)]
pub struct ListedHold {
    unit: UnitCode,
    hold: Option<u64>,
    placed_on: Option<Day>,
    reason: String,
    lifted_on: Option<Day>,
    lifted_because: String,
    lifted_by: &'static str,
}

/// Every hold that stands today, as the digest names them.
///
/// # Errors
/// [`Complaint`] where the file cannot be read.
pub fn standing_holds(book: &Book, today: Day) -> Result<Vec<HoldLine>, Complaint> {
    let listed = holds(book, None, false, today)?;
    Ok(listed
        .into_iter()
        .map(|hold| HoldLine {
            unit: hold.unit,
            placed_on: hold.placed_on.unwrap_or(today),
            reason: hold.reason.parse().unwrap_or_default(),
        })
        .collect())
}

fn holds(book: &Book, unit: Option<&UnitCode>, all: bool, today: Day) -> Result<Vec<ListedHold>, Complaint> {
    let mut holds: Vec<ListedHold> = book
        .holds(unit)?
        .into_iter()
        .filter(|placed| all || stands(&placed.hold, today))
        .map(|placed| ListedHold {
            unit: placed.hold.unit,
            hold: Some(placed.seq),
            placed_on: Some(placed.hold.placed_on),
            reason: placed.hold.reason.to_string(),
            lifted_on: placed.hold.lifted_on,
            lifted_because: placed.hold.lifted_because.to_string(),
            lifted_by: "hold lift",
        })
        .collect();
    holds.extend(failed(book, unit, today)?);
    holds.sort_by(|a, b| (&a.unit, a.placed_on).cmp(&(&b.unit, b.placed_on)));
    Ok(holds)
}

/// Holds that follow from a failed test or check: they stand until it passes.
fn failed(book: &Book, unit: Option<&UnitCode>, today: Day) -> Result<Vec<ListedHold>, Complaint> {
    let filter = DueFilter { unit: unit.cloned(), until: Some(today), ..DueFilter::default() };
    let items = book.due_items(&filter, today)?;
    Ok(items
        .into_iter()
        .filter(|item| item.basis == Basis::Failed)
        .filter_map(|item| {
            let part = item.part.as_ref().map(|part| format!(" {part}")).unwrap_or_default();
            Some(ListedHold {
                unit: item.unit?,
                hold: None,
                placed_on: item.due_on.map(|last| last.plus_days(1)),
                reason: format!("{}{part} {}", item.rule, item.because),
                lifted_on: None,
                lifted_because: String::new(),
                lifted_by: "a later pass",
            })
        })
        .collect())
}

fn nothing_to_lift(book: &Book, unit: &UnitCode, today: Day) -> Result<Complaint, Complaint> {
    if book.unit(unit)?.is_none() {
        return crate::cli::session::unknown(book, crate::book::Codes::Units, "unit", unit.as_str());
    }
    Ok(match failed(book, Some(unit), today)?.first() {
        Some(hold) => Complaint::refused(
            format!("unit {unit} is held by a failed test or check ({}); only a later pass lifts that", hold.reason),
            format!("pigtail closeout {unit} --by PERSON …, once it passes"),
        ),
        None => Complaint::refused(format!("no hold stands on unit {unit}"), format!("pigtail hold show {unit}")),
    })
}

fn list(holds: &[ListedHold], console: &mut Console<'_>) -> Answer {
    let columns = [
        fixed("UNIT"),
        fixed("PLACED ON"),
        elastic("REASON"),
        fixed("LIFTED ON"),
        elastic("LIFTED BECAUSE"),
        fixed("LIFTED BY"),
    ];
    console.list("holds", &columns, holds, |hold| {
        vec![
            hold.unit.to_string(),
            hold.placed_on.map_or_else(String::new, |day| day.to_string()),
            hold.reason.clone(),
            hold.lifted_on.map_or_else(String::new, |day| day.to_string()),
            hold.lifted_because.clone(),
            hold.lifted_by.to_owned(),
        ]
    })
}
