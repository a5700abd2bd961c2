//! The journal: every fact that ever entered, in order, each sealed to the one before.
//!
//! Owns: what a change is and how entries are chained. Refuses: storage and meaning; the book applies changes.

mod change;
mod entry;
mod slice;

pub use change::{Change, Fact};
pub use entry::{Author, AuthorError, ChainBreak, Entry, Hash, HashError, Instant};
pub use slice::{Read, Subject, slice};
