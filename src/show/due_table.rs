//! What is due, as a table, as JSON and as CSV.
//!
//! Owns: the columns and the JSON of `due`. Refuses: choosing items.

use super::legible::guarded;
use super::table::{Column, elastic, fixed, table};
use crate::due::{Authority, Item, ItemKind, State};
use crate::model::{Day, DepotCode, PartCode, RuleId, UnitCode};
use serde::Serialize;

/// One item as it stands on a day.
#[derive(Debug, Clone, Serialize)]
pub struct DueLine<'a> {
    depot: Option<&'a DepotCode>,
    unit: Option<&'a UnitCode>,
    part: Option<&'a PartCode>,
    kind: ItemKind,
    position: &'a str,
    rule: &'a RuleId,
    what: &'a str,
    due_on: Option<Day>,
    days: Option<i64>,
    state: State,
    authority: Authority,
    cite: &'a str,
    because: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    crosses: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    planned_on: Option<Day>,
}

impl<'a> DueLine<'a> {
    /// The item on `today`.
    #[must_use]
    pub fn on(item: &'a Item, today: Day) -> Self {
        Self {
            depot: item.depot.as_ref(),
            unit: item.unit.as_ref(),
            part: item.part.as_ref(),
            kind: item.kind,
            position: &item.position,
            rule: &item.rule,
            what: &item.what,
            due_on: item.due_on,
            days: item.days(today),
            state: item.state(today),
            authority: item.authority,
            cite: &item.cite,
            because: &item.because,
            crosses: None,
            planned_on: None,
        }
    }

    /// The same, with the booking during which it runs out and the day promised for the work, if there are such.
    #[must_use]
    pub fn between(self, crosses: Option<String>, planned_on: Option<Day>) -> Self {
        Self { crosses, planned_on, ..self }
    }
}

const COLUMNS: [Column; 9] = [
    fixed("STATE"),
    fixed("LAST DAY"),
    fixed("DAYS"),
    fixed("PLANNED"),
    elastic("DEPOT"),
    elastic("UNIT"),
    elastic("PART"),
    elastic("WHAT"),
    elastic("NOTE"),
];

/// A table of lines.
#[must_use]
pub fn due_table(lines: &[DueLine<'_>], width: Option<usize>) -> String {
    let rows: Vec<Vec<String>> = lines
        .iter()
        .map(|line| {
            let note = match (&line.crosses, line.state) {
                (Some(booking), _) => format!("runs out on hire {booking}"),
                (None, State::Undated) => line.because.to_owned(),
                (None, _) => String::new(),
            };
            vec![
                line.state.to_string(),
                line.due_on.map_or_else(|| "unknown".to_owned(), |day| day.to_string()),
                line.days.map_or_else(String::new, |days| days.to_string()),
                text(line.planned_on.as_ref()),
                text(line.depot),
                text(line.unit),
                text(line.part),
                place(line),
                note,
            ]
        })
        .collect();
    table(&COLUMNS, &rows, width)
}

fn place(line: &DueLine<'_>) -> String {
    if line.position.is_empty() { line.what.to_owned() } else { format!("{} ({})", line.what, line.position) }
}

fn text<T: ToString>(code: Option<&T>) -> String {
    code.map_or_else(String::new, ToString::to_string)
}

/// CSV headings of `due --format csv`.
pub const DUE_CSV_HEADER: [&str; 14] = [
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
    "authority",
    "cite",
    "because",
    "planned_on",
];

/// One line's CSV cells, unescaped.
#[must_use]
pub fn due_csv(line: &DueLine<'_>) -> [String; 14] {
    [
        guarded(&text(line.depot)),
        guarded(&text(line.unit)),
        guarded(&text(line.part)),
        line.kind.to_string(),
        guarded(line.position),
        line.rule.to_string(),
        guarded(line.what),
        text(line.due_on.as_ref()),
        text(line.days.as_ref()),
        line.state.to_string(),
        line.authority.to_string(),
        guarded(line.cite),
        guarded(line.because),
        text(line.planned_on.as_ref()),
    ]
}
