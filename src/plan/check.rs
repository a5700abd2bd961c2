//! A second reading of the rules, as plain as can be.
//!
//! Owns: the thirteen hard rules of `rvlp-plan-1`, read off the plan's records one by one. Refuses: any code shared with
//! the search, its derivations or its tables. Every plan shown passes through here, so nothing is looked up by
//! walking a list.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::instance::{Booking, Instance, Item, Technician};
use super::visits::{Plan, UnplacedReason, Visit};

/// A hard rule that a plan breaks. Days are offsets from the first day planned.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Violation {
    /// H01: an id that is not in the instance.
    #[error("visit of `{unit}` on day {day}: `{id}` is not in the instance")]
    UnknownId {
        /// The visit's unit.
        unit: String,
        /// The visit's day.
        day: i32,
        /// The id.
        id: String,
    },
    /// H01: an item of another unit, or done twice.
    #[error("visit of `{unit}` on day {day}: item `{item}` is of another unit or done twice")]
    StrayItem {
        /// The visit's unit.
        unit: String,
        /// The visit's day.
        day: i32,
        /// The item.
        item: String,
    },
    /// H02: outside the horizon or before the item's floor.
    #[error("visit of `{unit}` on day {day}: outside the days possible")]
    OutsideDays {
        /// The visit's unit.
        unit: String,
        /// The visit's day.
        day: i32,
    },
    /// H03: the depot is closed.
    #[error("visit of `{unit}` on day {day}: the depot is closed")]
    Closed {
        /// The visit's unit.
        unit: String,
        /// The visit's day.
        day: i32,
    },
    /// H04: the unit is out on hire.
    #[error("visit of `{unit}` on day {day}: out on hire `{booking}`")]
    Away {
        /// The visit's unit.
        unit: String,
        /// The visit's day.
        day: i32,
        /// The hire.
        booking: String,
    },
    /// H05: a technician of another depot.
    #[error("visit of `{unit}` on day {day}: `{technician}` is of another depot")]
    OtherDepot {
        /// The visit's unit.
        unit: String,
        /// The visit's day.
        day: i32,
        /// The technician.
        technician: String,
    },
    /// H06: a technician without the skills.
    #[error("visit of `{unit}` on day {day}: `{technician}` lacks the skills")]
    Unskilled {
        /// The visit's unit.
        unit: String,
        /// The visit's day.
        day: i32,
        /// The technician.
        technician: String,
    },
    /// H07: a technician's day is too short.
    #[error("`{technician}` on day {day}: {used} min planned, {offered} min worked")]
    Overbooked {
        /// The technician.
        technician: String,
        /// The day.
        day: i32,
        /// Minutes planned.
        used: i64,
        /// Minutes of the day.
        offered: i32,
    },
    /// H08: two visits of a unit on one day.
    #[error("visit of `{unit}` on day {day}: the second that day")]
    SecondVisit {
        /// The visit's unit.
        unit: String,
        /// The visit's day.
        day: i32,
    },
    /// H09: nothing done.
    #[error("visit of `{unit}` on day {day}: no work")]
    EmptyVisit {
        /// The visit's unit.
        unit: String,
        /// The visit's day.
        day: i32,
    },
    /// H10: a pin that is not kept and not among the broken pins.
    #[error("item `{item}` is pinned to day {day}")]
    PinMoved {
        /// The item.
        item: String,
        /// The day of the pin.
        day: i32,
    },
    /// H11: a lost hire not named, or one named that is not lost.
    #[error("hire `{booking}`: lost in the plan's visits or in its list, not in both")]
    LostDiffers {
        /// The hire.
        booking: String,
    },
    /// H12: a mandatory item without a day not named, or one named that has a day or needs none.
    #[error("item `{item}`: left out by the visits or by the list, not by both")]
    UnplacedDiffers {
        /// The item.
        item: String,
    },
    /// H13: a false reason.
    #[error("item `{item}`: the reason is {found:?}")]
    FalseReason {
        /// The item.
        item: String,
        /// The true reason.
        found: UnplacedReason,
    },
}

/// Every hard rule the plan breaks; none for a sound plan.
pub fn check(instance: &Instance, plan: &Plan) -> Vec<Violation> {
    let mut reading = Reading::of(instance);
    let mut seen = BTreeSet::new();
    for visit in &plan.visits {
        let (unit, day) = (visit.unit.clone(), visit.day);
        if !seen.insert((unit.clone(), day)) {
            reading.found.push(Violation::SecondVisit { unit, day });
        }
        reading.visit(visit);
    }
    reading.minutes();
    reading.pins(plan);
    let lost = reading.lost();
    reading.lists(plan, &lost);
    reading.homes(plan, &lost);
    reading.found
}

struct Reading<'a> {
    instance: &'a Instance,
    units: HashMap<&'a str, usize>,
    items: HashMap<&'a str, &'a Item>,
    people: HashMap<&'a str, &'a Technician>,
    found: Vec<Violation>,
    done: BTreeMap<&'a str, i32>,
    used: BTreeMap<(&'a str, i32), i64>,
}

impl<'a> Reading<'a> {
    fn of(instance: &'a Instance) -> Self {
        Self {
            instance,
            units: instance.units.iter().enumerate().map(|(index, unit)| (unit.id.as_str(), index)).collect(),
            items: instance.items.iter().map(|item| (item.id.as_str(), item)).collect(),
            people: instance.technicians.iter().map(|person| (person.id.as_str(), person)).collect(),
            found: Vec::new(),
            done: BTreeMap::new(),
            used: BTreeMap::new(),
        }
    }

    fn visit(&mut self, visit: &Visit) {
        let (instance, day) = (self.instance, visit.day);
        let unit = || visit.unit.clone();
        let unknown = |id: &str| Violation::UnknownId { unit: unit(), day, id: id.to_owned() };
        let Some(&index) = self.units.get(visit.unit.as_str()) else {
            return self.found.push(unknown(&visit.unit));
        };
        if !(0..instance.horizon).contains(&day) {
            return self.found.push(Violation::OutsideDays { unit: unit(), day });
        }
        let depot = instance.units[index].depot;
        if instance.depots[depot].closed[day as usize] {
            self.found.push(Violation::Closed { unit: unit(), day });
        }
        if visit.work.is_empty() {
            self.found.push(Violation::EmptyVisit { unit: unit(), day });
        }
        let mut tasks = vec![(visit.setup_tech.as_str(), instance.setup_skill, instance.setup_minutes)];
        for work in &visit.work {
            let Some(&item) = self.items.get(work.item.as_str()) else {
                self.found.push(unknown(&work.item));
                continue;
            };
            if item.unit != index || self.done.insert(&item.id, day).is_some() {
                self.found.push(Violation::StrayItem { unit: unit(), day, item: item.id.clone() });
                continue;
            }
            if day < item.floor {
                self.found.push(Violation::OutsideDays { unit: unit(), day });
            }
            tasks.push((&work.tech, item.skills, item.minutes));
        }
        for (id, skills, minutes) in tasks {
            let Some(&person) = self.people.get(id) else {
                self.found.push(unknown(id));
                continue;
            };
            let technician = || person.id.clone();
            if person.depot != depot {
                self.found.push(Violation::OtherDepot { unit: unit(), day, technician: technician() });
            }
            if !person.skills.covers(skills) {
                self.found.push(Violation::Unskilled { unit: unit(), day, technician: technician() });
            }
            *self.used.entry((&person.id, day)).or_insert(0) += i64::from(minutes);
        }
    }

    fn minutes(&mut self) {
        for (&(technician, day), &used) in &self.used {
            let offered = self.people.get(technician).map_or(0, |person| person.minutes[day as usize]);
            if used > i64::from(offered) {
                self.found.push(Violation::Overbooked { technician: technician.to_owned(), day, used, offered });
            }
        }
    }

    fn pins(&mut self, plan: &Plan) {
        for item in &self.instance.items {
            if let Some(day) = item.pin
                && self.done.get(item.id.as_str()) != Some(&day)
                && !plan.broken_pins.contains(&item.id)
            {
                self.found.push(Violation::PinMoved { item: item.id.clone(), day });
            }
        }
    }

    fn lost(&self) -> BTreeSet<&'a str> {
        let horizon = self.instance.horizon;
        let waits = |item: &Item, hire: &Booking| {
            let day = self.done.get(item.id.as_str()).copied().unwrap_or(horizon);
            item.due < hire.back - 1 && day >= hire.out
        };
        let hires = self.instance.bookings.iter().filter(|hire| hire.out >= 0);
        hires
            .filter(|hire| {
                let mut items = self.instance.units[hire.unit].items.iter();
                items.any(|&item| waits(&self.instance.items[item], hire))
            })
            .map(|hire| hire.id.as_str())
            .collect()
    }

    fn homes(&mut self, plan: &Plan, lost: &BTreeSet<&str>) {
        for visit in &plan.visits {
            let Some(&unit) = self.units.get(visit.unit.as_str()) else { continue };
            if let Some(hire) = self.away(unit, visit.day, lost) {
                let (unit, booking) = (visit.unit.clone(), hire.id.clone());
                self.found.push(Violation::Away { unit, day: visit.day, booking });
            }
        }
    }

    fn lists(&mut self, plan: &Plan, lost: &BTreeSet<&str>) {
        let named: BTreeSet<&str> = plan.lost_bookings.iter().map(String::as_str).collect();
        for booking in named.symmetric_difference(lost) {
            self.found.push(Violation::LostDiffers { booking: (*booking).to_owned() });
        }
        let mut left: HashMap<&str, Vec<UnplacedReason>> = HashMap::new();
        for claim in &plan.unplaced {
            left.entry(&claim.item).or_default().push(claim.reason);
        }
        for item in &self.instance.items {
            let must = item.due < self.instance.horizon && !self.done.contains_key(item.id.as_str());
            let claims = left.get(item.id.as_str()).map_or(&[][..], Vec::as_slice);
            if claims.len() != usize::from(must) {
                self.found.push(Violation::UnplacedDiffers { item: item.id.clone() });
                continue;
            }
            if let Some(&claimed) = claims.first() {
                let found = self.reason(item, lost);
                if claimed != found {
                    self.found.push(Violation::FalseReason { item: item.id.clone(), found });
                }
            }
        }
    }

    /// The hire that goes ahead and has the unit on a day.
    fn away(&self, unit: usize, day: i32, lost: &BTreeSet<&str>) -> Option<&'a Booking> {
        let mut hires = self.instance.units[unit].bookings.iter().map(|&hire| &self.instance.bookings[hire]);
        hires.find(|hire| hire.out <= day && day < hire.back && !lost.contains(hire.id.as_str()))
    }

    fn reason(&self, item: &Item, lost: &BTreeSet<&str>) -> UnplacedReason {
        let instance = self.instance;
        let depot = instance.units[item.unit].depot;
        let crew: Vec<&Technician> =
            instance.depots[depot].technicians.iter().map(|&person| &instance.technicians[person]).collect();
        let able: Vec<_> = crew.iter().filter(|person| person.skills.covers(item.skills)).collect();
        let sets_up: Vec<_> = crew.iter().filter(|person| person.skills.covers(instance.setup_skill)).collect();
        if able.is_empty() || sets_up.is_empty() {
            return UnplacedReason::NoSkill;
        }
        for day in item.floor.max(0)..instance.horizon {
            let at = day as usize;
            if self.away(item.unit, day, lost).is_none()
                && !instance.depots[depot].closed[at]
                && able.iter().any(|person| person.minutes[at] >= item.minutes)
                && sets_up.iter().any(|person| person.minutes[at] >= instance.setup_minutes)
            {
                return UnplacedReason::NoCapacity;
            }
        }
        UnplacedReason::NoGap
    }
}
