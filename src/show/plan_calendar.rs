//! A plan as an iCalendar file (RFC 5545), for one person or for everybody.
//!
//! Owns: one all-day event a visit, under a name that stays the same from plan to plan, so that a calendar updates what
//! it has. Refuses: times of day, which a plan does not know.

use super::ical::{calendar_of, uid};
use super::legible::short;
use crate::model::{PartCode, PersonCode};
use crate::plan::fleet_plan::{FleetPlan, PlannedVisit, PlannedWork};
use chrono::{DateTime, Utc};
use icalendar::{Component, Event, EventLike};

/// The calendar, written at `written_at`: every visit, and of its work all, or what `person` does.
#[must_use]
pub fn plan_calendar(plan: &FleetPlan, person: Option<&PersonCode>, written_at: DateTime<Utc>) -> String {
    let mut calendar = calendar_of("plan");
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
        .uid(&name(visit, person))
        .timestamp(written_at)
        .starts(visit.on.date())
        .summary(&short(&format!("{} at {}: {} min", visit.unit, visit.depot, visit.minutes)))
        .description(&lines.join("\n"));
    event.done()
}

/// Named by the work, so that the same work on another day is the same event moved.
fn name(visit: &PlannedVisit, person: Option<&PersonCode>) -> String {
    let mut facts = vec![visit.unit.as_str(), person.map_or("", PersonCode::as_str)];
    if let Some(first) = visit.work.first() {
        facts.push(first.item.part.as_ref().map_or("", PartCode::as_str));
        facts.push(first.item.rule.as_str());
    }
    uid(&facts)
}
