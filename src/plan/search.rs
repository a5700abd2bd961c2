//! One depot from question to visits: the order in which the methods are applied.
//!
//! Owns: the stages and when more effort is spent. Refuses: looking at any other depot, or at its own place among
//! them; depots share nothing, so this is also the unit of parallel work.

use std::collections::BTreeSet;

use super::Effort;
use super::board::{Board, Placement};
use super::chains::relieve;
use super::cost::Cost;
use super::dice::Dice;
use super::ejection::eject;
use super::exchange::{Aim, exchange};
use super::insertion::{Bound, bounds, insert_all};
use super::instance::Instance;
use super::model::DepotModel;
use super::pins::keep_pins;
use super::renewal::renew;
use super::shortage::{Shortage, find_cut};

/// Subset programs per unit of the depot for one pass of exchanges.
const EXCHANGE_RUNS_PER_UNIT: u64 = 200;

/// A planned depot, in its own indices.
pub(super) struct DepotPlan {
    pub model: DepotModel,
    /// One per unit of the model.
    pub placed: Vec<Placement>,
    /// Items (indices in the instance) whose pin could not be kept.
    pub broken: BTreeSet<usize>,
    pub shortage: Option<Shortage>,
}

/// Plans one depot.
pub(super) fn plan_depot(instance: &Instance, depot: usize, effort: Effort) -> DepotPlan {
    let mut model = DepotModel::new(instance, depot, effort.buffer_days);
    let pins = keep_pins(instance, &mut model);
    let bounds = bounds(&model);
    let bound: Cost = bounds.iter().map(|bound| bound.cost).sum();
    let mut board = Board::new(&model);
    insert_all(&mut board, &bounds, pins.held);
    let mut shortage = None;
    if total(&board).service() > bound.service() {
        let mut hopeless = Vec::new();
        if let Some(cut) = find_cut(&model) {
            // Chains shuffle work among days; they cannot make up for a whole missing day.
            let day = model.full.iter().copied().max().unwrap_or(0);
            if cut.minutes_short > i64::from(day) {
                hopeless.clone_from(&cut.units);
            }
            shortage = Some(cut.describe(instance, depot));
        }
        relieve(&mut board, &bounds, &hopeless);
    }
    let mut dice = Dice::new();
    if shortage.is_none() && total(&board).service() > bound.service() {
        eject(&mut board, &bounds, &mut dice);
    }
    let runs = EXCHANGE_RUNS_PER_UNIT * board.placed.len() as u64;
    exchange(&mut board, &bounds, Aim::Service, runs);
    exchange(&mut board, &bounds, Aim::Visits, runs);
    renew(&mut board, &bounds, &mut dice, effort.rounds_per_unit);
    if is_far(&board, &bounds) {
        relieve_again(&mut board, &bounds, shortage.is_some());
        renew(&mut board, &bounds, &mut dice, effort.rounds_when_far.saturating_sub(effort.rounds_per_unit));
    }
    let placed = board.placed;
    DepotPlan { model, placed, broken: pins.broken, shortage }
}

/// Renewal moves things enough for chains to be worth a second try, unless minutes are lacking.
fn relieve_again(board: &mut Board<'_>, bounds: &[Bound], short: bool) {
    if !short {
        relieve(board, bounds, &[]);
    }
}

fn total(board: &Board<'_>) -> Cost {
    board.placed.iter().map(|placement| placement.cost).sum()
}

/// Whether the plan is worse than the bound in service, or has over half a percent more visits.
fn is_far(board: &Board<'_>, bounds: &[Bound]) -> bool {
    let cost = total(board);
    let bound: Cost = bounds.iter().map(|bound| bound.cost).sum();
    cost.service() > bound.service() || (cost.visits - bound.visits) * 200 > bound.visits
}
