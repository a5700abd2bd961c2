//! A place for a unit that has none on its core days: late, early, at the price of hires, or undone.
//!
//! Owns: the search over sets of hires to give up. For a fixed set the best days are exact (the subset program with
//! jobs that may be left out). Of few hires every set is tried; of many, the least overdue is sought by giving up all,
//! the fewest hires for that much by bisection over the day up to which hires are given up, then by trying to keep each
//! hire. Refuses: to move other units.

use super::board::{Board, Days, OpenDays, PlacedVisit, Placement, cost_of, days_of, is_lost};
use super::model::{Candidate, DepotModel, UnitModel};

/// Rounds of taking hires back that would not be lost although work was to be done during them.
const NARROWINGS: u32 = 8;
/// Hires that are tried to be kept, one at a time.
const KEPT_MAX: usize = 6;
/// Threatened hires of which every set is tried.
const TRIED_TOGETHER_MAX: usize = 3;
/// Jobs of which each is tried later to give up one hire.
const DELAYED_MAX: usize = 4;

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
        if threatened.len() <= TRIED_TOGETHER_MAX {
            let sets = (0..1usize << threatened.len()).map(|set| {
                let chosen = threatened.iter().enumerate().filter(|(bit, _)| set >> bit & 1 == 1);
                give_up(&chosen.map(|(_, &hire)| hire).collect::<Vec<_>>())
            });
            let placed = sets.filter_map(|set| self.place_giving_up(unit, set)).map(|(placement, _)| placement);
            return placed.min_by_key(|placement| placement.cost).filter(|best| best.cost.overdue <= overdue_max);
        }
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

    /// The best place found when exactly the flagged hires may be given up, and which of them were.
    fn place_giving_up(&mut self, unit: usize, mut given_up: Vec<bool>) -> Option<(Placement, Vec<bool>)> {
        let wanted = &self.model.units[unit];
        let mut best: Option<(Placement, Vec<bool>)> = None;
        let mut consider = |found: (Placement, Vec<bool>)| {
            if best.as_ref().is_none_or(|(known, _)| found.0.cost < known.cost) {
                best = Some(found);
            }
        };
        for _ in 0..NARROWINGS {
            let Some((placement, lost)) = self.place_freely(unit, &given_up, None) else { break };
            if !visits_away(wanted, &placement.visits, &lost) {
                consider((placement, lost));
                break;
            }
            // A visit stands inside a hire that then goes ahead after all. Either it is not given up, or it is, by what
            // would have saved it being done later.
            for (index, hire) in wanted.hires.iter().enumerate() {
                if lost[index] || !placement.visits.iter().any(|visit| hire.covers(visit.day)) {
                    continue;
                }
                let saving = (0..wanted.jobs.len()).filter(|&job| wanted.jobs[job].threatens(hire));
                for job in saving.take(DELAYED_MAX) {
                    let delayed = self.place_freely(unit, &given_up, Some((job, hire.out)));
                    if let Some(found) =
                        delayed.filter(|(placement, lost)| !visits_away(wanted, &placement.visits, lost))
                    {
                        consider(found);
                    }
                }
                given_up[index] = false;
            }
        }
        best
    }

    /// The best days when the flagged hires are taken to be given up and one job is done no sooner than a day, and
    /// which hires these days lose. They may lie inside a hire that is not lost.
    fn place_freely(
        &mut self,
        unit: usize,
        given_up: &[bool],
        delayed: Option<(usize, i32)>,
    ) -> Option<(Placement, Vec<bool>)> {
        let model = self.model;
        let wanted = &model.units[unit];
        let open = open_days(model, wanted, given_up, delayed)?;
        let visits = self.visits_within(unit, &Days::Listed(&open))?;
        let days = days_of(model, wanted, &visits);
        let lost = wanted.hires.iter().map(|hire| is_lost(wanted, hire, &days)).collect();
        Some((Placement { cost: cost_of(model, wanted, &visits), visits }, lost))
    }
}

fn visits_away(unit: &UnitModel, visits: &[PlacedVisit], lost: &[bool]) -> bool {
    let kept = unit.hires.iter().zip(lost).filter(|(_, lost)| !**lost);
    kept.into_iter().any(|(hire, _)| visits.iter().any(|visit| hire.covers(visit.day)))
}

/// The days each chunk may use when the flagged hires may be given up; none if some job can then
/// neither be done nor left out. One job may be held back until a day.
fn open_days(
    model: &DepotModel,
    unit: &UnitModel,
    given_up: &[bool],
    delayed: Option<(usize, i32)>,
) -> Option<Vec<OpenDays>> {
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
            let from = delayed.filter(|&(late, _)| late == range.start + bit).map_or(0, |(_, day)| day);
            for day in job.floor.max(from)..until.min(model.horizon) {
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
