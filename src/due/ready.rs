//! Whether a unit may go out, and until when.
//!
//! Owns: what blocks a unit. Refuses: anything but the strict reading; what is not known is not in date.

use super::item::{Item, State};
use crate::model::{Day, Hold, UnitCode};

/// A reason a unit may not go out.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// It is kept off rent by somebody's decision.
    Held(Hold),
    /// A fact is missing.
    Undated(Item),
    /// Something is past its last day before the unit goes out.
    Overdue(Item),
    /// Something falls due while the unit is away.
    RunsOut(Item),
    /// It left the fleet.
    Retired {
        /// When.
        on: Day,
    },
}

/// The answer for one unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Readiness {
    /// Which unit.
    pub unit: UnitCode,
    /// Last day through which everything is in date; none where something blocks it on the first day already.
    pub ready_through: Option<Day>,
    /// What stands in the way.
    pub blocks: Vec<Block>,
}

impl Readiness {
    /// True where the unit may go out.
    #[must_use]
    pub fn ready(&self) -> bool {
        self.blocks.is_empty()
    }
}

/// Days a unit is wanted away, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Away {
    /// Day it goes out.
    pub out: Day,
    /// Day it comes back.
    pub back: Day,
}

/// Judges a unit by all its items and the holds on it. An item of any meaning of late blocks it: being due for a
/// check is no reason to stay, being past it is.
#[must_use]
pub fn readiness(unit: &UnitCode, retired_on: Option<Day>, items: &[Item], holds: &[Hold], away: Away) -> Readiness {
    let mut blocks = Vec::new();
    if let Some(on) = retired_on {
        blocks.push(Block::Retired { on });
    }
    blocks.extend(holds.iter().filter(|hold| stands(hold, away.out)).cloned().map(Block::Held));
    let mut first_end: Option<Day> = None;
    for item in items {
        match (item.state(away.out), item.due_on) {
            (State::Undated, _) | (_, None) => blocks.push(Block::Undated(item.clone())),
            (State::Overdue, _) => blocks.push(Block::Overdue(item.clone())),
            (_, Some(due_on)) => {
                first_end = Some(first_end.map_or(due_on, |end| end.min(due_on)));
                if due_on < away.back {
                    blocks.push(Block::RunsOut(item.clone()));
                }
            }
        }
    }
    let at_once = blocks.iter().any(|block| !matches!(block, Block::RunsOut(_)));
    Readiness { unit: unit.clone(), ready_through: first_end.filter(|_| !at_once), blocks }
}

/// True where a hold keeps its unit off rent on `day`. One placed for a later day stands from now.
#[must_use]
pub fn stands(hold: &Hold, day: Day) -> bool {
    hold.lifted_on.is_none_or(|lifted| lifted > day)
}
