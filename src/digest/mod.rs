//! Who is told what this week.
//!
//! Owns: what a digest says and in which order, the week it is for, when it falls due, and what happens to a message
//! from queued to sent. Refuses: wording and layout (`show`), the mail server (`post`), storage (`book`).

mod content;
mod facts;
mod field;
mod outbox;
mod remedy;
mod schedule;
mod week;

pub use content::{Changes, Counts, DepotDigest, Digest, Group, HORIZON_DAYS, Held, Line, Promise};
pub use facts::{Crossing, DepotFacts, Facts, HoldLine, ItemKey, JournalHead, Known, Previous, Undelivered};
pub use field::{Field, FieldError};
pub use outbox::{OutboxError, Outlook, Parcel, Progress};
pub use remedy::closing_command;
pub use schedule::{DEFAULT_SCHEDULE, Schedule, ScheduleError, Slot, latest_slot};
pub use week::{Week, WeekError};
