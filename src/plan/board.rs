//! A depot's plan while it is being made: who is where on which day, and what is left of each day.
//!
//! Owns: taking units off the board, putting them back, and the best place for one unit as things stand. Refuses: to
//! decide which unit makes room for which; that is [`super::insertion`] and [`super::exchange`].

use super::cost::Cost;
use super::model::{Candidate, DepotModel, UnitModel};
use super::subsets::{Chunk, Group, SubsetTables, ones};

/// Steps of a subset program that weigh as much as one more program: most take fewer.
const STEPS_PER_RUN: u64 = 300;

/// One visit of a placement.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct PlacedVisit {
    pub day: i32,
    /// Person who sets up.
    pub setup: usize,
    /// Job of the unit and person who does it.
    pub work: Vec<(usize, usize)>,
}

/// A unit's visits and what they cost it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Placement {
    pub cost: Cost,
    pub visits: Vec<PlacedVisit>,
}

/// How far to go for a place.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Reach {
    /// Core days of every job, or nothing.
    Core,
    /// Core days if possible, else late, early, at the price of hires, or not at all.
    Anything,
    /// The same, but nothing more overdue than this: most tries fail early.
    Overdue(i64),
}

/// A depot's plan in the making.
pub(super) struct Board<'a> {
    pub model: &'a DepotModel,
    /// Minutes left: `day * people + person`.
    pub free: Vec<i32>,
    /// One per unit; a unit off the board has no visits.
    pub placed: Vec<Placement>,
    /// What each unit costs with no visit at all.
    undone: Vec<Cost>,
    /// Units visited on each day, ascending.
    pub by_day: Vec<Vec<usize>>,
    /// Subset programs run so far: the measure of effort, as a clock would make plans irreproducible.
    pub runs: u64,
    tables: SubsetTables,
}

impl<'a> Board<'a> {
    /// A board on which no unit is placed.
    pub fn new(model: &'a DepotModel) -> Board<'a> {
        let undone: Vec<Cost> = model.units.iter().map(|unit| cost_of(model, unit, &[])).collect();
        let placed = undone.iter().map(|&cost| Placement { cost, visits: Vec::new() }).collect();
        Board {
            model,
            free: model.full.clone(),
            placed,
            undone,
            by_day: vec![Vec::new(); model.horizon as usize],
            runs: 0,
            tables: SubsetTables::new(),
        }
    }

    /// Takes a unit off the board and returns where it was.
    pub fn take(&mut self, unit: usize) -> Placement {
        for visit in &self.placed[unit].visits {
            let row = &mut self.by_day[visit.day as usize];
            if let Ok(at) = row.binary_search(&unit) {
                row.remove(at);
            }
        }
        let undone = Placement { cost: self.undone[unit], visits: Vec::new() };
        let was = std::mem::replace(&mut self.placed[unit], undone);
        for visit in &was.visits {
            self.book(unit, visit, 1);
        }
        was
    }

    /// Puts a unit that is off the board onto it.
    pub fn put(&mut self, unit: usize, placement: Placement) {
        for visit in &placement.visits {
            self.book(unit, visit, -1);
            let row = &mut self.by_day[visit.day as usize];
            if let Err(at) = row.binary_search(&unit) {
                row.insert(at, unit);
            }
        }
        self.placed[unit] = placement;
    }

    /// The best place for a unit that is off the board. With [`Reach::Anything`] there is one unless
    /// a pin cannot be kept.
    pub fn best_place(&mut self, unit: usize, reach: Reach) -> Option<Placement> {
        let model = self.model;
        let wanted = &model.units[unit];
        if wanted.slack > 0 {
            let core = self.visits_within(unit, &Days::Core).map(|visits| placement(model, wanted, visits));
            if let Some(core) = core {
                // The buffer ranks between visits and waste.
                let buffered = wanted.buffered.as_ref().and_then(|_| self.visits_within(unit, &Days::Buffered));
                let buffered = buffered.map(|visits| placement(model, wanted, visits));
                let keeps = buffered.filter(|buffered| buffered.cost.above_waste() <= core.cost.above_waste());
                return Some(keeps.unwrap_or(core));
            }
        }
        match reach {
            Reach::Core => None,
            Reach::Anything => self.place_at_any_price(unit, i64::MAX),
            Reach::Overdue(most) => self.place_at_any_price(unit, most),
        }
    }

    /// Visits for a unit on the given days, chunk by chunk.
    pub fn visits_within(&mut self, unit: usize, days: &Days<'_>) -> Option<Vec<PlacedVisit>> {
        let mut visits = Vec::new();
        let complete =
            (0..self.model.units[unit].chunks.len()).all(|chunk| self.add_chunk(unit, chunk, days, &mut visits));
        for visit in &visits {
            self.book(unit, visit, 1);
        }
        complete.then_some(visits)
    }

    /// Core days of those jobs of a unit off the board that have room on none of them; of all its
    /// jobs when each has room by itself.
    pub fn crowded_days(&self, unit: usize) -> Vec<i32> {
        let model = self.model;
        let wanted = &model.units[unit];
        let mut days = Vec::new();
        let mut all = Vec::new();
        for (range, candidates) in wanted.chunks.iter().zip(&wanted.core) {
            let chunk = Chunk {
                model,
                free: &self.free,
                jobs: &wanted.jobs[range.clone()],
                candidates,
                droppable: 0,
                visited: &[],
                has_baseline: wanted.has_baseline,
            };
            for bit in 0..range.len() {
                let jobs = 1 << bit;
                let open = || candidates.iter().filter(|open| open.jobs & jobs != 0).map(|open| open.day);
                if !open().any(|day| chunk.can_take(jobs, day)) {
                    days.extend(open());
                }
            }
            all.extend(candidates.iter().map(|open| open.day));
        }
        let mut days = if days.is_empty() { all } else { days };
        days.sort_unstable();
        days.dedup();
        days
    }

    /// Adds one chunk to `visits`, booking its minutes.
    fn add_chunk(&mut self, unit: usize, index: usize, days: &Days<'_>, visits: &mut Vec<PlacedVisit>) -> bool {
        self.runs += 1;
        let model = self.model;
        let wanted = &model.units[unit];
        let range = wanted.chunks[index].clone();
        let visited: Vec<i32> = visits.iter().map(|visit| visit.day).collect();
        let (candidates, droppable): (&[Candidate], u16) = match days {
            Days::Core => (&wanted.core[index], 0),
            Days::Buffered => (wanted.buffered.as_ref().map_or(&wanted.core[index], |days| &days[index]), 0),
            Days::Listed(chunks) => (&chunks[index].candidates, chunks[index].droppable),
        };
        let chunk = Chunk {
            model,
            free: &self.free,
            jobs: &wanted.jobs[range.clone()],
            candidates,
            droppable,
            visited: &visited,
            has_baseline: wanted.has_baseline,
        };
        let before = self.tables.steps;
        let groups = self.tables.spread(&chunk);
        self.runs += (self.tables.steps - before) / STEPS_PER_RUN;
        let Some(groups) = groups else {
            return false;
        };
        // Groups are on different days, so staffing one takes nothing from another.
        let staffed: Option<Vec<(Group, super::staffing::Staffing)>> = groups
            .into_iter()
            .map(|group| Some((group, chunk.crew(group.day).staff(&chunk.group_demand(group))?)))
            .collect();
        let Some(staffed) = staffed else {
            return false;
        };
        for (group, staffing) in staffed {
            let jobs = ones(group.jobs).map(|bit| range.start + bit);
            let work: Vec<(usize, usize)> = jobs.zip(staffing.work).collect();
            let added = PlacedVisit { day: group.day, setup: staffing.setup.unwrap_or(0), work };
            match visits.iter_mut().find(|visit| visit.day == group.day) {
                Some(visit) => {
                    for &(job, person) in &added.work {
                        *slot(&mut self.free, model, group.day, person) -= wanted.jobs[job].minutes;
                    }
                    visit.work.extend(added.work);
                }
                None => {
                    self.book(unit, &added, -1);
                    visits.push(added);
                }
            }
        }
        true
    }

    /// Adds `sign` times the visit's minutes to what its people have left.
    fn book(&mut self, unit: usize, visit: &PlacedVisit, sign: i32) {
        let model = self.model;
        *slot(&mut self.free, model, visit.day, visit.setup) += sign * model.setup_minutes;
        for &(job, person) in &visit.work {
            *slot(&mut self.free, model, visit.day, person) += sign * model.units[unit].jobs[job].minutes;
        }
    }
}

/// Days offered to a unit.
pub(super) enum Days<'a> {
    /// Its core days.
    Core,
    /// Its core days that keep the buffer.
    Buffered,
    /// Listed per chunk.
    Listed(&'a [OpenDays]),
}

/// Days on which the jobs of a chunk may be done, latest first, and which may be left out.
pub(super) struct OpenDays {
    pub candidates: Vec<Candidate>,
    pub droppable: u16,
}

fn slot<'f>(free: &'f mut [i32], model: &DepotModel, day: i32, person: usize) -> &'f mut i32 {
    &mut free[day as usize * model.people.len() + person]
}

/// The day of each job of a unit; the horizon for one that is never done.
pub(super) fn days_of(model: &DepotModel, unit: &UnitModel, visits: &[PlacedVisit]) -> Vec<i32> {
    let mut days = vec![model.horizon; unit.jobs.len()];
    for visit in visits {
        for &(job, _) in &visit.work {
            days[job] = visit.day;
        }
    }
    days
}

/// Whether the hire is lost when the jobs are done on `days`.
pub(super) fn is_lost(unit: &UnitModel, hire: &super::model::Hire, days: &[i32]) -> bool {
    unit.jobs.iter().zip(days).any(|(job, &day)| job.blocks(hire, day))
}

fn placement(model: &DepotModel, unit: &UnitModel, visits: Vec<PlacedVisit>) -> Placement {
    Placement { cost: cost_of(model, unit, &visits), visits }
}

/// What a unit's visits cost, lost hires included.
pub(super) fn cost_of(model: &DepotModel, unit: &UnitModel, visits: &[PlacedVisit]) -> Cost {
    let days = days_of(model, unit, visits);
    let mut cost: Cost = unit
        .jobs
        .iter()
        .zip(&days)
        .map(|(job, &day)| if day < model.horizon { job.cost_on(day) } else { job.cost_undone(model.horizon) })
        .sum();
    let lost = unit.hires.iter().filter(|hire| is_lost(unit, hire, &days));
    cost.lost_days = lost.map(|hire| i64::from(hire.back - hire.out)).sum();
    cost.visits = visits.len() as i32;
    cost
}
