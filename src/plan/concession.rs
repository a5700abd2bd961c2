//! A place for a unit that has none on its core days: late, early, at the price of hires, or undone.
//!
//! Owns: the search over sets of hires to give up. For a fixed set the best days are exact (the subset program with
//! jobs that may be left out). Giving up more hires never makes work later, so the least overdue follows from giving
//! up all of them, and the fewest hires for that much from bisection over the day up to which hires are given up, then
//! from trying to keep each hire. Refuses: to move other units.

use super::board::{Board, Days, OpenDays, PlacedVisit, Placement, cost_of, days_of, is_lost};
use super::model::{Candidate, DepotModel, UnitModel};

/// Rounds of narrowing the given-up hires to those really lost.
const NARROWINGS: u32 = 4;
/// Hires that are tried to be kept, one at a time.
const KEPT_MAX: usize = 6;

impl Board<'_> {
    /// The best place found when core days do not do, at most `overdue_max` overdue. Without that limit there is one
    /// unless a pin cannot be kept.
    pub fn place_at_any_price(&mut self, unit: usize, overdue_max: i64) -> Option<Placement> {
        let model = self.model;
        let wanted = &model.units[unit];
        let threatened: Vec<usize> = (0..wanted.hires.len())
            .filter(|&hire| wanted.jobs.iter().any(|job| job.threatens(&wanted.hires[hire])))
            .collect();
        let give_up = |hires: &[usize]| {
            let mut flags = vec![false; wanted.hires.len()];
            hires.iter().for_each(|&hire| flags[hire] = true);
            flags
        };
        let (mut best, _) = self.place_giving_up(unit, give_up(&threatened))?;
        if best.cost.overdue > overdue_max {
            return None;
        }
        // Hires are in order of their first day, so a prefix is "all hires up to a day".
        let (mut low, mut high) = (0, threatened.len());
        while low < high {
            let middle = usize::midpoint(low, high);
            match self.place_giving_up(unit, give_up(&threatened[..middle])) {
                Some((placement, _)) if placement.cost.overdue <= best.cost.overdue => {
                    if placement.cost < best.cost {
                        best = placement;
                    }
                    high = middle;
                }
                _ => low = middle + 1,
            }
        }
        self.keep_hires(unit, best)
    }

    /// Tries to keep each hire that is lost only because a job is done after it began.
    fn keep_hires(&mut self, unit: usize, mut best: Placement) -> Option<Placement> {
        let model = self.model;
        let wanted = &model.units[unit];
        let days = days_of(model, wanted, &best.visits);
        let mut lost: Vec<bool> = wanted.hires.iter().map(|hire| is_lost(wanted, hire, &days)).collect();
        let avoidable: Vec<usize> = (0..lost.len())
            .filter(|&hire| {
                let undone = |job: usize| days[job] == model.horizon;
                lost[hire] && !(0..days.len()).any(|job| undone(job) && wanted.jobs[job].threatens(&wanted.hires[hire]))
            })
            .take(KEPT_MAX)
            .collect();
        for hire in avoidable {
            let mut fewer = lost.clone();
            fewer[hire] = false;
            if let Some((placement, given_up)) = self.place_giving_up(unit, fewer)
                && placement.cost < best.cost
            {
                best = placement;
                lost = given_up;
            }
        }
        Some(best)
    }

    /// The best place when exactly the flagged hires may be given up, and which of them were.
    fn place_giving_up(&mut self, unit: usize, mut given_up: Vec<bool>) -> Option<(Placement, Vec<bool>)> {
        let model = self.model;
        let wanted = &model.units[unit];
        for _ in 0..NARROWINGS {
            let open = open_days(model, wanted, &given_up)?;
            let visits = self.visits_within(unit, &Days::Listed(&open))?;
            let days = days_of(model, wanted, &visits);
            let lost: Vec<bool> = wanted.hires.iter().map(|hire| is_lost(wanted, hire, &days)).collect();
            if !visits_away(wanted, &visits, &lost) {
                let cost = cost_of(model, wanted, &visits);
                return Some((Placement { cost, visits }, lost));
            }
            // A visit stands inside a hire that then goes ahead after all.
            given_up.iter_mut().zip(&lost).for_each(|(given_up, &lost)| *given_up &= lost);
        }
        None
    }
}

fn visits_away(unit: &UnitModel, visits: &[PlacedVisit], lost: &[bool]) -> bool {
    let kept = unit.hires.iter().zip(lost).filter(|(_, lost)| !**lost);
    kept.into_iter().any(|(hire, _)| visits.iter().any(|visit| hire.covers(visit.day)))
}

/// The days each chunk may use when the flagged hires may be given up; none if some job can then
/// neither be done nor left out.
fn open_days(model: &DepotModel, unit: &UnitModel, given_up: &[bool]) -> Option<Vec<OpenDays>> {
    let mut home = vec![true; model.horizon as usize];
    for (hire, &given_up) in unit.hires.iter().zip(given_up) {
        if !given_up {
            for day in hire.out.max(0)..hire.back {
                home[day as usize] = false;
            }
        }
    }
    let mut chunks = Vec::with_capacity(unit.chunks.len());
    for range in &unit.chunks {
        let mut allowed = vec![0u16; model.horizon as usize];
        let mut droppable = 0;
        for (bit, job) in unit.jobs[range.clone()].iter().enumerate() {
            // From the first kept hire that waits for the job on, it is too late.
            let kept = unit.hires.iter().zip(given_up).filter(|(hire, given_up)| !**given_up && job.threatens(hire));
            let until = kept.map(|(hire, _)| hire.out).min().unwrap_or(i32::MAX);
            let mut possible = false;
            for day in job.floor.max(0)..until.min(model.horizon) {
                let slot = day as usize;
                if home[slot] && model.kinds[job.kind].workable[slot] && job.pin.is_none_or(|pin| pin == day) {
                    allowed[slot] |= 1 << bit;
                    possible = true;
                }
            }
            if job.mandatory && job.pin.is_none() && until > model.horizon {
                droppable |= 1 << bit;
                possible = true;
            }
            if !possible {
                return None;
            }
        }
        let candidates = (0..model.horizon).rev().map(|day| Candidate { day, jobs: allowed[day as usize] });
        chunks.push(OpenDays { candidates: candidates.filter(|open| open.jobs != 0).collect(), droppable });
    }
    Some(chunks)
}
