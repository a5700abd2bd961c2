//! Who is told what this week.
//!
//! Owns: what a digest says and in which order, the week it is for, when it falls due, and what happens to a message
//! from queued to sent. Refuses: wording and layout (`show`), the mail server (`post`), storage (`book`).

mod content;
mod facts;
mod remedy;
mod week;

pub use content::{Changes, Counts, DepotDigest, Digest, Group, Held, HORIZON_DAYS, Line};
pub use facts::{Crossing, DepotFacts, Facts, HoldLine, ItemKey, Known, Previous, Undelivered};
pub use remedy::closing_command;
pub use week::{Week, WeekError};
