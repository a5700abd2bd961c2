//! A plan as an iCalendar file (RFC 5545), for one person or for everybody.
//!
//! Owns: one all-day event a visit, under a name that stays the same from plan to plan, so that a calendar updates what
//! it has. Refuses: times of day, which a plan does not know.

use super::legible::short;
use crate::model::{PersonCode, UnitCode};
use crate::plan::fleet_plan::{FleetPlan, PlannedVisit, PlannedWork};
use chrono::{DateTime, Utc};
use icalendar::{Calendar, Component, Event, EventLike, Property};
use sha2::{Digest as _, Sha256};

/// The calendar, written at `written_at`: every visit, and of its work all, or what `person` does.
#[must_use]
pub fn plan_calendar(plan: &FleetPlan, person: Option<&PersonCode>, written_at: DateTime<Utc>) -> String {
    let mut calendar = Calendar::empty();
    for (key, value) in
        [("VERSION", "2.0"), ("PRODID", "-//pigtail//plan//EN"), ("CALSCALE", "GREGORIAN"), ("METHOD", "PUBLISH")]
    {
        calendar.append_property(Property::new(key, value));
    }
    for visit in &plan.visits {
        calendar.push(event(visit, person, written_at));
    }
    calendar.to_string()
}

fn event(visit: &PlannedVisit, person: Option<&PersonCode>, written_at: DateTime<Utc>) -> Event {
    let theirs = |work: &&PlannedWork| person.is_none_or(|person| work.by == *person);
    let mut lines: Vec<String> = Vec::new();
    if person.is_none_or(|person| visit.by == *person) {
        lines.push(format!("fetch, open and close up: {}", visit.by));
    }
    lines.extend(visit.work.iter().filter(theirs).map(|work| {
        let part = work.item.part.as_ref().map(|part| format!("{part}: ")).unwrap_or_default();
        let last = work.item.due_on.map_or("undated".to_owned(), |day| format!("last good day {day}"));
        format!("{part}{} ({last}), {}", work.item.what, work.by)
    }));
    let lines: Vec<String> = lines.iter().map(|line| short(line)).collect();
    let mut event = Event::new();
    event
        .uid(&uid(&visit.unit, visit, person))
        .timestamp(written_at)
        .starts(visit.on.date())
        .summary(&short(&format!("{} at {}: {} min", visit.unit, visit.depot, visit.minutes)))
        .description(&lines.join("\n"));
    event.done()
}

/// Named by the work, so that the same work on another day is the same event moved.
fn uid(unit: &UnitCode, visit: &PlannedVisit, person: Option<&PersonCode>) -> String {
    let mut hasher = Sha256::new();
    let mut add = |fact: &str| {
        hasher.update(format!("{}:", fact.len()));
        hasher.update(fact);
    };
    add(unit.as_str());
    add(person.map_or("", |person| person.as_str()));
    if let Some(first) = visit.work.first() {
        add(first.item.part.as_ref().map_or("", |part| part.as_str()));
        add(first.item.rule.as_str());
    }
    let hex: String = hasher.finalize().iter().take(16).map(|byte| format!("{byte:02x}")).collect();
    format!("{hex}@pigtail")
}
