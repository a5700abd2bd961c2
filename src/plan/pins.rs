//! Work that must stay on its day: which pins can be kept, and the room held for them.
//!
//! Owns: the choice of pins that are broken (one alone impossible, or too many for one day) and the staffing of pinned
//! visits before anything else is placed. Refuses: to move a pin: a broken one is reported and its items are planned
//! freely.

use std::collections::BTreeSet;

use super::board::{Board, PlacedVisit, Placement, Reach, cost_of};
use super::instance::{Instance, SkillSet};
use super::model::{DepotModel, UnitModel};

/// Search steps for the pinned visits of one day.
const STEPS_MAX: u32 = 20_000;

/// Pins of one depot after the impossible ones have been taken out of its model.
pub(super) struct KeptPins {
    /// A placement of the pinned jobs alone, per unit that has any.
    pub held: Vec<(usize, Placement)>,
    /// Items (indices in the instance) planned as if not pinned.
    pub broken: BTreeSet<usize>,
}

/// Takes pins that cannot be kept out of the model and finds room for the others.
pub(super) fn keep_pins(instance: &Instance, model: &mut DepotModel) -> KeptPins {
    let mut broken = BTreeSet::new();
    let pinned: Vec<usize> =
        (0..model.units.len()).filter(|&unit| model.units[unit].jobs.iter().any(|job| job.pin.is_some())).collect();
    for &unit in &pinned {
        while Board::new(model).best_place(unit, Reach::Anything).is_none() {
            let Some(last) = pin_days(&model.units[unit]).into_iter().next_back() else {
                break;
            };
            break_pin(instance, model, unit, last, &mut broken);
        }
    }
    let mut visits: Vec<Vec<PlacedVisit>> = vec![Vec::new(); model.units.len()];
    let mut days: BTreeSet<i32> = BTreeSet::new();
    for &unit in &pinned {
        days.extend(pin_days(&model.units[unit]));
    }
    for day in days {
        let mut kept: Vec<usize> = Vec::new();
        let mut staffed = Vec::new();
        for &unit in &pinned {
            if !pin_days(&model.units[unit]).contains(&day) {
                continue;
            }
            kept.push(unit);
            match staff_day(model, &kept, day) {
                Some(visits) => staffed = visits,
                None => {
                    kept.pop();
                    break_pin(instance, model, unit, day, &mut broken);
                }
            }
        }
        for (unit, visit) in kept.into_iter().zip(staffed) {
            visits[unit].push(visit);
        }
    }
    let held = pinned
        .into_iter()
        .map(|unit| (unit, std::mem::take(&mut visits[unit])))
        .filter(|(_, visits)| !visits.is_empty())
        .map(|(unit, visits)| {
            let cost = cost_of(model, &model.units[unit], &visits);
            (unit, Placement { cost, visits })
        })
        .collect();
    KeptPins { held, broken }
}

fn pin_days(unit: &UnitModel) -> BTreeSet<i32> {
    unit.jobs.iter().filter_map(|job| job.pin).collect()
}

fn break_pin(instance: &Instance, model: &mut DepotModel, unit: usize, day: i32, broken: &mut BTreeSet<usize>) {
    let index = model.units[unit].unit;
    let items = instance.units[index].items.iter();
    broken.extend(items.filter(|&&item| instance.items[item].pin == Some(day)));
    let rebuilt =
        model.unit(instance, index, |item| if broken.contains(&item) { None } else { instance.items[item].pin });
    model.units[unit] = rebuilt;
}

/// A set-up (no job) or a job, to be given to a person.
struct Piece {
    visit: usize,
    job: Option<usize>,
    skills: SkillSet,
    minutes: i32,
    able: usize,
}

/// Staffs the pinned visits of `units` on one day together, one visit per unit in the order given.
fn staff_day(model: &DepotModel, units: &[usize], day: i32) -> Option<Vec<PlacedVisit>> {
    let row = model.full_day(day);
    let able = |skills: SkillSet, minutes: i32| {
        let people = model.people.iter().zip(row);
        people.filter(|(person, full)| **full >= minutes && person.skills.covers(skills)).count()
    };
    let mut pieces = Vec::new();
    for (visit, &unit) in units.iter().enumerate() {
        let (skills, minutes) = (model.setup_skill, model.setup_minutes);
        pieces.push(Piece { visit, job: None, skills, minutes, able: able(skills, minutes) });
        for (index, job) in model.units[unit].jobs.iter().enumerate() {
            if job.pin == Some(day) {
                let (skills, minutes) = (job.skills, job.minutes);
                pieces.push(Piece { visit, job: Some(index), skills, minutes, able: able(skills, minutes) });
            }
        }
    }
    pieces.sort_by_key(|piece| (piece.able, -piece.minutes, piece.visit, piece.job));
    let mut free = row.to_vec();
    let mut people = vec![0; pieces.len()];
    let mut steps = STEPS_MAX;
    if !hand_out(model, &pieces, &mut people, 0, &mut free, &mut steps) {
        return None;
    }
    let mut visits = vec![PlacedVisit { day, setup: 0, work: Vec::new() }; units.len()];
    for (piece, person) in pieces.iter().zip(people) {
        match piece.job {
            None => visits[piece.visit].setup = person,
            Some(job) => visits[piece.visit].work.push((job, person)),
        }
    }
    Some(visits)
}

fn hand_out(
    model: &DepotModel,
    pieces: &[Piece],
    people: &mut [usize],
    next: usize,
    free: &mut [i32],
    steps: &mut u32,
) -> bool {
    let Some(piece) = pieces.get(next) else {
        return true;
    };
    for person in 0..free.len() {
        if free[person] < piece.minutes || !model.people[person].skills.covers(piece.skills) {
            continue;
        }
        if *steps == 0 {
            return false;
        }
        *steps -= 1;
        free[person] -= piece.minutes;
        people[next] = person;
        if hand_out(model, pieces, people, next + 1, free, steps) {
            return true;
        }
        free[person] += piece.minutes;
    }
    false
}
