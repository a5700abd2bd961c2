//! Due items: facts and rules in, what is to be done by when out, each with its reason.
//!
//! Owns: due dates, states and readiness to rent. Refuses: storage, clocks and knowing the trade's figures.

pub mod item;

pub use crate::rules::{Authority, ItemKind, Late};
pub use item::{Item, State};
