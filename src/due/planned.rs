//! The day in the workshop that was promised for each piece of work.
//!
//! Owns: looking it up by item. Refuses: planning, and promises that work done since has overtaken.

use super::item::Item;
use crate::model::{Day, PartCode, RuleId, UnitCode};
use std::collections::BTreeMap;

/// Promised days by unit, part (none: the whole unit) and rule.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PlannedDays(BTreeMap<(UnitCode, Option<PartCode>, RuleId), Day>);

impl PlannedDays {
    /// The day promised for an item.
    #[must_use]
    pub fn of(&self, item: &Item) -> Option<Day> {
        if self.0.is_empty() {
            return None;
        }
        self.0.get(&(item.unit.clone()?, item.part.clone(), item.rule.clone())).copied()
    }
}

impl FromIterator<((UnitCode, Option<PartCode>, RuleId), Day)> for PlannedDays {
    fn from_iter<I: IntoIterator<Item = ((UnitCode, Option<PartCode>, RuleId), Day)>>(days: I) -> Self {
        Self(days.into_iter().collect())
    }
}
