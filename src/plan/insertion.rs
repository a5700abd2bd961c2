//! The first plan of a depot: every unit in turn gets the best place left.
//!
//! Owns: each unit's bound (what it would cost with the depot to itself) and the order of insertion. Refuses: to move
//! a unit once placed.

use super::board::{Board, Placement, Reach};
use super::cost::Cost;
use super::model::DepotModel;

/// A unit's cost and days with the depot to itself: no plan can do better for it.
pub(super) struct Bound {
    pub cost: Cost,
    pub days: Vec<i32>,
}

/// The bound of every unit, given the pins.
pub(super) fn bounds(model: &DepotModel) -> Vec<Bound> {
    let mut board = Board::new(model);
    (0..model.units.len())
        .map(|unit| {
            let placement = board.best_place(unit, Reach::Anything);
            placement.map_or_else(
                // A pin that fits only because its day was staffed as a whole.
                || Bound { cost: Cost::default(), days: Vec::new() },
                |placement| Bound {
                    cost: placement.cost,
                    days: placement.visits.iter().map(|visit| visit.day).collect(),
                },
            )
        })
        .collect()
}

/// Places every unit: pins first, then those an earlier plan can be kept for, then by how few days
/// they have. Units that find no core place come last and take what is left.
pub(super) fn insert_all(board: &mut Board<'_>, bounds: &[Bound], held: Vec<(usize, Placement)>) {
    let pinned: Vec<usize> = held.iter().map(|&(unit, _)| unit).collect();
    for (unit, placement) in held {
        board.put(unit, placement);
    }
    let model = board.model;
    let mut order: Vec<usize> = (0..model.units.len()).collect();
    order.sort_by_key(|&unit| {
        let jobs = &model.units[unit].jobs;
        let due = jobs.iter().map(|job| job.due).min().unwrap_or(model.horizon);
        let free = pinned.binary_search(&unit).is_err();
        (free, bounds[unit].cost.moved, model.units[unit].slack, due, unit)
    });
    let mut left = Vec::new();
    for unit in order {
        let held = board.take(unit);
        match board.best_place(unit, Reach::Core) {
            Some(placement) => board.put(unit, placement),
            None => {
                board.put(unit, held);
                left.push(unit);
            }
        }
    }
    // What costs most per day of delay chooses first.
    left.sort_by_key(|&unit| {
        let jobs = &model.units[unit].jobs;
        let due = jobs.iter().map(|job| job.due).min().unwrap_or(model.horizon);
        (bounds[unit].cost.service() != (0, 0, 0), due, unit)
    });
    for unit in left {
        let held = board.take(unit);
        let placement = board.best_place(unit, Reach::Anything).unwrap_or(held);
        board.put(unit, placement);
    }
}
