//! What a set of visits leaves undone, and why.
//!
//! Owns: the derivation of lost hires and of the reason of every mandatory item without a day, from the visits alone.
//! Refuses: to trust a search: the same visits always give the same answer.

use std::collections::HashMap;

use super::instance::{Booking, Instance};
use super::visits::{Plan, Unplaced, UnplacedReason};

/// The day of every item (None: not in the plan), by index in the instance.
pub(super) fn days_done(instance: &Instance, plan: &Plan) -> Vec<Option<i32>> {
    let index: HashMap<&str, usize> =
        instance.items.iter().enumerate().map(|(index, item)| (item.id.as_str(), index)).collect();
    let mut days = vec![None; instance.items.len()];
    for visit in &plan.visits {
        for work in &visit.work {
            if let Some(&item) = index.get(work.item.as_str()) {
                days[item] = Some(visit.day);
            }
        }
    }
    days
}

/// Whether each hire is lost, by index in the instance.
pub(super) fn lost(instance: &Instance, days: &[Option<i32>]) -> Vec<bool> {
    let is_lost = |booking: &Booking| {
        instance.units[booking.unit]
            .items
            .iter()
            .any(|&item| instance.items[item].blocks(booking, days[item].unwrap_or(instance.horizon)))
    };
    instance.bookings.iter().map(is_lost).collect()
}

/// Fills in the lost hires and the items left out.
pub(super) fn complete(instance: &Instance, plan: &mut Plan) {
    let days = days_done(instance, plan);
    let lost = lost(instance, &days);
    let named = instance.bookings.iter().zip(&lost).filter(|(_, lost)| **lost);
    plan.lost_bookings = named.map(|(booking, _)| booking.id.clone()).collect();
    plan.unplaced = (0..instance.items.len())
        .filter(|&item| days[item].is_none() && instance.items[item].is_mandatory(instance.horizon))
        .map(|item| Unplaced { item: instance.items[item].id.clone(), reason: reason(instance, &lost, item) })
        .collect();
}

fn reason(instance: &Instance, lost: &[bool], item: usize) -> UnplacedReason {
    let item = &instance.items[item];
    let unit = &instance.units[item.unit];
    let depot = &instance.depots[unit.depot];
    let people = || depot.technicians.iter().map(|&technician| &instance.technicians[technician]);
    let does_work = || people().filter(|person| person.skills.covers(item.skills));
    let sets_up = || people().filter(|person| person.skills.covers(instance.setup_skill));
    if does_work().next().is_none() || sets_up().next().is_none() {
        return UnplacedReason::NoSkill;
    }
    let is_gap = |day: i32| {
        let slot = day as usize;
        !depot.closed[slot]
            && !unit.bookings.iter().any(|&booking| {
                let hire = &instance.bookings[booking];
                !lost[booking] && (hire.out..hire.back).contains(&day)
            })
            && does_work().any(|person| person.minutes[slot] >= item.minutes)
            && sets_up().any(|person| person.minutes[slot] >= instance.setup_minutes)
    };
    if (item.floor.max(0)..instance.horizon).any(is_gap) { UnplacedReason::NoCapacity } else { UnplacedReason::NoGap }
}
