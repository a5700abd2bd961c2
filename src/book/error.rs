//! What can go wrong with the file itself.
//!
//! Owns: saying whether the file, the disk, a lock or another program is at fault. Refuses: faults in what was to be
//! recorded, which are `Refusal`s.

use super::refusal::Refused;
use super::verify::Fault;
use crate::rules::RuleError;
use std::path::{Path, PathBuf};

/// A fault of the file or around it. Nothing was changed, but for what [`BookError::Unconfirmed`] says.
#[derive(Debug, thiserror::Error)]
pub enum BookError {
    /// There is no file there.
    #[error("there is no fleet file at {}", .path.display())]
    Missing {
        /// Where.
        path: PathBuf,
    },
    /// There is one already.
    #[error("{} already exists", .path.display())]
    Exists {
        /// Where.
        path: PathBuf,
    },
    /// A folder where a file is meant.
    #[error("{} is a folder, not a fleet file", .path.display())]
    Folder {
        /// Where.
        path: PathBuf,
    },
    /// A file with nothing in it. It may be what is left of one, so it is never taken for a new fleet.
    #[error("{} is an empty file", .path.display())]
    Empty {
        /// Where.
        path: PathBuf,
    },
    /// Another program's file, or damaged in its first page.
    #[error("{} is not a pigtail fleet file", .path.display())]
    NotOurs {
        /// Where.
        path: PathBuf,
    },
    /// Made by a later version.
    #[error("{} has schema {found}; this version knows up to {known}", .path.display())]
    Newer {
        /// Where.
        path: PathBuf,
        /// The file's schema.
        found: u32,
        /// The newest known here.
        known: u32,
    },
    /// Another process is writing and did not finish in time.
    #[error("{} is being written by another process", .path.display())]
    Busy {
        /// Where.
        path: PathBuf,
    },
    /// Another process has it open.
    #[error("{} is in use by another process", .path.display())]
    InUse {
        /// Where.
        path: PathBuf,
    },
    /// The folder or file may not be written.
    #[error("{} may not be written", .path.display())]
    ReadOnly {
        /// Where.
        path: PathBuf,
    },
    /// The disk is full.
    #[error("the disk that holds {} is full", .path.display())]
    Full {
        /// Where.
        path: PathBuf,
    },
    /// The disk does not do what it is told.
    #[error("the disk that holds {} cannot be read or written", .path.display())]
    Disk {
        /// Where.
        path: PathBuf,
    },
    /// Everything was written and the disk would not say that it is kept. Who has the file open goes on without it; if
    /// the power goes before the next one writes, it is read back whole.
    #[error("the disk that holds {} did not confirm what was written", .path.display())]
    Unconfirmed {
        /// Where.
        path: PathBuf,
    },
    /// A copy that does not verify.
    #[error("{} is not sound: {}", .path.display(), .faults.iter().map(|fault| fault.what.as_str()).collect::<Vec<_>>().join("; "))]
    Unsound {
        /// Where.
        path: PathBuf,
        /// What does not fit.
        faults: Vec<Fault>,
    },
    /// What is in the file is not what this program wrote.
    #[error("{} is damaged: {what}", .path.display())]
    Damaged {
        /// Where.
        path: PathBuf,
        /// What does not fit.
        what: String,
    },
    /// The operating system refused.
    #[error("{}: {source}", .path.display())]
    Io {
        /// Where.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// Anything else the database reports.
    #[error("{}: {source}", .path.display())]
    Database {
        /// Where.
        path: PathBuf,
        /// What it reports.
        source: rusqlite::Error,
    },
    /// House rules kept in the file can no longer be read.
    #[error("house rules in {} can no longer be read: {source}", .path.display())]
    HouseRules {
        /// Where.
        path: PathBuf,
        /// Why.
        source: RuleError,
    },
}

impl BookError {
    /// The same fault, said of another path: of the file that was copied, as against its copy.
    pub(super) fn at(mut self, other: &Path) -> Self {
        match &mut self {
            Self::Missing { path }
            | Self::Exists { path }
            | Self::Folder { path }
            | Self::Empty { path }
            | Self::NotOurs { path }
            | Self::Newer { path, .. }
            | Self::Busy { path }
            | Self::InUse { path }
            | Self::ReadOnly { path }
            | Self::Full { path }
            | Self::Disk { path }
            | Self::Unconfirmed { path }
            | Self::Unsound { path, .. }
            | Self::Damaged { path, .. }
            | Self::Io { path, .. }
            | Self::Database { path, .. }
            | Self::HouseRules { path, .. } => other.clone_into(path),
        }
        self
    }
}

/// Why nothing was recorded.
#[derive(Debug, thiserror::Error)]
pub enum RecordError {
    /// Some facts cannot be; all of them are listed.
    #[error("{} cannot be recorded", counted(.0.len()))]
    Refused(Vec<Refused>),
    /// The file is at fault.
    #[error(transparent)]
    Book(#[from] BookError),
}

fn counted(facts: usize) -> String {
    if facts == 1 { "a fact".to_owned() } else { format!("{facts} facts") }
}
