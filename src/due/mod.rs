//! Due items: facts and rules in, what is to be done by when out, each with its reason.
//!
//! Owns: due dates, states and readiness to rent. Refuses: storage, clocks and knowing the trade's figures.

mod assess;
mod item;
mod planned;
mod ready;
mod subject;

pub use crate::rules::{Authority, ItemKind, Late};
pub use assess::assess;
pub use item::{Basis, Item, State};
pub use planned::PlannedDays;
pub use ready::{Away, Block, Readiness, readiness, stands};
pub use subject::{EventFact, MarkFact, Outcome, Subject};
