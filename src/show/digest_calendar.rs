//! A digest's due dates as an iCalendar file (RFC 5545).
//!
//! Owns: one all-day event an item on its last good day, under a name that stays the same from week to week, so that
//! a calendar updates what it has. Refuses: undated items, which have no day.

use super::ical::{calendar_of, uid};
use super::legible::short;
use crate::digest::{Digest, ItemKey, Line};
use crate::due::State;
use crate::model::Named;
use chrono::{DateTime, Utc};
use icalendar::{Component, Event, EventLike, Property};

/// The calendar, written at `written_at`.
#[must_use]
pub fn calendar(digest: &Digest, written_at: DateTime<Utc>) -> String {
    let mut calendar = calendar_of("digest");
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
    let key = ItemKey::of(item);
    let mut event = Event::new();
    event
        .uid(&uid(&[key.kind.name(), &key.code, key.rule.as_str()]))
        .timestamp(written_at)
        .starts(due_on.date())
        .summary(&format!("{late}{unit}{}{part}: {}", item.kind, short(&item.what)))
        .description(&format!("{}\n{}\n{}", short(&item.because), short(&item.cite), short(&line.command.join(" "))));
    event.append_property(Property::new("TRANSP", "TRANSPARENT"));
    Some(event.done())
}
