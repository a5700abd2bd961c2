//! The part of a journal that is about one unit or one depot.
//!
//! Owns: which entries bear on a subject, struck ones and their voids among them. Refuses: leaving out what somebody
//! would rather not show; an entry bears on the subject by what it names, not by what it says.

use super::{Change, Entry};
use crate::model::{
    BookingCode, Check, DepotCode, Event, GasTest, GaugeCheck, GaugeCode, Hold, Mark, Part, PartCode, PersonCode, Unit,
    UnitCode,
};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// What a slice is about.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Subject {
    /// One unit.
    Unit(UnitCode),
    /// Every unit that ever belonged to a depot.
    Depot(DepotCode),
}

/// An entry and the change in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Read {
    /// As sealed.
    pub entry: Entry,
    /// As read.
    pub change: Change,
}

/// What a change names.
#[derive(Debug, Default)]
struct Names<'a> {
    unit: Option<&'a UnitCode>,
    part: Option<&'a PartCode>,
    person: Option<&'a PersonCode>,
    gauge: Option<&'a GaugeCode>,
    depot: Option<&'a DepotCode>,
    booking: Option<&'a BookingCode>,
}

fn names(change: &Change) -> Names<'_> {
    let mut names = Names::default();
    match change {
        Change::Depot(depot) => names.depot = Some(&depot.depot),
        Change::Unit(Unit { unit, depot, .. }) | Change::UnitMoved { unit, depot, .. } => {
            names.unit = Some(unit);
            names.depot = Some(depot);
        }
        Change::Appliance(appliance) => names.unit = Some(&appliance.unit),
        Change::Part(Part { part, unit, .. }) => {
            names.part = Some(part);
            names.unit = unit.as_ref();
        }
        Change::Person(person) => names.person = Some(&person.person),
        Change::Gauge(gauge) => names.gauge = Some(&gauge.gauge),
        Change::Calendar(line) => names.person = line.person.as_ref(),
        Change::Mark(Mark { part, .. }) | Change::PartPulled { part, .. } | Change::PartScrapped { part, .. } => {
            names.part = Some(part);
        }
        Change::GaugeCheck(GaugeCheck { gauge, by, .. }) => {
            names.gauge = Some(gauge);
            names.person = by.as_ref();
        }
        Change::GasTest { test: GasTest { unit, by, gauge, .. }, .. } => {
            names.unit = Some(unit);
            names.person = by.as_ref();
            names.gauge = gauge.as_ref();
        }
        Change::Check(Check { unit, part, by, .. }) => {
            names.unit = Some(unit);
            names.part = part.as_ref();
            names.person = by.as_ref();
        }
        Change::Event(Event { unit, .. })
        | Change::VisitsKept { unit, .. }
        | Change::Hold(Hold { unit, .. })
        | Change::HoldLifted { unit, .. }
        | Change::UnitRetired { unit, .. } => names.unit = Some(unit),
        Change::Booking(booking) => {
            names.unit = Some(&booking.unit);
            names.booking = Some(&booking.booking);
        }
        Change::BookingCancelled { booking } => names.booking = Some(booking),
        Change::PartFitted { part, unit, .. } => {
            names.part = Some(part);
            names.unit = Some(unit);
        }
        Change::VisitClosed { unit, by, .. } => {
            names.unit = Some(unit);
            names.person = Some(by);
        }
        Change::HouseRules { .. } | Change::Void { .. } => {}
    }
    names
}

/// The entries of `journal` that bear on a subject: those about its units, the parts that ever were on them and their
/// hires; the people, gauges and depots that these name, with the gauges' checks; house rules; and every void of one of
/// them.
#[must_use]
pub fn slice(journal: Vec<Read>, subject: &Subject) -> Vec<Read> {
    let units = units(&journal, subject);
    let (mut parts, mut bookings) = (BTreeSet::new(), BTreeSet::new());
    for read in &journal {
        let names = names(&read.change);
        if names.unit.is_some_and(|unit| units.contains(unit)) {
            parts.extend(names.part.cloned());
            bookings.extend(names.booking.cloned());
        }
    }
    let mut bears: BTreeSet<u64> = BTreeSet::new();
    let (mut people, mut gauges, mut depots) = (BTreeSet::new(), BTreeSet::new(), BTreeSet::new());
    for read in &journal {
        let names = names(&read.change);
        let about = names.unit.is_some_and(|unit| units.contains(unit))
            || names.part.is_some_and(|part| parts.contains(part))
            || names.booking.is_some_and(|booking| bookings.contains(booking))
            || matches!(read.change, Change::HouseRules { .. });
        if about {
            bears.insert(read.entry.seq);
            people.extend(names.person.cloned());
            gauges.extend(names.gauge.cloned());
            depots.extend(names.depot.cloned());
        }
    }
    for read in &journal {
        if let Change::GaugeCheck(check) = &read.change
            && gauges.contains(&check.gauge)
        {
            people.extend(check.by.clone());
        }
    }
    for read in &journal {
        let named = match &read.change {
            Change::Person(person) => people.contains(&person.person),
            Change::Gauge(gauge) => gauges.contains(&gauge.gauge),
            Change::GaugeCheck(check) => gauges.contains(&check.gauge),
            Change::Depot(depot) => depots.contains(&depot.depot),
            // What it strikes came before it, so one pass finds voids of voids too.
            Change::Void { seq, .. } => bears.contains(seq),
            _ => false,
        };
        if named {
            bears.insert(read.entry.seq);
        }
    }
    journal.into_iter().filter(|read| bears.contains(&read.entry.seq)).collect()
}

fn units(journal: &[Read], subject: &Subject) -> BTreeSet<UnitCode> {
    match subject {
        Subject::Unit(unit) => BTreeSet::from([unit.clone()]),
        Subject::Depot(wanted) => journal
            .iter()
            .filter_map(|read| match &read.change {
                Change::Unit(Unit { unit, depot, .. }) | Change::UnitMoved { unit, depot, .. } if depot == wanted => {
                    Some(unit.clone())
                }
                _ => None,
            })
            .collect(),
    }
}
