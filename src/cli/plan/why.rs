//! `pigtail plan why UNIT`: why each item is on its day, and why not later.
//!
//! Owns: the question and the JSON. Refuses: the reasons (`plan::explain`) and their sentences (`show`).

use super::super::complaint::{Answer, Complaint, Status};
use super::super::console::{Console, Format};
use super::super::session::{Session, known_unit};
use super::{Asked, question, threads, unplannable};
use crate::model::UnitCode;
use crate::show::plan_why::{WhyDocument, why_text};

pub(super) fn run(unit: &UnitCode, asked: &Asked, session: &Session, console: &mut Console<'_>) -> Answer {
    let format = console.format_among(&[Format::Table, Format::Json])?;
    let book = session.book()?;
    let found = known_unit(&book, unit)?;
    let fleet = question::gather(&book, asked, session.today(&book)?)?;
    if !fleet.units.iter().any(|(known, _)| known == unit) {
        let what = match (&asked.depot, found.retired_on) {
            (_, Some(on)) => format!("unit {unit} was retired {on}"),
            (Some(depot), None) => format!("unit {unit} is not at depot {depot}"),
            (None, None) => format!("unit {unit} is not planned"),
        };
        return Err(Complaint::refused(what, format!("pigtail unit show {unit}")));
    }
    let explained = fleet.why(unit, threads()).map_err(unplannable)?;
    if format == Format::Json {
        return console.json(&WhyDocument::of(unit, &explained));
    }
    if explained.is_empty() {
        writeln!(console.out, "{unit}: nothing falls due by {}", fleet.until())?;
        return Ok(Status::Done);
    }
    console.out.write_all(why_text(unit, &explained).as_bytes())?;
    Ok(Status::Done)
}
