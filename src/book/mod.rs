//! The book: one SQLite file that holds the journal and the tables projected from it.
//!
//! Owns: the file, the one write path, and every query. Refuses: deciding dates, verdicts or layout.

mod admit;
mod admit_found;
mod append;
mod apply;
mod backup;
mod columns;
mod doctor;
mod draft;
mod due_list;
mod error;
mod file;
mod fleet;
mod gate;
mod gather;
mod judge;
mod kept;
mod outbox;
mod overlap;
mod record;
mod refusal;
mod replay;
mod rows;
mod settle;
mod verify;
mod void;

pub use append::Head;
pub use backup::Restored;
pub use doctor::{Finding, Grade, Rebuilt, examine, rebuild};
pub use draft::Draft;
pub use due_list::{Counts, DueFilter};
pub use error::{BookError, RecordError};
pub use fleet::{Codes, PlacedHold, RecordedTest};
pub use record::{Recorded, Recording};
pub use refusal::{Refusal, Refused};
pub use replay::Known;
pub use verify::{Fault, Verification, verify_file};

use crate::rules::RuleBook;
use rusqlite::Connection;
use std::path::PathBuf;

/// An open fleet file.
pub struct Book {
    conn: Connection,
    path: PathBuf,
    rules: RuleBook,
}

impl Book {
    /// The rules in force in this file.
    #[must_use]
    pub fn rules(&self) -> &RuleBook {
        &self.rules
    }
}
