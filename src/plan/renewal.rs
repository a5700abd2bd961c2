//! Ruin and recreate: a unit above its bound and a few that share its days are placed afresh.
//!
//! Owns: the choice of what is taken off and the order in which it comes back. A result that is not dearer is
//! accepted, which lets the plan drift sideways out of dead ends. Refuses: clocks; it counts rounds and subset
//! programs.

use super::board::{Board, Placement, Reach};
use super::cost::Cost;
use super::dice::Dice;
use super::insertion::Bound;

/// Most neighbours taken off together with a unit.
const NEIGHBOURS_MAX: u64 = 5;
/// Subset programs allowed per round, on average: placing at any price costs many. A small depot is granted more.
const RUNS_PER_ROUND: u64 = 20;
const RUNS_PER_ROUND_UNITS: u64 = 1_500;
/// Units up to which there are rounds enough to make waste worse first and better after.
const SLACK_UNITS_MAX: usize = 300;
/// A round per unit of the depot goes over each unit above its bound no more often than this.
const ROUNDS_PER_ABOVE: u64 = 6;
/// Rounds per unit after which a depot that has only got less wasteful is left alone, and units' worth of rounds
/// granted on top, which matter in a small depot only.
const IDLE_MAX: u64 = 4;
const IDLE_UNITS: u64 = 16_000;

/// Runs `rounds` rounds per unit of the depot.
pub(super) fn renew(board: &mut Board<'_>, bounds: &[Bound], dice: &mut Dice, rounds: u32) {
    let units = board.placed.len() as u64;
    let limit = board.runs + u64::from(rounds) * (RUNS_PER_ROUND * units + RUNS_PER_ROUND_UNITS);
    let mut best = above_waste(board);
    let mut idle = 0;
    for done in 0..rounds {
        let above: Vec<usize> = (0..board.placed.len()).filter(|&unit| is_above(board, bounds, unit)).collect();
        let stuck: Vec<usize> = above
            .iter()
            .copied()
            .filter(|&unit| board.placed[unit].cost.above_waste() > bounds[unit].cost.above_waste())
            .collect();
        if above.is_empty() {
            return;
        }
        let slack = waste_slack(board, bounds, rounds, done);
        for round in 0..units.min(ROUNDS_PER_ABOVE * above.len() as u64) {
            if board.runs >= limit {
                return;
            }
            let list = if round % 2 == 0 && !stuck.is_empty() { &stuck } else { &above };
            if let Some(unit) = dice.pick(list) {
                renew_around(board, bounds, dice, unit, slack);
            }
        }
        let now = above_waste(board);
        idle = if now < best || slack > 0 { 0 } else { idle + 1 };
        best = best.min(now);
        if idle > IDLE_MAX + IDLE_UNITS / units {
            return;
        }
    }
}

/// The depot's cost with the waste left out.
fn above_waste(board: &Board<'_>) -> Cost {
    let cost: Cost = board.placed.iter().map(|placement| placement.cost).sum();
    cost.above_waste()
}

/// Waste that a round may add: in the first half of the rounds a part of a unit's average excess, less and less of it.
fn waste_slack(board: &Board<'_>, bounds: &[Bound], rounds: u32, done: u32) -> i64 {
    if bounds.len() > SLACK_UNITS_MAX {
        return 0;
    }
    let waste: i64 = board.placed.iter().map(|placement| placement.cost.waste).sum();
    let bound: i64 = bounds.iter().map(|bound| bound.cost.waste).sum();
    let left = i64::from((rounds / 2).saturating_sub(done));
    let excess = (waste - bound).max(0) / (bounds.len() as i64).max(1);
    excess * left / i64::from(rounds.max(1))
}

/// Whether the unit may be better off elsewhere. Of a unit in an earlier plan, less waste alone would cost a move.
fn is_above(board: &Board<'_>, bounds: &[Bound], unit: usize) -> bool {
    let (cost, bound) = (board.placed[unit].cost, bounds[unit].cost);
    if board.model.units[unit].has_baseline { cost.above_waste() > bound.above_waste() } else { cost > bound }
}

fn renew_around(board: &mut Board<'_>, bounds: &[Bound], dice: &mut Dice, unit: usize, slack: i64) {
    if !is_above(board, bounds, unit) {
        return;
    }
    let mut group = vec![unit];
    let wanted = 1 + dice.below(NEIGHBOURS_MAX);
    add_neighbours(board, bounds, dice, &mut group, wanted);
    if group.len() == 1 {
        return;
    }
    let before: Cost = group.iter().map(|&member| board.placed[member].cost).sum();
    let most = Cost { waste: before.waste + slack, ..before };
    let was: Vec<(usize, Placement)> = group.iter().map(|&member| (member, board.take(member))).collect();
    // Usually the unit chooses first; sometimes nobody is favoured.
    let shuffled_from = usize::from(dice.below(4) != 0);
    dice.shuffle(&mut group[shuffled_from..]);
    let mut after = Cost::default();
    // What the members still off the board cost at least.
    let mut to_come: i64 = group.iter().map(|&member| bounds[member].cost.overdue).sum();
    let mut back = 0;
    for &member in &group {
        to_come -= bounds[member].cost.overdue;
        let reach = Reach::Overdue(before.overdue - after.overdue - to_come);
        let Some(placement) = board.best_place(member, reach) else {
            break;
        };
        after += placement.cost;
        board.put(member, placement);
        back += 1;
        if after > most {
            break;
        }
    }
    if back < group.len() || after > most {
        for &member in &group[..back] {
            board.take(member);
        }
        for (member, placement) in was {
            board.put(member, placement);
        }
    }
}

/// Adds units visited on a day the unit would like, or, when that day is thinly used, near it.
fn add_neighbours(board: &Board<'_>, bounds: &[Bound], dice: &mut Dice, group: &mut Vec<usize>, wanted: usize) {
    let unit = group[0];
    let liked = &bounds[unit].days;
    let missed: Vec<i32> =
        liked.iter().copied().filter(|&day| board.placed[unit].visits.iter().all(|visit| visit.day != day)).collect();
    let Some(centre) = dice.pick(if missed.is_empty() { liked } else { &missed }) else {
        return;
    };
    // Mostly close by; where people come once a week, the next days of work are further off.
    let reach = 1 + if dice.below(3) == 0 { dice.below(40) } else { dice.below(10) } as i32;
    let first = (centre - reach).max(0);
    let last = (centre + reach / 2).min(board.model.horizon - 1);
    let mut near: Vec<usize> = board.by_day[centre as usize].iter().copied().filter(|&other| other != unit).collect();
    dice.shuffle(&mut near);
    near.truncate(wanted);
    let mut wider: Vec<usize> = (first..=last).flat_map(|day| board.by_day[day as usize].iter().copied()).collect();
    dice.shuffle(&mut wider);
    for other in near.into_iter().chain(wider) {
        if group.len() > wanted {
            return;
        }
        if !group.contains(&other) {
            group.push(other);
        }
    }
}
