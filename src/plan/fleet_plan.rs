//! A plan in the fleet's own terms: units, days and people instead of indices.
//!
//! Owns: the answer's shape, what it comes to, and which promises it moves. Refuses: searching, and sentences (`show`).

use super::explain::{Explanation, Obstacle};
use super::fleet::{Fleet, SET_UP_MINUTES, Solved};
use super::objective::objective;
use super::shortage::{ShortJob, Shortage};
use super::visits::{UnplacedReason, Visit};
use crate::due::Item;
use crate::model::{Day, DepotCode, KeptVisit, KeptWork, PersonCode, UnitCode};
use std::collections::BTreeMap;

/// One unit in the workshop on one day.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedVisit {
    /// Depot.
    pub depot: DepotCode,
    /// Unit.
    pub unit: UnitCode,
    /// When.
    pub on: Day,
    /// Who sets up.
    pub by: PersonCode,
    /// What is done.
    pub work: Vec<PlannedWork>,
    /// Minutes, set-up included.
    pub minutes: u32,
}

/// One piece of work in a visit.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedWork {
    /// What.
    pub item: Item,
    /// By whom.
    pub by: PersonCode,
    /// Minutes, set-up not counted.
    pub minutes: u32,
    /// The day it had been promised for, if one was.
    pub kept_on: Option<Day>,
}

/// Work that has no day, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Unplanned {
    /// What.
    pub item: Item,
    /// Why.
    pub reason: UnplacedReason,
}

/// A depot that provably has too few minutes to be on time.
#[derive(Debug, Clone, PartialEq)]
pub struct TooFewMinutes {
    /// Depot.
    pub depot: DepotCode,
    /// Minutes short in the whole depot, at least.
    pub short: i64,
    /// Some of the work that does not fit: a unit, and the item, or none for a set-up.
    pub jobs: Vec<(UnitCode, Option<Item>)>,
    /// Who could do any of it on time, when, and for how many minutes that day.
    pub days: Vec<(PersonCode, Day, i32)>,
    /// Minutes of `jobs`.
    pub needed: i64,
    /// Minutes of `days`.
    pub offered: i64,
}

/// What a plan comes to.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Sum {
    /// Visits.
    pub visits: usize,
    /// Items without a day.
    pub unplanned: usize,
    /// Days that items are overdue before they are done, or to the end of the plan.
    pub overdue_days: i64,
    /// Days of hires that cannot go ahead in date.
    pub lost_hire_days: i64,
    /// Items on another day than was promised, or than another plan had them.
    pub moved: i64,
}

/// A plan in the fleet's own terms.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FleetPlan {
    /// Visits by depot, day and unit.
    pub visits: Vec<PlannedVisit>,
    /// Work that has no day.
    pub unplanned: Vec<Unplanned>,
    /// Hires that cannot go ahead in date.
    pub lost_hires: Vec<String>,
    /// Promised work of the next days that cannot be done then, with the day.
    pub broken: Vec<(Item, Day)>,
    /// Depots that provably have too few minutes.
    pub too_few: Vec<TooFewMinutes>,
    /// What it comes to.
    pub sum: Sum,
}

impl FleetPlan {
    pub(super) fn of(fleet: &Fleet, solved: &Solved<'_>) -> Self {
        let depots: BTreeMap<&str, &DepotCode> =
            fleet.units.iter().map(|(unit, depot)| (unit.as_str(), depot)).collect();
        let minutes: BTreeMap<&str, i32> =
            solved.instance.items.iter().map(|item| (item.id.as_str(), item.minutes)).collect();
        let promised = fleet.promised();
        let visit = |visit: &Visit| {
            let work = |work: &super::visits::Work| {
                let item = (*solved.items.get(&work.item)?).clone();
                let minutes = minutes.get(work.item.as_str()).map_or(0, |minutes| minutes.unsigned_abs());
                Some(PlannedWork { kept_on: promised.of(&item), item, by: person(&work.tech)?, minutes })
            };
            let work: Vec<PlannedWork> = visit.work.iter().filter_map(work).collect();
            Some(PlannedVisit {
                depot: (*depots.get(visit.unit.as_str())?).clone(),
                unit: visit.unit.parse().ok()?,
                on: fleet.day(visit.day),
                by: person(&visit.setup_tech)?,
                minutes: SET_UP_MINUTES.unsigned_abs() + work.iter().map(|work| work.minutes).sum::<u32>(),
                work,
            })
        };
        let plan = &solved.plan;
        let unplanned: Vec<Unplanned> = plan
            .unplaced
            .iter()
            .filter_map(|one| Some(Unplanned { item: (*solved.items.get(&one.item)?).clone(), reason: one.reason }))
            .collect();
        let broken = plan.broken_pins.iter().filter_map(|id| {
            let item = *solved.items.get(id)?;
            Some((item.clone(), promised.of(item)?))
        });
        let visits: Vec<PlannedVisit> = plan.visits.iter().filter_map(visit).collect();
        let of = objective(&solved.instance, plan);
        let sum = Sum {
            visits: visits.len(),
            unplanned: unplanned.len(),
            overdue_days: overdue_days(solved),
            lost_hire_days: of.lost_days,
            moved: of.moved,
        };
        Self {
            lost_hires: plan.lost_bookings.clone(),
            broken: broken.collect(),
            too_few: plan.shortages.iter().filter_map(|shortage| too_few(fleet, solved, shortage)).collect(),
            visits,
            unplanned,
            sum,
        }
    }

    /// Its visits as promises.
    #[must_use]
    pub fn as_kept(&self) -> Vec<(UnitCode, KeptVisit)> {
        self.visits.iter().map(|visit| (visit.unit.clone(), visit.as_kept())).collect()
    }
}

impl PlannedVisit {
    /// Minutes each person works on it, set-up included.
    pub fn minutes_by(&self) -> impl Iterator<Item = (&PersonCode, u32)> {
        let work = self.work.iter().map(|work| (&work.by, work.minutes));
        work.chain([(&self.by, SET_UP_MINUTES.unsigned_abs())])
    }

    /// The visit as a promise.
    #[must_use]
    pub fn as_kept(&self) -> KeptVisit {
        let work = |work: &PlannedWork| KeptWork {
            rule: work.item.rule.clone(),
            part: work.item.part.clone(),
            by: work.by.clone(),
            due_on: work.item.due_on,
        };
        KeptVisit { on: self.on, by: self.by.clone(), work: self.work.iter().map(work).collect() }
    }
}

/// Days overdue, each counting as one whatever being late means.
fn overdue_days(solved: &Solved<'_>) -> i64 {
    let horizon = solved.instance.horizon;
    let done: BTreeMap<&str, i32> = solved
        .plan
        .visits
        .iter()
        .flat_map(|visit| visit.work.iter().map(|work| (work.item.as_str(), visit.day)))
        .collect();
    let late = |item: &super::instance::Item| {
        let day = done.get(item.id.as_str()).copied();
        let counts = day.is_some() || item.is_mandatory(horizon);
        i64::from(if counts { (day.unwrap_or(horizon) - item.due.max(-1)).max(0) } else { 0 })
    };
    solved.instance.items.iter().map(late).sum()
}

fn too_few(fleet: &Fleet, solved: &Solved<'_>, shortage: &Shortage) -> Option<TooFewMinutes> {
    let job = |job: &ShortJob| match job {
        ShortJob::Item(id) => {
            let item = *solved.items.get(id)?;
            Some((item.unit.clone()?, Some(item.clone())))
        }
        ShortJob::SetUp(unit) => Some((unit.parse().ok()?, None)),
    };
    let days = shortage.technician_days.iter();
    Some(TooFewMinutes {
        depot: shortage.depot.parse().ok()?,
        short: shortage.minutes_short,
        jobs: shortage.jobs.iter().filter_map(job).collect(),
        days: days.filter_map(|day| Some((person(&day.technician)?, fleet.day(day.day), day.minutes))).collect(),
        needed: shortage.minutes_needed,
        offered: shortage.minutes_offered,
    })
}

/// Days that were not taken for an item, one after the other, for one reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LaterDays {
    /// First of them.
    pub from: Day,
    /// Last of them.
    pub through: Day,
    /// What stands against them; people and work named as people know them.
    pub obstacle: Obstacle,
}

/// Why an item is on its day, or on none.
#[derive(Debug, Clone, PartialEq)]
pub struct Explained {
    /// The item.
    pub item: Item,
    /// Its day; none where it has none.
    pub on: Option<Day>,
    /// Every later day up to its last day in date, or every day where it has none.
    pub later: Vec<LaterDays>,
}

impl Explained {
    /// The explanation in the fleet's own terms, if it is about `unit`.
    pub(super) fn of(fleet: &Fleet, solved: &Solved<'_>, unit: &UnitCode, explanation: Explanation) -> Option<Self> {
        let item = *solved.items.get(&explanation.item)?;
        if item.unit.as_ref() != Some(unit) {
            return None;
        }
        let mut later: Vec<LaterDays> = Vec::new();
        for day in explanation.later {
            let obstacle = named(day.obstacle, solved);
            let on = fleet.day(day.day);
            match later.last_mut() {
                Some(last) if last.obstacle == obstacle => last.through = on,
                _ => later.push(LaterDays { from: on, through: on, obstacle }),
            }
        }
        Some(Self { item: item.clone(), on: explanation.day.map(|day| fleet.day(day)), later })
    }
}

/// An obstacle with people and work by the names that people know.
fn named(obstacle: Obstacle, solved: &Solved<'_>) -> Obstacle {
    let person = |id: String| id.split_once('@').map_or(id.clone(), |(person, _)| person.to_owned());
    match obstacle {
        Obstacle::NobodyQualified { unavailable } => {
            Obstacle::NobodyQualified { unavailable: unavailable.into_iter().map(person).collect() }
        }
        Obstacle::Full { technician, minutes_free, minutes_needed, units } => {
            Obstacle::Full { technician: person(technician), minutes_free, minutes_needed, units }
        }
        Obstacle::AnotherVisit { together_with } => {
            let what = |id: String| solved.items.get(&id).map(|item| item.what.clone()).unwrap_or(id);
            let mut together_with: Vec<String> = together_with.into_iter().map(what).collect();
            together_with.dedup();
            Obstacle::AnotherVisit { together_with }
        }
        other => other,
    }
}

/// The person behind a technician's id, which names the depot too.
fn person(id: &str) -> Option<PersonCode> {
    id.split_once('@').and_then(|(person, _)| person.parse().ok())
}
