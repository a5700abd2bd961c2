//! Two units trade places when both together are better off.
//!
//! Owns: the pairwise exchange and who is worth trying: units above their bound against units on the days they would
//! rather have. Refuses: any pair that is not strictly cheaper.

use super::board::{Board, Reach};
use super::insertion::Bound;

/// Which shortfall against the bound is attacked.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Aim {
    /// Overdue, lost hire days, premature days.
    Service,
    /// Moves and visits.
    Visits,
}

/// Tries exchanges for every unit short of its bound in `aim`, spending at most `runs` subset programs.
pub(super) fn exchange(board: &mut Board<'_>, bounds: &[Bound], aim: Aim, runs: u64) {
    let limit = board.runs + runs;
    let mut short: Vec<usize> =
        (0..board.placed.len()).filter(|&unit| is_short(&board.placed[unit].cost, &bounds[unit].cost, aim)).collect();
    short.sort_by_key(|&unit| (std::cmp::Reverse(board.placed[unit].cost), unit));
    let share = runs / (short.len() as u64).max(1);
    for unit in short {
        let until = limit.min(board.runs + share.max(64));
        for other in neighbours(board, bounds, unit) {
            if !is_short(&board.placed[unit].cost, &bounds[unit].cost, aim) || board.runs >= until {
                break;
            }
            trade(board, unit, other);
        }
    }
}

fn is_short(cost: &super::cost::Cost, bound: &super::cost::Cost, aim: Aim) -> bool {
    match aim {
        Aim::Service => cost.service() > bound.service(),
        Aim::Visits => (cost.moved, cost.visits) > (bound.moved, bound.visits),
    }
}

/// Units on the days the unit would have to itself, then on all its crowded days, latest first.
fn neighbours(board: &mut Board<'_>, bounds: &[Bound], unit: usize) -> Vec<usize> {
    let was = board.take(unit);
    let mut days = bounds[unit].days.clone();
    days.extend(board.crowded_days(unit).into_iter().rev());
    board.put(unit, was);
    let mut seen = vec![false; board.placed.len()];
    seen[unit] = true;
    let mut found = Vec::new();
    for day in days {
        for &other in &board.by_day[day as usize] {
            if !std::mem::replace(&mut seen[other], true) {
                found.push(other);
            }
        }
    }
    found
}

fn trade(board: &mut Board<'_>, unit: usize, other: usize) {
    let (was, other_was) = (board.take(unit), board.take(other));
    let before = was.cost + other_was.cost;
    if let Some(first) = board.best_place(unit, Reach::Overdue(was.cost.overdue))
        && first.cost < was.cost
    {
        let first_cost = first.cost;
        board.put(unit, first);
        if let Some(second) = board.best_place(other, Reach::Overdue(before.overdue - first_cost.overdue))
            && first_cost + second.cost < before
        {
            board.put(other, second);
            return;
        }
        board.take(unit);
    }
    board.put(other, other_was);
    board.put(unit, was);
}
