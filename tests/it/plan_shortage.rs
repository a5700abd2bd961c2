//! Claims that a depot cannot be on time.
//!
//! Owns: the arithmetic of every claim, done again from the records, and that no claimed depot is on time after all.
//! Refuses: depots without a claim; the absence of a claim says nothing.

use std::collections::BTreeSet;
use std::num::NonZeroUsize;

use pigtail::plan::instance::Records;
use pigtail::plan::shortage::{ShortJob, Shortage};
use pigtail::plan::{Effort, objective, shortage, solve};
use proptest::prelude::*;

use super::plan_instances::{booking, empty, fleets, item, resolved, technician, unit};

/// Days on which the item could be done on time: at home, no hire lost.
fn days_on_time(fleet: &Records, id: &str) -> Vec<i32> {
    let item = fleet.items.iter().find(|item| item.id == id).unwrap();
    let pins = fleet.pins.iter().flatten();
    let pin = pins.filter(|pin| pin.items.contains(&item.id)).map(|pin| pin.day).next();
    let depot = &fleet.units.iter().find(|unit| unit.id == item.unit).unwrap().depot;
    let crew = || fleet.technicians.iter().filter(|person| person.depot == *depot);
    (item.floor.max(0)..=item.due.min(fleet.horizon - 1))
        .filter(|&day| pin.is_none_or(|pin| pin == day))
        .filter(|&day| {
            fleet.bookings.iter().filter(|hire| hire.unit == item.unit).all(|hire| {
                let back = hire.back.min(fleet.horizon);
                let out = hire.out <= day && day < back;
                let lost = hire.out >= 0 && item.due < back - 1 && day >= hire.out;
                !out && !lost
            })
        })
        .filter(|&day| {
            let can = |needed: &[String], minutes: i32| {
                crew().any(|person| minutes_of(fleet, &person.id, day) >= minutes && holds(fleet, &person.id, needed))
            };
            can(&item.skills, item.minutes) && can(std::slice::from_ref(&fleet.setup_skill), fleet.setup_min)
        })
        .collect()
}

fn holds(fleet: &Records, technician: &str, skills: &[String]) -> bool {
    let person = fleet.technicians.iter().find(|person| person.id == technician).unwrap();
    skills.iter().all(|skill| person.skills.contains(skill))
}

fn minutes_of(fleet: &Records, technician: &str, day: i32) -> i32 {
    let person = fleet.technicians.iter().find(|person| person.id == technician).unwrap();
    let depot = fleet.depots.iter().find(|depot| depot.id == person.depot).unwrap();
    let idle = person.off.contains(&day) || depot.closed.contains(&day);
    if idle { 0 } else { person.minutes[day as usize % 7] }
}

/// The claim holds: the jobs named need more minutes than every technician-day that could serve any of them offers.
fn verify(fleet: &Records, claim: &Shortage) {
    let offered: BTreeSet<(String, i32)> =
        claim.technician_days.iter().map(|day| (day.technician.clone(), day.day)).collect();
    assert_eq!(offered.len(), claim.technician_days.len(), "a technician-day counted twice");
    let minutes: i64 = offered.iter().map(|(person, day)| i64::from(minutes_of(fleet, person, *day))).sum();
    assert_eq!(minutes, claim.minutes_offered);
    let mut needed = 0;
    for job in &claim.jobs {
        let ShortJob::Item(id) = job else {
            needed += i64::from(fleet.setup_min);
            continue;
        };
        let item = fleet.items.iter().find(|item| item.id == *id).unwrap();
        needed += i64::from(item.minutes);
        for day in days_on_time(fleet, id) {
            for person in fleet.technicians.iter().filter(|person| person.depot == claim.depot) {
                if holds(fleet, &person.id, &item.skills) && minutes_of(fleet, &person.id, day) > 0 {
                    assert!(offered.contains(&(person.id.clone(), day)), "{id}: {} on {day} left out", person.id);
                }
            }
        }
    }
    assert_eq!(needed, claim.minutes_needed);
    assert!(claim.minutes_needed > claim.minutes_offered, "{claim:?}");
    assert!(claim.minutes_short >= claim.minutes_needed - claim.minutes_offered);
}

#[test]
fn the_least_witness_is_named() {
    // Five units share two Mondays of 120 minutes; a sixth has a week of its own to spare.
    let mut fleet = empty();
    fleet.technicians.push(technician("G", &["gas"], [120, 0, 0, 0, 0, 0, 0]));
    for index in 0..5 {
        let id = format!("U{index}");
        fleet.items.push(item(&format!("I{index}"), &id, 8, 40, &["gas"]));
        fleet.units.push(unit(&id));
    }
    fleet.units.push(unit("W"));
    fleet.items.push(item("J", "W", 27, 40, &["gas"]));
    let claim = shortage(&resolved(&fleet), 0).expect("350 minutes do not go into 240");
    verify(&fleet, &claim);
    assert_eq!(claim.minutes_short, 5 * 70 - 240);
    let named: Vec<_> =
        claim.technician_days.iter().map(|day| (day.technician.as_str(), day.day, day.minutes)).collect();
    assert_eq!(named, [("G", 0, 120), ("G", 7, 120)]);
    // 270 minutes are the fewest over 240 that jobs of 40 and set-ups of 30 add up to after greedy deletion, or less.
    assert!(claim.minutes_needed - claim.minutes_offered <= 30, "{claim:?}");
    fleet.technicians[0].minutes[1] = 120;
    assert_eq!(shortage(&resolved(&fleet), 0), None, "Tuesdays make up for it");
}

#[test]
fn a_hire_in_the_way_takes_the_days_behind_it() {
    let mut fleet = empty();
    fleet.technicians.push(technician("G", &["gas"], [60, 60, 60, 60, 60, 0, 0]));
    for id in ["U", "V"] {
        fleet.units.push(unit(id));
        fleet.items.push(item(&format!("{id}1"), id, 4, 30, &["gas"]));
        fleet.bookings.push(booking(&format!("B{id}"), id, 1, 9));
    }
    let claim = shortage(&resolved(&fleet), 0).expect("only day 0 is left, and it takes one of them");
    verify(&fleet, &claim);
    assert_eq!(claim.minutes_short, 60);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, ..ProptestConfig::default() })]

    #[test]
    fn a_claim_is_true_and_no_plan_refutes_it(fleet in fleets()) {
        let mut fleet = fleet;
        fleet.pins = None;
        let instance = resolved(&fleet);
        let effort = Effort { rounds_per_unit: 1, rounds_when_far: 1, buffer_days: 0 };
        let sum = objective(&instance, &solve(&instance, effort, NonZeroUsize::MIN));
        for depot in 0..instance.depots.len() {
            if let Some(claim) = shortage(&instance, depot) {
                verify(&fleet, &claim);
                prop_assert!(sum.overdue > 0 || sum.lost_days > 0 || fleet.items.iter().any(|item| item.class_weight == 0));
            }
        }
    }
}
