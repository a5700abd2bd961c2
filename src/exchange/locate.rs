//! Facts read from a fleet folder, each knowing the line it was read from.
//!
//! Owns: origins and notes. Refuses: faults, which `problem` has.

use super::table::FolderFile;
use crate::journal::Fact;
use crate::model::{DepotCode, Named};
use std::fmt;

/// Something read from a row.
#[derive(Debug, Clone, PartialEq)]
pub struct Located<T> {
    /// What was read.
    pub fact: T,
    /// From which file.
    pub file: FolderFile,
    /// From which line, from 1; the first line of its row.
    pub line: u32,
}

/// Something a person should know about what was read, though nothing is wrong with it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Note {
    /// units.csv names a depot nobody has described; it is entered with UTC and the default rules.
    DepotAdded {
        /// The depot.
        depot: DepotCode,
        /// The line that names it first.
        line: u32,
        /// A depot that is described and called almost the same.
        near: Option<DepotCode>,
    },
    /// A row of depots.csv names no time zone; UTC is taken.
    NoTimeZone {
        /// The depot.
        depot: DepotCode,
        /// Its line.
        line: u32,
    },
    /// A file has a header and no rows.
    NoRows {
        /// The file.
        file: FolderFile,
    },
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::DepotAdded { depot, line, near } => {
                write!(
                    f,
                    "units.csv:{line}: depot: `{depot}` is not described in depots.csv; it is entered with time zone UTC \
                     and rules us"
                )?;
                near.as_ref().map_or(Ok(()), |near| write!(f, " (was `{near}` meant?)"))
            }
            Self::NoTimeZone { depot, line } => {
                write!(f, "depots.csv:{line}: timezone: is blank for `{depot}`; UTC is taken")
            }
            Self::NoRows { file } => write!(f, "{file} has a header and no rows"),
        }
    }
}

/// What a fleet folder says, in an order in which every fact comes after those it rests on.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Import {
    /// The facts: depots, units, appliances, people, gauges, parts, marks, gauge checks, calendar, bookings, events,
    /// checks, gas tests, holds; those with a date by date, those of one date as they stand in their file.
    pub facts: Vec<Located<Fact>>,
    /// What a person should know.
    pub notes: Vec<Note>,
    /// Rows read, by file, in reading order.
    pub rows: Vec<(FolderFile, usize)>,
    /// The one file read, where its name is not that of its kind.
    pub(super) single_name: Option<String>,
}

impl Import {
    /// The name of the file that a kind of fact was read from.
    #[must_use]
    pub fn file_name(&self, file: FolderFile) -> &str {
        self.single_name.as_deref().unwrap_or_else(|| file.name())
    }
}
