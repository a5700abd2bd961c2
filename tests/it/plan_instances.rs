//! Instances for the planner's tests, built by hand or drawn at random.
//!
//! Owns: a small builder and the strategy of random fleets. Refuses: expectations; those stand with each test.

use pigtail::plan::instance::{
    BookingRecord, DepotRecord, INSTANCE_FORMAT, Instance, ItemRecord, PinRecord, Records, TechnicianRecord, UnitRecord,
};
use proptest::prelude::*;

/// Four weeks, one depot, nobody there, set-up of 30 minutes by `gas`.
pub fn empty() -> Records {
    Records {
        format: INSTANCE_FORMAT.to_owned(),
        horizon: 28,
        setup_min: 30,
        setup_skill: "gas".to_owned(),
        depots: vec![DepotRecord { id: "D".to_owned(), closed: Vec::new() }],
        technicians: Vec::new(),
        units: Vec::new(),
        items: Vec::new(),
        bookings: Vec::new(),
        pins: None,
        baseline: None,
    }
}

pub fn technician(id: &str, skills: &[&str], minutes: [i32; 7]) -> TechnicianRecord {
    let skills = skills.iter().map(|&skill| skill.to_owned()).collect();
    TechnicianRecord { id: id.to_owned(), depot: "D".to_owned(), skills, minutes, off: Vec::new() }
}

pub fn unit(id: &str) -> UnitRecord {
    UnitRecord { id: id.to_owned(), depot: "D".to_owned() }
}

pub fn item(id: &str, unit: &str, due: i32, minutes: i32, skills: &[&str]) -> ItemRecord {
    ItemRecord {
        id: id.to_owned(),
        unit: unit.to_owned(),
        due,
        earliest: due - 20,
        floor: 0,
        minutes,
        skills: skills.iter().map(|&skill| skill.to_owned()).collect(),
        class_weight: 3,
        waste_per_day: 1,
    }
}

pub fn booking(id: &str, unit: &str, out: i32, back: i32) -> BookingRecord {
    BookingRecord { id: id.to_owned(), unit: unit.to_owned(), out, back }
}

pub fn resolved(records: &Records) -> Instance {
    Instance::from_records(records).expect("a sound instance")
}

const SKILLS: [&str; 3] = ["gas", "elec", "rin"];

fn some_skills() -> impl Strategy<Value = Vec<String>> {
    prop::sample::subsequence(SKILLS.to_vec(), 0..=2).prop_map(|skills| skills.into_iter().map(str::to_owned).collect())
}

/// Small fleets with everything in them that the format allows: closed days, people who are scarce or missing, items
/// overdue from the start, hires under way, overlapping hires, pins that can and cannot be kept, an earlier plan.
pub fn fleets() -> impl Strategy<Value = Records> {
    let depots = prop::collection::vec(prop::collection::vec(0..30i32, 0..4), 1..=2);
    let people = prop::collection::vec(
        (0..2usize, some_skills(), prop::array::uniform7(prop::sample::select(vec![0, 60, 120, 240])), 0..28i32),
        0..5,
    );
    let units = prop::collection::vec(0..2usize, 1..6);
    let items = prop::collection::vec(
        (0..6usize, -10..40i32, 0..25i32, -5..12i32, 0..150i32, some_skills(), (0..4i64, 0..9i64)),
        0..16,
    );
    let bookings = prop::collection::vec((0..6usize, -6..28i32, 0..12i32), 0..8);
    let pins = prop::collection::vec((0..16usize, 0..21i32), 0..3);
    let baseline = prop::option::of(prop::collection::vec((0..16usize, prop::option::of(0..21i32)), 0..10));
    (depots, people, units, items, bookings, pins, baseline, 14..29i32).prop_map(
        |(depots, people, units, items, bookings, pins, baseline, horizon)| {
            let mut fleet = Records { horizon, depots: Vec::new(), ..empty() };
            let depot = |index: usize| format!("D{}", index % depots.len());
            for (index, closed) in depots.iter().enumerate() {
                fleet.depots.push(DepotRecord { id: depot(index), closed: closed.clone() });
            }
            for (index, (at, skills, minutes, off)) in people.into_iter().enumerate() {
                let off = vec![off, off + 1];
                let id = format!("T{index}");
                fleet.technicians.push(TechnicianRecord { id, depot: depot(at), skills, minutes, off });
            }
            for (index, at) in units.iter().enumerate() {
                fleet.units.push(UnitRecord { id: format!("U{index}"), depot: depot(*at) });
            }
            let of = |index: usize| format!("U{}", index % units.len());
            for (index, (at, due, window, floor, minutes, skills, (class_weight, waste_per_day))) in
                items.into_iter().enumerate()
            {
                fleet.items.push(ItemRecord {
                    id: format!("I{index}"),
                    unit: of(at),
                    due,
                    earliest: due - window,
                    floor,
                    minutes,
                    skills,
                    class_weight,
                    waste_per_day,
                });
            }
            for (index, (at, out, days)) in bookings.into_iter().enumerate() {
                fleet.bookings.push(BookingRecord { id: format!("B{index}"), unit: of(at), out, back: out + days });
            }
            let mut pinned: Vec<PinRecord> = Vec::new();
            for (at, day) in pins {
                if let Some(item) = fleet.items.get(at)
                    && pinned.iter().all(|pin| !pin.items.contains(&item.id))
                    && day < horizon
                {
                    pinned.push(PinRecord { unit: item.unit.clone(), day, items: vec![item.id.clone()] });
                }
            }
            fleet.pins = Some(pinned);
            fleet.baseline = baseline.map(|days| days.into_iter().map(|(at, day)| (format!("I{at}"), day)).collect());
            fleet
        },
    )
}
