//! A digest's due dates as an iCalendar file (RFC 5545).
//!
//! Owns: one all-day event an item on its last good day, under a name that stays the same from week to week, so that
//! a calendar updates what it has. Refuses: undated items, which have no day.

use super::legible::short;
use crate::digest::{Digest, ItemKey, Line};
use crate::due::State;
use chrono::{DateTime, Utc};
use icalendar::{Calendar, Component, Event, EventLike, Property};
use sha2::{Digest as _, Sha256};

/// The calendar, written at `written_at`.
#[must_use]
pub fn calendar(digest: &Digest, written_at: DateTime<Utc>) -> String {
    let mut calendar = Calendar::empty();
    for (key, value) in
        [("VERSION", "2.0"), ("PRODID", "-//pigtail//digest//EN"), ("CALSCALE", "GREGORIAN"), ("METHOD", "PUBLISH")]
    {
        calendar.append_property(Property::new(key, value));
    }
    for line in digest.lines() {
        if let Some(event) = event(line, written_at) {
            calendar.push(event);
        }
    }
    calendar.to_string()
}

fn event(line: &Line, written_at: DateTime<Utc>) -> Option<Event> {
    let item = &line.item;
    let due_on = item.due_on?;
    let unit = item.unit.as_ref().map(|unit| format!("{} ", short(unit.as_str()))).unwrap_or_default();
    let part = item.part.as_ref().map(|part| format!(" {}", short(part.as_str()))).unwrap_or_default();
    let late = if line.state == State::Overdue { "OVERDUE: " } else { "" };
    let mut event = Event::new();
    event
        .uid(&uid(&ItemKey::of(item)))
        .timestamp(written_at)
        .starts(due_on.date())
        .summary(&format!("{late}{unit}{}{part}: {}", item.kind, short(&item.what)))
        .description(&format!("{}\n{}\n{}", short(&item.because), short(&item.cite), short(&line.command.join(" "))));
    event.append_property(Property::new("TRANSP", "TRANSPARENT"));
    Some(event.done())
}

fn uid(key: &ItemKey) -> String {
    let mut hasher = Sha256::new();
    for fact in [key.kind.to_string().as_str(), &key.code, key.rule.as_str()] {
        hasher.update(format!("{}:", fact.len()));
        hasher.update(fact);
    }
    let hex: String = hasher.finalize().iter().take(16).map(|byte| format!("{byte:02x}")).collect();
    format!("{hex}@pigtail")
}
