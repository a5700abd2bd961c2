//! The objective as a tuple compared level by level.
//!
//! Owns: addition and comparison. Refuses: deciding what a level counts; that is done where costs are made, in `model`
//! for one job on one day and in `objective` for a whole plan.

use std::ops::{Add, AddAssign};

/// One unit's share of the objective. Field order is the order of importance, and comparison relies on it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Cost {
    /// Class weight times days overdue.
    pub overdue: i64,
    /// Days of lost hires.
    pub lost_days: i64,
    /// Days done before the first sensible day.
    pub premature: i64,
    /// Items on another day than in the earlier plan.
    pub moved: i32,
    /// Visits.
    pub visits: i32,
    /// Weighted days done before due.
    pub waste: i64,
}

impl Cost {
    /// Marks a combination that cannot be done. Far above any real cost, far below overflow.
    pub const IMPOSSIBLE: Cost =
        Cost { overdue: i64::MAX / 4, lost_days: 0, premature: 0, moved: 0, visits: 0, waste: 0 };

    /// Whether it stands for something that can be done.
    pub fn is_possible(&self) -> bool {
        self.overdue < Cost::IMPOSSIBLE.overdue
    }

    /// Everything but the waste.
    pub fn above_waste(self) -> Cost {
        Cost { waste: 0, ..self }
    }

    /// The levels that concern people outside the workshop: overdue, lost hire days, premature days.
    pub fn service(&self) -> (i64, i64, i64) {
        (self.overdue, self.lost_days, self.premature)
    }
}

impl Add for Cost {
    type Output = Cost;

    fn add(self, other: Cost) -> Cost {
        Cost {
            overdue: self.overdue + other.overdue,
            lost_days: self.lost_days + other.lost_days,
            premature: self.premature + other.premature,
            moved: self.moved + other.moved,
            visits: self.visits + other.visits,
            waste: self.waste + other.waste,
        }
    }
}

impl AddAssign for Cost {
    fn add_assign(&mut self, other: Cost) {
        *self = *self + other;
    }
}

impl std::iter::Sum for Cost {
    fn sum<I: Iterator<Item = Cost>>(costs: I) -> Cost {
        costs.fold(Cost::default(), Add::add)
    }
}
