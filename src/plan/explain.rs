//! Why an item is not done later.
//!
//! Owns: for every item, what stands against each later day up to due, read off the instance and the plan. Refuses: the
//! search's log; the same plan always gets the same explanation, whoever made it.

use std::collections::{BTreeMap, HashMap};

use super::instance::{Instance, Item, SkillSet};
use super::visits::{Plan, Visit};

/// Why an item is on its day, or on none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Explanation {
    /// Item id.
    pub item: String,
    /// Its day in the plan; none when it is left out.
    pub day: Option<i32>,
    /// Every later day up to due inside the horizon, ascending; for an item left out, every day it might have had.
    pub later: Vec<LaterDay>,
}

impl Explanation {
    /// What would have to give for the item to be done later: the obstacle of the first later day on which the workshop
    /// does such work at all, else of the first later day.
    pub fn binding(&self) -> Option<&LaterDay> {
        let works = |later: &&LaterDay| !matches!(later.obstacle, Obstacle::Closed | Obstacle::NobodyQualified { .. });
        self.later.iter().find(works).or(self.later.first())
    }
}

/// A day that was not taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LaterDay {
    /// Day of the horizon.
    pub day: i32,
    /// What stands against it.
    pub obstacle: Obstacle,
}

/// What stands against a day. The first that applies is given, in this order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Obstacle {
    /// The unit is out.
    Away {
        /// Booking id.
        booking: String,
    },
    /// The depot is closed.
    Closed,
    /// Nobody who holds the skills, or nobody who sets up, works long enough that day.
    NobodyQualified {
        /// Ids of those who hold the skills and are off or work too short a day; empty when nobody holds them.
        unavailable: Vec<String>,
    },
    /// There are qualified people, but too few minutes left.
    Full {
        /// The qualified technician with the most minutes left.
        technician: String,
        /// Minutes they have left.
        minutes_free: i32,
        /// Minutes needed of them.
        minutes_needed: i32,
        /// Ids of the units they work on that day, one of which would have to move.
        units: Vec<String>,
    },
    /// The item is pinned to its day.
    Pinned,
    /// It would be done on another day than in the earlier plan.
    LeavesEarlierPlan,
    /// Possible, at the price of another visit: what it is done with stays behind.
    AnotherVisit {
        /// Ids of the items done together with it.
        together_with: Vec<String>,
    },
    /// Possible, but closer to the due day than was asked for.
    InsideBuffer,
    /// Possible at no such price: a better plan exists than the one found.
    Possible,
}

/// Explains every item that is in the plan or left out of it, in the instance's order. The plan was made to keep
/// `buffer_days` before due days.
pub fn explain(instance: &Instance, plan: &Plan, buffer_days: i32) -> Vec<Explanation> {
    let reading = Reading::new(instance, plan, buffer_days);
    let left_out = |item: &Item| plan.unplaced.iter().any(|left| left.item == item.id);
    instance
        .items
        .iter()
        .filter(|item| reading.visits.contains_key(item.id.as_str()) || left_out(item))
        .map(|item| reading.explain(item))
        .collect()
}

struct Reading<'a> {
    instance: &'a Instance,
    buffer_days: i32,
    /// The visit in which each item is done.
    visits: HashMap<&'a str, &'a Visit>,
    /// Days on which each unit is visited.
    visited: HashMap<&'a str, Vec<i32>>,
    /// Minutes and units of each technician (by index) and day.
    busy: BTreeMap<(usize, i32), (i32, Vec<&'a str>)>,
    lost: Vec<bool>,
}

impl<'a> Reading<'a> {
    fn new(instance: &'a Instance, plan: &'a Plan, buffer_days: i32) -> Reading<'a> {
        let people: HashMap<&str, usize> =
            instance.technicians.iter().enumerate().map(|(index, person)| (person.id.as_str(), index)).collect();
        let minutes: HashMap<&str, i32> = instance.items.iter().map(|item| (item.id.as_str(), item.minutes)).collect();
        let mut reading = Reading {
            instance,
            buffer_days,
            visits: HashMap::new(),
            visited: HashMap::new(),
            busy: BTreeMap::new(),
            lost: instance.bookings.iter().map(|booking| plan.lost_bookings.contains(&booking.id)).collect(),
        };
        for visit in &plan.visits {
            reading.visited.entry(&visit.unit).or_default().push(visit.day);
            let work = visit.work.iter().map(|work| (&work.tech, minutes.get(work.item.as_str()).copied()));
            for (technician, minutes) in work.chain([(&visit.setup_tech, Some(instance.setup_minutes))]) {
                if let (Some(&person), Some(minutes)) = (people.get(technician.as_str()), minutes) {
                    let (used, units) = reading.busy.entry((person, visit.day)).or_default();
                    *used = used.saturating_add(minutes);
                    if !units.contains(&visit.unit.as_str()) {
                        units.push(&visit.unit);
                    }
                }
            }
            for work in &visit.work {
                reading.visits.insert(&work.item, visit);
            }
        }
        reading
    }

    fn explain(&self, item: &Item) -> Explanation {
        let visit = self.visits.get(item.id.as_str()).copied();
        let first = visit.map_or(item.floor.max(0), |visit| visit.day.max(-1).saturating_add(1));
        let last = item.due.min(self.instance.horizon - 1);
        // What can no longer be on time is explained to the end.
        let last = if visit.is_none() { self.instance.horizon - 1 } else { last };
        let later = (first..=last).map(|day| LaterDay { day, obstacle: self.obstacle(item, visit, day) });
        Explanation { item: item.id.clone(), day: visit.map(|visit| visit.day), later: later.collect() }
    }

    fn obstacle(&self, item: &Item, visit: Option<&Visit>, day: i32) -> Obstacle {
        let instance = self.instance;
        let unit = &instance.units[item.unit];
        let out = unit.bookings.iter().find(|&&booking| {
            let hire = &instance.bookings[booking];
            !self.lost[booking] && (hire.out..hire.back).contains(&day)
        });
        if let Some(&booking) = out {
            return Obstacle::Away { booking: instance.bookings[booking].id.clone() };
        }
        if instance.depots[unit.depot].closed[day as usize] {
            return Obstacle::Closed;
        }
        let setup = (instance.setup_skill, instance.setup_minutes);
        let work = (item.skills, item.minutes);
        let visited = self.visited.get(unit.id.as_str()).is_some_and(|days| days.contains(&day));
        let tasks: &[(SkillSet, i32)] = if visited { &[work] } else { &[work, setup] };
        for &(skills, minutes) in tasks {
            let holders = || self.holders(unit.depot, skills);
            if !holders().any(|person| instance.technicians[person].minutes[day as usize] >= minutes) {
                let unavailable = holders().map(|person| instance.technicians[person].id.clone()).collect();
                return Obstacle::NobodyQualified { unavailable };
            }
        }
        for &(skills, minutes) in tasks {
            if let Some(full) = self.full(unit.depot, skills, minutes, day) {
                return full;
            }
        }
        if !visited && let Some(full) = self.full_together(unit.depot, work, setup, day) {
            return full;
        }
        let Some(visit) = visit else {
            return Obstacle::Possible;
        };
        if item.pin == Some(visit.day) {
            return Obstacle::Pinned;
        }
        if item.before == super::instance::Before::On(visit.day) {
            return Obstacle::LeavesEarlierPlan;
        }
        if day > item.due.saturating_sub(self.buffer_days) {
            return Obstacle::InsideBuffer;
        }
        if visit.work.len() > 1 && !visited {
            let others = visit.work.iter().filter(|work| work.item != item.id);
            return Obstacle::AnotherVisit { together_with: others.map(|work| work.item.clone()).collect() };
        }
        Obstacle::Possible
    }

    /// Indices of the depot's people with the skills.
    fn holders(&self, depot: usize, skills: SkillSet) -> impl Iterator<Item = usize> {
        let people = self.instance.depots[depot].technicians.iter().copied();
        people.filter(move |&person| self.instance.technicians[person].skills.covers(skills))
    }

    fn free(&self, person: usize, day: i32) -> i32 {
        let used = self.busy.get(&(person, day)).map_or(0, |&(used, _)| used);
        self.instance.technicians[person].minutes[day as usize].saturating_sub(used)
    }

    /// The freest of the people with the skills, if even that one has too few minutes left.
    fn full(&self, depot: usize, skills: SkillSet, minutes_needed: i32, day: i32) -> Option<Obstacle> {
        let freest = self.holders(depot, skills).max_by_key(|&person| (self.free(person, day), -(person as i64)))?;
        let minutes_free = self.free(freest, day);
        let units = self.busy.get(&(freest, day)).map_or(&[][..], |(_, units)| units);
        (minutes_free < minutes_needed).then(|| Obstacle::Full {
            technician: self.instance.technicians[freest].id.clone(),
            minutes_free,
            minutes_needed,
            units: units.iter().map(|&unit| unit.to_owned()).collect(),
        })
    }

    /// Work and set-up each fit somebody, but only the same person, whose minutes do not do for both.
    fn full_together(
        &self,
        depot: usize,
        (work_skills, work): (SkillSet, i32),
        (setup_skills, setup): (SkillSet, i32),
        day: i32,
    ) -> Option<Obstacle> {
        for worker in self.holders(depot, work_skills).filter(|&person| self.free(person, day) >= work) {
            for starter in self.holders(depot, setup_skills) {
                let spent = if starter == worker { work } else { 0 };
                if self.free(starter, day) - spent >= setup {
                    return None;
                }
            }
        }
        self.full(depot, work_skills.with(setup_skills), work + setup, day)
    }
}
