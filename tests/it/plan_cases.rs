//! Situations of the trade that the twelve small questions leave out.
//!
//! Owns: long lists of work on one unit, pins that cannot be kept, a second plan after sickness, the buffer. Refuses:
//! optimality in general; that is measured outside.

use std::collections::BTreeMap;
use std::num::NonZeroUsize;

use pigtail::plan::instance::{DepotRecord, ItemRecord, PinRecord, Records, TechnicianRecord, UnitRecord};
use pigtail::plan::{Effort, Plan, check, objective, solve};

use super::plan_instances::{booking, empty, item, resolved, technician, unit};

fn planned(fleet: &Records, buffer_days: i32) -> Plan {
    let instance = resolved(fleet);
    let plan = solve(&instance, Effort { rounds_per_unit: 20, rounds_when_far: 20, buffer_days }, NonZeroUsize::MIN);
    assert_eq!(check(&instance, &plan), []);
    plan
}

fn days(plan: &Plan) -> BTreeMap<String, i32> {
    let visits = plan.visits.iter();
    visits.flat_map(|visit| visit.work.iter().map(|work| (work.item.clone(), visit.day))).collect()
}

#[test]
fn forty_items_alike_are_done_in_one_visit() {
    let mut fleet = empty();
    fleet.technicians.push(technician("G", &["gas"], [480; 7]));
    fleet.units.push(unit("U"));
    for index in 0..40 {
        fleet.items.push(item(&format!("I{index}"), "U", 10, 10, &["gas"]));
    }
    let plan = planned(&fleet, 0);
    assert_eq!(plan.visits.len(), 1);
    assert_eq!(plan.visits[0].day, 10);
    assert_eq!(plan.visits[0].work.len(), 40);
}

#[test]
fn thirty_items_all_different_are_on_time() {
    let mut fleet = empty();
    fleet.technicians.push(technician("G", &["gas"], [240; 7]));
    fleet.units.push(unit("U"));
    for index in 0..30 {
        fleet.items.push(item(&format!("I{index}"), "U", index % 28, 1 + index, &["gas"]));
    }
    let instance = resolved(&fleet);
    let sum = objective(&instance, &planned(&fleet, 0));
    assert_eq!((sum.overdue, sum.lost_days, sum.premature), (0, 0, 0));
}

#[test]
fn a_pin_that_cannot_be_kept_is_named_and_the_work_planned_freely() {
    let mut fleet = empty();
    fleet.technicians.push(technician("G", &["gas"], [60, 60, 60, 60, 60, 0, 0]));
    for id in ["U", "V", "W"] {
        fleet.units.push(unit(id));
        fleet.items.push(item(&format!("{id}1"), id, 10, 30, &["gas"]));
    }
    let pin = |unit: &str, day| PinRecord { unit: unit.to_owned(), day, items: vec![format!("{unit}1")] };
    // Two on one day that takes one, and one on a Sunday.
    fleet.pins = Some(vec![pin("U", 3), pin("V", 3), pin("W", 6)]);
    let plan = planned(&fleet, 0);
    let mut broken = plan.broken_pins.clone();
    broken.sort();
    assert_eq!(broken, ["V1", "W1"]);
    assert_eq!(days(&plan)["U1"], 3);
    assert_eq!(plan.unplaced, []);
    let written = serde_json::to_value(&plan).unwrap();
    assert_eq!(written["format"], "rvlp-plan-1");
}

#[test]
fn the_buffer_is_kept_where_there_is_room_and_given_up_where_there_is_none() {
    let mut fleet = empty();
    fleet.technicians.push(technician("G", &["gas"], [60; 7]));
    for id in ["U", "V"] {
        fleet.units.push(unit(id));
        fleet.items.push(item(&format!("{id}1"), id, 20, 30, &["gas"]));
    }
    // V is away until two days before due.
    fleet.bookings.push(booking("B", "V", -3, 18));
    let plain = days(&planned(&fleet, 0));
    assert_eq!((plain["U1"].min(plain["V1"]), plain["U1"].max(plain["V1"])), (19, 20));
    let early = days(&planned(&fleet, 7));
    assert_eq!(early["U1"], 13);
    assert_eq!(early["V1"], 20);
}

/// A depot of `count` units, each with an item due somewhere in ten weeks.
fn yard(count: i32) -> Records {
    let mut fleet = empty();
    fleet.horizon = 84;
    fleet.technicians.push(technician("G", &["gas"], [240, 240, 240, 240, 240, 0, 0]));
    fleet.technicians.push(technician("E", &["elec", "gas"], [0, 240, 0, 240, 0, 0, 0]));
    for index in 0..count {
        let id = format!("U{index:02}");
        fleet.items.push(item(&format!("{id}-gas"), &id, 14 + (index * 37) % 70, 40, &["gas"]));
        fleet.items.push(item(&format!("{id}-alarm"), &id, 14 + (index * 53) % 70, 20, &["elec"]));
        fleet.units.push(unit(&id));
    }
    fleet
}

#[test]
fn after_a_sick_fortnight_few_items_move() {
    let mut fleet = yard(60);
    let first = planned(&fleet, 0);
    let before = days(&first);
    fleet.baseline = Some(before.iter().map(|(item, &day)| (item.clone(), Some(day))).collect());
    assert_eq!(days(&planned(&fleet, 0)), before, "nothing has changed");
    fleet.technicians[1].off = (28..42).collect();
    let hit = |plan: &Plan| {
        let visits = plan.visits.iter().filter(|visit| (28..42).contains(&visit.day));
        visits.flat_map(|visit| &visit.work).filter(|work| work.tech == "E").count()
    };
    let instance = resolved(&fleet);
    let sum = objective(&instance, &planned(&fleet, 0));
    assert_eq!((sum.overdue, sum.lost_days, sum.premature), (0, 0, 0));
    assert!(sum.moved as usize <= hit(&first) + 4, "{} moved for {} hit", sum.moved, hit(&first));
}

#[test]
fn a_tight_depot_is_brought_on_time() {
    // Twelve units of one hour each for twelve working days of one hour, by due days that leave exactly one order.
    let mut fleet = empty();
    fleet.technicians.push(technician("G", &["gas"], [60, 60, 60, 60, 60, 0, 0]));
    let working = [0, 1, 2, 3, 4, 7, 8, 9, 10, 11, 14, 15];
    for (index, due) in working.into_iter().enumerate() {
        let id = format!("U{index:02}");
        // Ids run against due days, so that neither order helps by itself.
        let id = format!("{}{id}", 9 - index % 10);
        fleet.units.push(unit(&id));
        fleet.items.push(item(&format!("{id}1"), &id, due, 30, &["gas"]));
    }
    let instance = resolved(&fleet);
    let sum = objective(&instance, &planned(&fleet, 0));
    assert_eq!((sum.overdue, sum.visits, sum.waste), (0, 12, 0));
}

#[test]
fn a_depot_is_planned_alike_whatever_stands_beside_it() {
    let mut fleet = yard(40);
    fleet.technicians[1].minutes = [0, 120, 0, 150, 0, 0, 0];
    let twin = fleet.clone();
    fleet.depots.push(DepotRecord { id: "E".to_owned(), closed: Vec::new() });
    let renamed = |id: &str| format!("E-{id}");
    fleet.technicians.extend(twin.technicians.into_iter().map(|person| TechnicianRecord {
        id: renamed(&person.id),
        depot: "E".to_owned(),
        ..person
    }));
    fleet.units.extend(twin.units.iter().map(|unit| UnitRecord { id: renamed(&unit.id), depot: "E".to_owned() }));
    fleet.items.extend(twin.items.into_iter().map(|item| ItemRecord {
        id: renamed(&item.id),
        unit: renamed(&item.unit),
        ..item
    }));
    let instance = resolved(&fleet);
    let effort = Effort { rounds_per_unit: 10, rounds_when_far: 10, buffer_days: 0 };
    let one = solve(&instance, effort, NonZeroUsize::MIN);
    for threads in [2, 3, 8] {
        let more = solve(&instance, effort, NonZeroUsize::new(threads).unwrap());
        assert_eq!(serde_json::to_string(&one).unwrap(), serde_json::to_string(&more).unwrap());
    }
    let half = one.visits.len() / 2;
    for (mine, theirs) in one.visits[..half].iter().zip(&one.visits[half..]) {
        assert_eq!((renamed(&mine.unit), mine.day), (theirs.unit.clone(), theirs.day));
    }
    assert!(one.visits[..half].is_sorted_by_key(|visit| visit.day));
}
