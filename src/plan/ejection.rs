//! A tight depot brought on time by ejections.
//!
//! Owns: a pool of units that have no core place although they could have one. Each in turn pushes out whoever has
//! been hardest to push out least often; the ejected join the pool, and the plan is stirred in between. Refuses: any
//! placement off the core days while the pool is worked on, and a result that is dearer than what it started from.

use super::board::{Board, Placement, Reach};
use super::cost::Cost;
use super::dice::Dice;
use super::insertion::Bound;

/// Subset programs per unit of the depot before giving up.
const RUNS_PER_UNIT: u64 = 2_500;
/// Random re-placements after each ejection.
const STIRS: u32 = 12;
/// Pairs tried per ejection.
const PAIRS_MAX: usize = 200;
/// Most units re-placed together in a stir.
const STIRRED_MAX: u64 = 3;

/// Works the pool until it is empty or the effort is spent.
pub(super) fn eject(board: &mut Board<'_>, bounds: &[Bound], dice: &mut Dice) {
    let before: Cost = board.placed.iter().map(|placement| placement.cost).sum();
    let was = board.placed.clone();
    let is_late = |unit: usize| board.placed[unit].cost.service() != (0, 0, 0);
    let has_core = |unit: usize| board.model.units[unit].slack > 0 && bounds[unit].cost.service() == (0, 0, 0);
    let mut pool: Vec<usize> = (0..board.placed.len()).filter(|&unit| is_late(unit) && has_core(unit)).collect();
    for &unit in &pool {
        board.take(unit);
    }
    pool.sort_by_key(|&unit| (board.model.units[unit].slack, unit));
    let limit = board.runs + RUNS_PER_UNIT * board.placed.len() as u64;
    let mut tries = vec![0u32; board.placed.len()];
    let mut fewest = pool.len() + 1;
    let mut best = (board.placed.clone(), pool.clone());
    while let Some(unit) = pool.pop() {
        // An ejection that tries nobody costs something too, or the loop might not end.
        board.runs += 1;
        if let Some(placement) = board.best_place(unit, Reach::Core) {
            board.put(unit, placement);
        } else {
            tries[unit] += 1;
            let Some((victims, placement)) = cheapest_ejection(board, dice, &tries, unit) else {
                pool.insert(0, unit);
                stir(board, dice, unit);
                if board.runs >= limit {
                    break;
                }
                continue;
            };
            for &victim in &victims {
                board.take(victim);
            }
            board.put(unit, placement);
            pool.extend(victims);
            stir(board, dice, unit);
        }
        if pool.len() < fewest {
            fewest = pool.len();
            best = (board.placed.clone(), pool.clone());
        }
        if board.runs >= limit {
            break;
        }
    }
    let (placed, mut left) = best;
    restore(board, placed);
    left.sort_by_key(|&unit| (board.model.units[unit].slack, unit));
    for unit in left {
        let held = board.take(unit);
        let placement = board.best_place(unit, Reach::Anything).unwrap_or(held);
        board.put(unit, placement);
    }
    let after: Cost = board.placed.iter().map(|placement| placement.cost).sum();
    if after > before {
        restore(board, was);
    }
}

/// Who makes room for the unit: one other, or two on one day; those tried least often, ties by the dice.
fn cheapest_ejection(
    board: &mut Board<'_>,
    dice: &mut Dice,
    tries: &[u32],
    unit: usize,
) -> Option<(Vec<usize>, Placement)> {
    let days = board.crowded_days(unit);
    let mut others: Vec<usize> = days.iter().flat_map(|&day| board.by_day[day as usize].iter().copied()).collect();
    others.sort_unstable();
    others.dedup();
    dice.shuffle(&mut others);
    others.sort_by_key(|&other| tries[other]);
    for other in others {
        if let Some(placement) = place_without(board, unit, &[other]) {
            return Some((vec![other], placement));
        }
    }
    let mut pairs: Vec<[usize; 2]> = Vec::new();
    for &day in &days {
        let there = &board.by_day[day as usize];
        for (index, &one) in there.iter().enumerate() {
            pairs.extend(there[index + 1..].iter().map(|&other| [one, other]));
        }
    }
    dice.shuffle(&mut pairs);
    pairs.sort_by_key(|pair| pair.map(|other| tries[other]).iter().sum::<u32>());
    pairs.truncate(PAIRS_MAX);
    pairs.into_iter().find_map(|pair| Some((pair.to_vec(), place_without(board, unit, &pair)?)))
}

fn place_without(board: &mut Board<'_>, unit: usize, others: &[usize]) -> Option<Placement> {
    let was: Vec<Placement> = others.iter().map(|&other| board.take(other)).collect();
    let found = board.best_place(unit, Reach::Core);
    for (&other, placement) in others.iter().zip(was) {
        board.put(other, placement);
    }
    found
}

/// Re-places a few units around a random day of the unit, if all of them find a core place again.
fn stir(board: &mut Board<'_>, dice: &mut Dice, unit: usize) {
    let days: Vec<i32> = board.model.units[unit].core.iter().flatten().map(|candidate| candidate.day).collect();
    for _ in 0..STIRS {
        let Some(day) = dice.pick(&days) else {
            return;
        };
        let first = (day - 7).max(0) as usize;
        let last = (day as usize + 7).min(board.by_day.len() - 1);
        let mut near: Vec<usize> = board.by_day[first..=last].iter().flatten().copied().collect();
        near.sort_unstable();
        near.dedup();
        dice.shuffle(&mut near);
        near.truncate(1 + dice.below(STIRRED_MAX));
        near.retain(|&other| board.placed[other].cost.service() == (0, 0, 0));
        let was: Vec<(usize, Placement)> = near.iter().map(|&other| (other, board.take(other))).collect();
        let mut back = 0;
        for &other in &near {
            let Some(placement) = board.best_place(other, Reach::Core) else {
                break;
            };
            board.put(other, placement);
            back += 1;
        }
        if back < near.len() {
            for &other in &near[..back] {
                board.take(other);
            }
            for (other, placement) in was {
                board.put(other, placement);
            }
        }
    }
}

/// Puts every unit where it was; one whose placement is empty stays off the board.
fn restore(board: &mut Board<'_>, placed: Vec<Placement>) {
    for unit in 0..placed.len() {
        board.take(unit);
    }
    for (unit, placement) in placed.into_iter().enumerate() {
        board.put(unit, placement);
    }
}
