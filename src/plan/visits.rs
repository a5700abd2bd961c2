//! What the planner answers: the `rvlp-plan-1` records.
//!
//! Owns: the shape of the answer. Refuses: indices; ids are text so that a plan can be kept, compared and checked long
//! after the instance's indices are gone.

use serde::{Deserialize, Serialize};

use super::shortage::Shortage;

/// The value of `format` in a plan.
pub const PLAN_FORMAT: &str = "rvlp-plan-1";

/// Visits, and what they leave undone. Serialises as `rvlp-plan-1`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Plan {
    /// Always [`PLAN_FORMAT`].
    pub format: String,
    /// Visits in the order of depots, then day, then unit.
    pub visits: Vec<Visit>,
    /// Hires that cannot go ahead, in the instance's order.
    pub lost_bookings: Vec<String>,
    /// Mandatory items without a day, in the instance's order.
    pub unplaced: Vec<Unplaced>,
    /// Items whose pin could not be kept; planned as if not pinned. Left out of the JSON when empty.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub broken_pins: Vec<String>,
    /// Depots proven unable to be on time. Not part of the format.
    #[serde(skip)]
    pub shortages: Vec<Shortage>,
}

impl Plan {
    /// A plan that does nothing and claims nothing.
    pub fn empty() -> Self {
        Self {
            format: PLAN_FORMAT.to_owned(),
            visits: Vec::new(),
            lost_bookings: Vec::new(),
            unplaced: Vec::new(),
            broken_pins: Vec::new(),
            shortages: Vec::new(),
        }
    }
}

/// One unit in the workshop on one day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Visit {
    /// Unit id.
    pub unit: String,
    /// Day of the horizon.
    pub day: i32,
    /// Technician who sets up.
    pub setup_tech: String,
    /// What is done; never empty.
    pub work: Vec<Work>,
}

/// One item done in a visit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Work {
    /// Item id.
    pub item: String,
    /// Technician who does it.
    pub tech: String,
}

/// A mandatory item that has no day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unplaced {
    /// Item id.
    pub item: String,
    /// Why.
    pub reason: UnplacedReason,
}

/// Why a mandatory item has no day, in the order in which the reasons are tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum UnplacedReason {
    /// Nobody at the depot holds the item's skills, or the set-up skill.
    NoSkill,
    /// Skills exist, but on no day are the unit, the depot and long enough qualified people there together.
    NoGap,
    /// There are such days, and other work fills them.
    NoCapacity,
}
