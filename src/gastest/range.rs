//! The range in which a formula holds.
//!
//! Owns: refusing inputs outside it. Refuses: extrapolating.

use crate::model::rounded;

/// An input outside the range of the formula it was meant for.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{what} is {} {unit}; the formula holds from {least} to {most} {unit}", rounded(*.value, 4))]
pub struct OutOfRange {
    /// Which input.
    pub what: &'static str,
    /// Its value.
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
    /// The least it may be.
    pub least: f64,
    /// The most it may be.
    pub most: f64,
}

/// One input of a formula and the range it may have.
#[derive(Debug, Clone, Copy)]
pub(super) struct Input {
    pub what: &'static str,
    pub unit: &'static str,
    pub least: f64,
    pub most: f64,
}

impl Input {
    /// The value, if it lies in the range; NaN lies in none.
    pub(super) fn check(self, value: f64) -> Result<f64, OutOfRange> {
        let Self { what, unit, least, most } = self;
        if (least..=most).contains(&value) { Ok(value) } else { Err(OutOfRange { what, value, unit, least, most }) }
    }
}
