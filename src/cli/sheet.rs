//! `pigtail sheet UNIT`: a unit's whole record, to read, print and sign.
//!
//! Owns: gathering it. Refuses: its sentences and layout (`show`).

use super::complaint::{Answer, Complaint, Status};
use super::console::{Console, Format};
use super::session::{Session, known_unit};
use crate::book::DueFilter;
use crate::due::{Away, readiness};
use crate::model::{Day, Hold, PackId, UnitCode};
use crate::show::sheet::{JudgedTest, Sheet, SheetFacts};
use crate::show::sheet_page::sheet_page;
use crate::show::sheet_text::sheet_text;

/// Show a unit's whole record on one sheet: parts, dates, last gas test, holds, sources (--format text, html)
#[derive(Debug, clap::Args)]
pub struct SheetArgs {
    /// The unit
    unit: UnitCode,
    /// Answer from what had been recorded by the end of this day (UTC), whatever is known now
    #[arg(long, value_name = "DATE")]
    known_on: Option<Day>,
}

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where the unit is unknown or the fleet file cannot be read.
pub fn run(args: &SheetArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    let format = console.format_among(&[Format::Text, Format::Html])?;
    let book = session.book_known_on(args.known_on, console)?;
    let today = session.today(&book)?;
    let unit = known_unit(&book, &args.unit)?;
    let depot = book.depot(&unit.depot)?;
    let pack = book.rules().pack(depot.as_ref().map_or(PackId::default(), |depot| depot.rules));
    let mut parts = Vec::new();
    for part in book.parts_on(&unit.unit)? {
        let marks = book.marks(&part.part)?;
        parts.push((part, marks));
    }
    let due = book.due_items(&DueFilter { unit: Some(unit.unit.clone()), ..DueFilter::default() }, today)?;
    let holds: Vec<Hold> = book.holds(Some(&unit.unit))?.into_iter().map(|placed| placed.hold).collect();
    let away = Away { out: today, back: today };
    let readiness = readiness(&unit.unit, unit.retired_on, &due, &holds, away);
    let items: Vec<_> =
        due.into_iter().map(|item| (pack.rule(&item.rule), item)).map(|(rule, item)| (item, rule)).collect();
    let appliances = book.appliances(&unit.unit)?;
    let tests = book.gas_tests(&unit.unit)?;
    let head = book.head()?;
    let sheet = Sheet::of(&SheetFacts {
        unit: &unit,
        depot: depot.as_ref(),
        appliances: &appliances,
        parts: &parts,
        test: tests.last().map(|last| JudgedTest {
            seq: last.seq,
            test: &last.test,
            verdict: last.verdict,
            because: &last.because,
        }),
        holds: &holds,
        items: &items,
        readiness: &readiness,
        today,
        entries: head.seq,
        head: head.hash,
    });
    let text = match format {
        Format::Html => sheet_page(&sheet).map_err(Complaint::fault)?,
        _ => sheet_text(&sheet),
    };
    console.out.write_all(text.as_bytes())?;
    Ok(Status::Done)
}
