//! Rows of marks.csv: requalification marks, spelled out or as read off the collar.
//!
//! Owns: the two ways of giving one, and the checks that need the part's make date and today. Refuses: how a stamp is
//! read, which the model says, and which kinds of part take marks, which the book says.

use super::header::Place;
use super::locate::Located;
use super::row::Row;
use super::wrong::CellError;
use crate::journal::{Change, Fact};
use crate::model::{Day, Mark, MarkError, Month, PartCode, Stamp};
use std::collections::HashMap;

/// Make months of the parts read so far.
pub(super) type MakeMonths<'p> = HashMap<&'p PartCode, Month>;

/// The make months of the parts among `facts`, where known.
pub(super) fn make_months(facts: &[Located<Fact>]) -> MakeMonths<'_> {
    let parts = facts.iter().filter_map(|located| match &located.fact {
        Fact::Change(Change::Part(part)) => Some((&part.part, part.made?.month())),
        _ => None,
    });
    parts.collect()
}

pub(super) fn mark(row: &mut Row<'_, '_>, places: &[Place; 5], today: Day, made: &MakeMonths<'_>) -> Option<Fact> {
    let [part, month, method, rin, stamp] = places;
    let code: Option<PartCode> = row.required(part);
    let made = code.as_ref().and_then(|code| made.get(code)).copied();
    let cell = row.cell(stamp);
    if !cell.is_empty() {
        for place in [month, method, rin] {
            if !row.cell(place).is_empty() {
                row.wrong(place, CellError::Beside { other: stamp.column.name });
            }
        }
        let read = Stamp::read(&cell, today, made).map_err(|error| row.wrong(stamp, error)).ok();
        return Some(Fact::Change(Change::Mark(read?.into_mark(code?))));
    }
    let read_month = row.month(month);
    for place in [month, method] {
        if place.position.is_some() && row.cell(place).is_empty() {
            let blank = match stamp.position {
                Some(_) => CellError::NeitherNor { other: stamp.column.name },
                None => CellError::Blank,
            };
            row.wrong(place, blank);
        }
    }
    if month.position.is_none() && method.position.is_none() && stamp.position.is_some() {
        row.wrong(stamp, CellError::Blank);
    }
    let read_method = row.optional(method);
    let rin = row.optional(rin);
    if let Some(read) = read_month {
        if read > today.month() {
            row.wrong(month, MarkError::Future);
        } else if let Some(made) = made.filter(|made| read < *made) {
            row.wrong(month, MarkError::BeforeMade { made });
        }
    }
    Some(Fact::Change(Change::Mark(Mark { part: code?, month: read_month?, method: read_method?, rin })))
}
