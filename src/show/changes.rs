//! A journal entry said in a line.
//!
//! Owns: the wording. Refuses: the written form of the journal, which is JSON.

use super::legible::short;
use crate::journal::Change;
use crate::model::Reading;

/// What a change says, in one line.
#[must_use]
pub fn said(change: &Change) -> String {
    let text = match change {
        Change::Depot(depot) => format!("depot {}", depot.depot),
        Change::Unit(unit) => format!("unit {} at depot {}", unit.unit, unit.depot),
        Change::Appliance(appliance) => {
            format!("appliance {} on unit {}, {} Btu/h", appliance.appliance, appliance.unit, appliance.btu_h)
        }
        Change::Part(part) => {
            let place = part.unit.as_ref().map_or_else(|| "on the shelf".to_owned(), |unit| format!("on unit {unit}"));
            let made = part.made.map(|made| format!(", made {made}")).unwrap_or_default();
            format!("{} {} {place}{made}", part.kind, part.part)
        }
        Change::Person(person) => format!("person {} {}", person.person, person.name),
        Change::Gauge(gauge) => format!("gauge {} ({})", gauge.gauge, gauge.kind),
        Change::Calendar(line) => {
            let whose = line.person.as_ref().map_or_else(|| "everybody".to_owned(), ToString::to_string);
            format!("calendar of depot {}: {whose} {} {} minutes", line.depot, line.when, line.minutes)
        }
        Change::Mark(mark) => {
            let rin = mark.rin.as_ref().map(|rin| format!(" by {rin}")).unwrap_or_default();
            format!("mark on {}: {} {}{rin}", mark.part, mark.month, mark.method)
        }
        Change::GaugeCheck(check) => {
            format!("gauge {} checked {}: read {} against {}", check.gauge, check.on, check.reading, check.reference)
        }
        Change::GasTest { test, verdict, .. } => {
            let reading = |name: &str, reading: Option<&Reading>| {
                reading.map(|reading| format!(", {name} {reading}")).unwrap_or_default()
            };
            format!(
                "gas test of unit {} on {}: {verdict}{}{}{}{}",
                test.unit,
                test.on,
                reading("lock-up", test.lockup.as_ref()),
                reading("flow", test.flow.as_ref()),
                reading("drop from", test.drop_start.as_ref()),
                reading("to", test.drop_end.as_ref())
            )
        }
        Change::Check(check) => {
            let part = check.part.as_ref().map(|part| format!(" {part}")).unwrap_or_default();
            let note = if check.note.is_blank() { String::new() } else { format!(" ({})", check.note) };
            format!("{} on unit {}{part}, {}: {}{note}", check.rule, check.unit, check.on, check.result)
        }
        Change::Event(event) => format!("{} on unit {}, {}", event.event, event.unit, event.on),
        Change::Hold(hold) => format!("hold on unit {} from {}: {}", hold.unit, hold.placed_on, hold.reason),
        Change::HoldLifted { unit, hold, on, because } => {
            format!("hold {hold} on unit {unit} lifted {on}: {because}")
        }
        Change::Booking(booking) => {
            format!("booking {} of unit {}, {} to {}", booking.booking, booking.unit, booking.out_on, booking.back_on)
        }
        Change::BookingCancelled { booking } => format!("booking {booking} cancelled"),
        Change::PartFitted { part, unit, on, .. } => format!("{part} fitted to unit {unit}, {on}"),
        Change::PartPulled { part, on } => format!("{part} pulled, {on}"),
        Change::PartScrapped { part, on, because } => format!("{part} scrapped, {on}: {because}"),
        Change::UnitMoved { unit, depot, on } => format!("unit {unit} moved to depot {depot}, {on}"),
        Change::UnitRetired { unit, on, because } => format!("unit {unit} retired, {on}: {because}"),
        Change::VisitClosed { unit, on, by, .. } => format!("visit to unit {unit} on {on} by {by}"),
        Change::VisitsKept { unit, visits } if visits.is_empty() => {
            format!("no visit to unit {unit} is planned any more")
        }
        Change::VisitsKept { unit, visits } => {
            let days: Vec<String> = visits.iter().map(|visit| format!("{} by {}", visit.on, visit.by)).collect();
            format!("visits to unit {unit} planned: {}", days.join(", "))
        }
        Change::HouseRules { pack, .. } => format!("house rules for pack {pack}"),
        Change::Void { seq, because } => format!("entry {seq} voided: {because}"),
    };
    short(&text)
}
