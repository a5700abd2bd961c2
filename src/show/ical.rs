//! What every iCalendar file of ours has in common (RFC 5545).
//!
//! Owns: the calendar's head, and names of events that stay the same from one file to the next. Refuses: events.

use icalendar::{Calendar, Property};
use sha2::{Digest as _, Sha256};

/// An empty calendar of `what`: `digest`, `plan`.
pub(super) fn calendar_of(what: &str) -> Calendar {
    let mut calendar = Calendar::empty();
    let product = format!("-//pigtail//{what}//EN");
    for (key, value) in
        [("VERSION", "2.0"), ("PRODID", product.as_str()), ("CALSCALE", "GREGORIAN"), ("METHOD", "PUBLISH")]
    {
        calendar.append_property(Property::new(key, value));
    }
    calendar
}

/// The name of an event, from the facts that make it the same event.
pub(super) fn uid(facts: &[&str]) -> String {
    let mut hasher = Sha256::new();
    for fact in facts {
        hasher.update(format!("{}:", fact.len()));
        hasher.update(fact);
    }
    let hex: String = hasher.finalize().iter().take(16).map(|byte| format!("{byte:02x}")).collect();
    format!("{hex}@pigtail")
}
