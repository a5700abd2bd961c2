//! Room for a unit that is late, loses a hire or is done too early although it need not be.
//!
//! Owns: eviction chains: the unit takes the place of another, which takes the place of a third, and so on, until the
//! last one finds a free place as good as the one it gave up. Refuses: any chain that leaves an evicted unit worse off
//! in these three levels.

use super::board::{Board, Reach};
use super::insertion::Bound;

/// Longest chain of evictions.
const DEPTH_MAX: u32 = 3;
/// Subset programs per unit and round.
const RUNS_PER_UNIT: u64 = 4_000;
const ROUNDS: u32 = 3;

/// Overdue, lost hire days, premature days.
type Service = (i64, i64, i64);

/// Runs chains for every unit worse than its bound, except those in `hopeless` (ascending).
pub(super) fn relieve(board: &mut Board<'_>, bounds: &[Bound], hopeless: &[usize]) {
    for _ in 0..ROUNDS {
        let mut stuck: Vec<usize> = (0..board.placed.len())
            .filter(|&unit| board.placed[unit].cost.service() > bounds[unit].cost.service())
            .filter(|unit| hopeless.binary_search(unit).is_err())
            .collect();
        stuck.sort_by_key(|&unit| (std::cmp::Reverse(board.placed[unit].cost), unit));
        let mut relieved = false;
        for unit in stuck {
            let was = board.take(unit);
            let target = bounds[unit].cost.service();
            let limit = board.runs + RUNS_PER_UNIT;
            let found =
                (1..=DEPTH_MAX).any(|depth| Chain { board, limit, path: vec![unit] }.place(unit, target, depth));
            if found {
                relieved = true;
            } else {
                board.put(unit, was);
            }
        }
        if !relieved {
            return;
        }
    }
}

struct Chain<'b, 'a> {
    board: &'b mut Board<'a>,
    /// Where the count of runs must stop.
    limit: u64,
    /// Units moved by the chain so far.
    path: Vec<usize>,
}

impl Chain<'_, '_> {
    /// Places a unit that is off the board at no more than `target`, evicting up to `depth` others
    /// in turn. On failure the board is as it was.
    fn place(&mut self, unit: usize, target: Service, depth: u32) -> bool {
        let reach = if target == (0, 0, 0) { Reach::Core } else { Reach::Anything };
        if let Some(placement) = self.board.best_place(unit, reach)
            && placement.cost.service() <= target
        {
            self.board.put(unit, placement);
            return true;
        }
        if depth == 0 {
            return false;
        }
        for victim in self.victims(unit) {
            if self.board.runs >= self.limit {
                return false;
            }
            let was = self.board.take(victim);
            if let Some(placement) = self.board.best_place(unit, reach)
                && placement.cost.service() <= target
            {
                let before = was.cost.service();
                self.board.put(unit, placement);
                self.path.push(victim);
                if self.place(victim, before, depth - 1) {
                    return true;
                }
                self.path.pop();
                self.board.take(unit);
            }
            self.board.put(victim, was);
        }
        false
    }

    /// Units whose removal frees minutes on the days of the jobs that have no room, easiest to
    /// place elsewhere first.
    fn victims(&self, unit: usize) -> Vec<usize> {
        let board = &*self.board;
        let days = board.crowded_days(unit);
        let mut victims: Vec<usize> =
            days.into_iter().flat_map(|day| board.by_day[day as usize].iter().copied()).collect();
        victims.sort_unstable();
        victims.dedup();
        victims.retain(|victim| !self.path.contains(victim));
        victims.sort_by_key(|&victim| (std::cmp::Reverse(board.model.units[victim].slack), victim));
        victims
    }
}
