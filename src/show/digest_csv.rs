//! A digest's items as CSV for a spreadsheet.
//!
//! Owns: its columns, and the guard against cells that a spreadsheet would run. Refuses: shortening; this is the copy
//! that holds everything.

use super::legible::guarded;
use crate::digest::{Digest, Line};
use crate::model::{DepotCode, PartCode, UnitCode};

const COLUMNS: [&str; 17] = [
    "depot",
    "unit",
    "part",
    "kind",
    "position",
    "rule",
    "what",
    "due_on",
    "days",
    "state",
    "late",
    "new",
    "authority",
    "cite",
    "because",
    "command",
    "planned_on",
];

/// Every item the digest names (RFC 4180, one header line). It begins with a byte order mark, without which
/// spreadsheets take UTF-8 for something else.
#[must_use]
pub fn csv(digest: &Digest) -> String {
    let mut out = String::from('\u{feff}');
    push(&mut out, COLUMNS.iter().map(|column| (*column).to_owned()));
    for line in digest.lines() {
        push(&mut out, cells(line).into_iter());
    }
    out
}

fn cells(line: &Line) -> [String; 17] {
    let item = &line.item;
    let code = |text: Option<&str>| guarded(text.unwrap_or_default());
    [
        code(item.depot.as_ref().map(DepotCode::as_str)),
        code(item.unit.as_ref().map(UnitCode::as_str)),
        code(item.part.as_ref().map(PartCode::as_str)),
        item.kind.to_string(),
        guarded(&item.position),
        item.rule.to_string(),
        guarded(&item.what),
        item.due_on.map(|due_on| due_on.to_string()).unwrap_or_default(),
        line.days.map(|days| days.to_string()).unwrap_or_default(),
        line.state.to_string(),
        item.late.to_string(),
        if line.fresh { "yes" } else { "no" }.to_owned(),
        item.authority.to_string(),
        guarded(&item.cite),
        guarded(&item.because),
        guarded(&line.command.join(" ")),
        line.planned.map(|promise| promise.on.to_string()).unwrap_or_default(),
    ]
}

pub(super) fn push(out: &mut String, cells: impl Iterator<Item = String>) {
    for (position, cell) in cells.enumerate() {
        if position > 0 {
            out.push(',');
        }
        if cell.contains([',', '"']) {
            out.push('"');
            out.push_str(&cell.replace('"', "\"\""));
            out.push('"');
        } else {
            out.push_str(&cell);
        }
    }
    out.push_str("\r\n");
}
