//! `pigtail report`: the fleet at a glance, depot by depot.
//!
//! Owns: counting. Refuses: deciding what is ready (`due`).

use super::complaint::{Answer, Complaint};
use super::console::{Console, Format};
use super::ready::judged;
use super::session::Session;
use crate::book::{Book, DueFilter};
use crate::due::Away;
use crate::model::{Day, Depot};
use crate::show::table::{elastic, fixed};
use serde::Serialize;

/// Count units, units ready today, and items overdue, undated and due, depot by depot.
#[derive(Debug, clap::Args)]
pub struct ReportArgs {}

#[derive(Serialize)]
struct Line {
    depot: String,
    name: String,
    units: usize,
    ready: usize,
    overdue: u64,
    undated: u64,
    due: u64,
    share: String,
}

/// Characters of the bar that shows the share of ready units.
const BAR: usize = 20;

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where the file cannot be read.
pub fn run(_: &ReportArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    console.format_among(&[Format::Table, Format::Json, Format::Csv])?;
    let book = session.book()?;
    let today = session.today(&book)?;
    let mut lines = Vec::new();
    for depot in book.depots()? {
        lines.push(line(&book, &depot, today)?);
    }
    let columns = [
        fixed("DEPOT"),
        elastic("NAME"),
        fixed("UNITS"),
        fixed("READY"),
        fixed("OVERDUE"),
        fixed("UNDATED"),
        fixed("DUE"),
        fixed("SHARE READY"),
    ];
    console.list("depots", &columns, &lines, |line| {
        vec![
            line.depot.clone(),
            line.name.clone(),
            line.units.to_string(),
            line.ready.to_string(),
            line.overdue.to_string(),
            line.undated.to_string(),
            line.due.to_string(),
            line.share.clone(),
        ]
    })
}

fn line(book: &Book, depot: &Depot, today: Day) -> Result<Line, Complaint> {
    let counts = book.due_counts(&DueFilter { depot: Some(depot.depot.clone()), ..DueFilter::default() }, today)?;
    let (mut units, mut ready) = (0, 0);
    for unit in book.units(Some(&depot.depot))?.into_iter().filter(|unit| unit.retired_on.is_none()) {
        units += 1;
        ready += usize::from(judged(book, &unit, Away { out: today, back: today }, today)?.ready());
    }
    let filled = (ready * BAR).checked_div(units).unwrap_or(0);
    let percent = (ready * 100).checked_div(units).unwrap_or(0);
    Ok(Line {
        depot: depot.depot.to_string(),
        name: depot.name.to_string(),
        units,
        ready,
        overdue: counts.overdue,
        undated: counts.undated,
        due: counts.due,
        share: format!("{}{} {percent} %", "#".repeat(filled), ".".repeat(BAR - filled)),
    })
}
