//! Why each item of a unit is on its day, said in sentences and as JSON.
//!
//! Owns: the sentence for each obstacle. Refuses: finding obstacles (`plan::explain`).

use crate::model::{Day, UnitCode};
use crate::plan::explain::Obstacle;
use crate::plan::fleet_plan::{Explained, LaterDays};
use serde::Serialize;
use std::fmt::Write;

/// The explanations as `plan why --format json` gives them.
#[derive(Serialize)]
pub struct WhyDocument {
    unit: String,
    items: Vec<ItemLine>,
}

#[derive(Serialize)]
struct ItemLine {
    part: Option<String>,
    rule: String,
    what: String,
    due_on: Option<Day>,
    on: Option<Day>,
    later: Vec<LaterLine>,
}

#[derive(Serialize)]
struct LaterLine {
    from: Day,
    through: Day,
    says: String,
}

impl WhyDocument {
    /// The document of a unit's explanations.
    #[must_use]
    pub fn of(unit: &UnitCode, explained: &[Explained]) -> Self {
        let later = |days: &LaterDays| LaterLine { from: days.from, through: days.through, says: says(&days.obstacle) };
        let item = |one: &Explained| ItemLine {
            part: one.item.part.as_ref().map(ToString::to_string),
            rule: one.item.rule.to_string(),
            what: one.item.what.clone(),
            due_on: one.item.due_on,
            on: one.on,
            later: one.later.iter().map(later).collect(),
        };
        Self { unit: unit.to_string(), items: explained.iter().map(item).collect() }
    }
}

/// The explanations for reading.
#[must_use]
pub fn why_text(unit: &UnitCode, explained: &[Explained]) -> String {
    let mut out = String::new();
    for one in explained {
        let part = one.item.part.as_ref().map(|part| format!(" {part}")).unwrap_or_default();
        let on = one.on.map_or_else(|| "no day".to_owned(), |on| on.to_string());
        let _ = writeln!(out, "{unit}{part}: {}: {on}", one.item.what);
        let last = one
            .item
            .due_on
            .map_or_else(|| "undated, so it counts as overdue".to_owned(), |day| format!("last good day {day}"));
        let _ = writeln!(out, "  {last}");
        if let Some(on) = one.on.filter(|_| one.later.is_empty()) {
            let late = one.item.due_on.is_none_or(|due_on| due_on < on);
            out.push_str(match late {
                true => "  late already: every later day would be later still\n",
                false => "  any later day would be past its last good day\n",
            });
        }
        for days in &one.later {
            let when = if days.from == days.through {
                days.from.to_string()
            } else {
                format!("{} to {}", days.from, days.through)
            };
            let _ = writeln!(out, "  {when}: {}", says(&days.obstacle));
        }
    }
    out
}

fn says(obstacle: &Obstacle) -> String {
    match obstacle {
        Obstacle::Away { booking } => format!("away on hire {booking}"),
        Obstacle::Closed => "the depot is closed".to_owned(),
        Obstacle::NobodyQualified { unavailable } if unavailable.is_empty() => {
            "nobody at the depot holds the skill".to_owned()
        }
        Obstacle::NobodyQualified { unavailable } => {
            format!("nobody qualified works long enough ({} off)", unavailable.join(", "))
        }
        Obstacle::Full { technician, minutes_free, minutes_needed, units } => format!(
            "full: {technician} has {} min left of the {minutes_needed} needed, working on {}",
            minutes_free.max(&0),
            if units.is_empty() { "nothing else".to_owned() } else { units.join(", ") }
        ),
        Obstacle::Pinned => "promised for its day".to_owned(),
        Obstacle::LeavesEarlierPlan => "possible, but it was promised for its day".to_owned(),
        Obstacle::AnotherVisit { together_with } => {
            format!(
                "possible, but {} would still be done on the day planned, and the gas system opened twice",
                together_with.join(", ")
            )
        }
        Obstacle::InsideBuffer => "possible, but inside the buffer before its last good day".to_owned(),
        Obstacle::Possible => "possible, and no worse by anything the plan counts but days given away".to_owned(),
    }
}
