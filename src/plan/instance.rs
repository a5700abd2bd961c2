//! What the planner is asked: `rvlp-sched-1` records, and the checked model built from them.
//!
//! Owns: the records as written, the model with every id resolved to an index, and the ranges in which the planner's
//! sums are exact. Refuses: judging whether a plan exists; a skill that nobody holds, or a pin on a closed day, is a
//! valid question.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// The value of `format` in an instance.
pub const INSTANCE_FORMAT: &str = "rvlp-sched-1";

pub(super) const HORIZON_MAX: i32 = 3_660;
pub(super) const DAY_MAX: i32 = 100_000;
pub(super) const MINUTES_MAX: i32 = 10_000;
pub(super) const WEIGHT_MAX: i64 = 1_000_000;
pub(super) const DEPOTS_MAX: usize = 5_000;
pub(super) const TECHNICIANS_MAX: usize = 20_000;

/// An instance as written: ids are text, nothing is checked. Unknown fields are ignored.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Records {
    /// Always [`INSTANCE_FORMAT`].
    pub format: String,
    /// Number of days planned; days run from 0 to `horizon - 1`, and day `d` falls on weekday `d % 7`.
    pub horizon: i32,
    /// Minutes of set-up that every visit costs once.
    pub setup_min: i32,
    /// Skill that whoever sets up must hold.
    pub setup_skill: String,
    /// Depots.
    pub depots: Vec<DepotRecord>,
    /// Technicians.
    pub technicians: Vec<TechnicianRecord>,
    /// Units.
    pub units: Vec<UnitRecord>,
    /// Items of work.
    pub items: Vec<ItemRecord>,
    /// Hires, past and future.
    #[serde(default)]
    pub bookings: Vec<BookingRecord>,
    /// Work that must stay on its day; missing and null mean none.
    #[serde(default)]
    pub pins: Option<Vec<PinRecord>>,
    /// The day of each item in an earlier plan (null: it had none); missing and null mean no earlier plan.
    #[serde(default)]
    pub baseline: Option<BTreeMap<String, Option<i32>>>,
}

/// A depot as written.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct DepotRecord {
    /// Depot id.
    pub id: String,
    /// Days on which nothing is done.
    #[serde(default)]
    pub closed: Vec<i32>,
}

/// A technician as written.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct TechnicianRecord {
    /// Technician id.
    pub id: String,
    /// Depot id.
    pub depot: String,
    /// Skills held.
    #[serde(default)]
    pub skills: Vec<String>,
    /// Minutes available on each weekday.
    pub minutes: [i32; 7],
    /// Days off.
    #[serde(default)]
    pub off: Vec<i32>,
}

/// A unit as written.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct UnitRecord {
    /// Unit id.
    pub id: String,
    /// Depot id.
    pub depot: String,
}

/// An item of work as written.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct ItemRecord {
    /// Item id.
    pub id: String,
    /// Unit id.
    pub unit: String,
    /// Last day on which it is still in date.
    pub due: i32,
    /// First sensible day.
    pub earliest: i32,
    /// First possible day.
    pub floor: i32,
    /// Minutes of work, set-up not counted.
    pub minutes: i32,
    /// Skills that one technician must hold together.
    #[serde(default)]
    pub skills: Vec<String>,
    /// Weight of one day overdue.
    pub class_weight: i64,
    /// Weight of one day done before it is due.
    pub waste_per_day: i64,
}

/// A hire as written.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct BookingRecord {
    /// Booking id.
    pub id: String,
    /// Unit id.
    pub unit: String,
    /// First day away; negative when the unit is already out.
    pub out: i32,
    /// Day of return, on which the unit may be worked on.
    #[serde(rename = "in")]
    pub back: i32,
}

/// A pin as written.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct PinRecord {
    /// Unit id.
    pub unit: String,
    /// Day to keep.
    pub day: i32,
    /// Item ids to keep on it.
    pub items: Vec<String>,
}

/// A checked planning question. Every reference is an index into the vectors here.
#[derive(Clone, Debug)]
pub struct Instance {
    /// Number of days planned.
    pub horizon: i32,
    /// Minutes of set-up per visit.
    pub setup_minutes: i32,
    /// The set-up skill, as a set of one.
    pub setup_skill: SkillSet,
    /// Depots, in the order given.
    pub depots: Vec<Depot>,
    /// Technicians, in the order given.
    pub technicians: Vec<Technician>,
    /// Units, in the order given.
    pub units: Vec<Unit>,
    /// Items, in the order given.
    pub items: Vec<Item>,
    /// Bookings, in the order given.
    pub bookings: Vec<Booking>,
}

/// A set of up to 64 interned skills.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SkillSet(pub(super) u64);

impl SkillSet {
    /// Whether every skill of `needed` is held.
    pub fn covers(self, needed: SkillSet) -> bool {
        needed.0 & !self.0 == 0
    }

    /// The skills of both sets.
    pub fn with(self, other: SkillSet) -> SkillSet {
        SkillSet(self.0 | other.0)
    }

    /// Number of skills.
    pub fn len(self) -> u32 {
        self.0.count_ones()
    }

    /// Whether it holds none.
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }
}

/// A depot with its people and units.
#[derive(Clone, Debug)]
pub struct Depot {
    /// Depot id.
    pub id: String,
    /// One flag per day of the horizon.
    pub closed: Vec<bool>,
    /// Indices of its technicians, ascending.
    pub technicians: Vec<usize>,
    /// Indices of its units, ascending.
    pub units: Vec<usize>,
}

/// A technician with the minutes of every day.
#[derive(Clone, Debug)]
pub struct Technician {
    /// Technician id.
    pub id: String,
    /// Index of the depot.
    pub depot: usize,
    /// Skills held.
    pub skills: SkillSet,
    /// Minutes on each day of the horizon; 0 when off or when the depot is closed.
    pub minutes: Vec<i32>,
}

/// A unit with its work and hires.
#[derive(Clone, Debug)]
pub struct Unit {
    /// Unit id.
    pub id: String,
    /// Index of the depot.
    pub depot: usize,
    /// Indices of its items, ascending.
    pub items: Vec<usize>,
    /// Indices of its bookings, by first day out.
    pub bookings: Vec<usize>,
}

/// What an earlier plan said of an item.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Before {
    /// There was no earlier plan, or the item was not in it.
    Unknown,
    /// It was left out.
    Unplanned,
    /// It was on this day.
    On(i32),
}

/// An item of work.
#[derive(Clone, Debug)]
pub struct Item {
    /// Item id.
    pub id: String,
    /// Index of the unit.
    pub unit: usize,
    /// Last day on which it is still in date; the item is mandatory when this is inside the horizon.
    pub due: i32,
    /// First sensible day.
    pub earliest: i32,
    /// First possible day.
    pub floor: i32,
    /// Minutes of work.
    pub minutes: i32,
    /// Skills that one technician must hold together.
    pub skills: SkillSet,
    /// Weight of one day overdue.
    pub class_weight: i64,
    /// Weight of one day done before it is due.
    pub waste_per_day: i64,
    /// The day it is pinned to.
    pub pin: Option<i32>,
    /// Where an earlier plan had it.
    pub before: Before,
}

impl Item {
    /// Whether leaving it out counts as overdue.
    pub fn is_mandatory(&self, horizon: i32) -> bool {
        self.due < horizon
    }

    /// Whether doing it on `day` (the horizon: never) makes a hire from `out` to `back` impossible.
    pub fn blocks(&self, booking: &Booking, day: i32) -> bool {
        booking.out >= 0 && self.due < booking.back - 1 && day >= booking.out
    }
}

/// A hire: the unit is away on days `out..back`.
#[derive(Clone, Debug)]
pub struct Booking {
    /// Booking id.
    pub id: String,
    /// Index of the unit.
    pub unit: usize,
    /// First day away; negative when already out, and then it cannot be lost.
    pub out: i32,
    /// Day of return, at most the horizon.
    pub back: i32,
}
