//! What a column of a fleet folder's file is.
//!
//! Owns: a column's name, whether it must be there, and the unit its numbers are in. Refuses: cells.

/// Whether a column must be there and filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// The column must be there and every cell of it filled.
    Required,
    /// The column may be left out and its cells may be blank.
    Optional,
    /// The column or another one in its place must be there; each row fills one of them.
    OneOf,
}

/// One column of one file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// Its name in the header.
    pub name: &'static str,
    /// Whether it must be there.
    pub need: Need,
    /// What its numbers are counted in; blank where its cells are no numbers.
    pub unit: &'static str,
}

impl Column {
    pub(super) const fn required(name: &'static str) -> Self {
        Self { name, need: Need::Required, unit: "" }
    }

    pub(super) const fn optional(name: &'static str) -> Self {
        Self { name, need: Need::Optional, unit: "" }
    }

    pub(super) const fn one_of(name: &'static str) -> Self {
        Self { name, need: Need::OneOf, unit: "" }
    }

    pub(super) const fn counted_in(mut self, unit: &'static str) -> Self {
        self.unit = unit;
        self
    }
}
