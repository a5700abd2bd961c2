//! Copies of a fleet file: made while it is in use, and put back.
//!
//! Owns: that a copy is checked before it is relied on. Refuses: replacing anything with a copy that is not sound.

use super::Book;
use super::draft::{Draft, Held, WRITING, folder_of, hidden_beside, persist};
use super::error::BookError;
use super::file::{connect, explained, outside};
use super::verify::{Verification, verify};
use chrono::{DateTime, Utc};
use rusqlite::backup::{Backup, StepResult};
use rusqlite::{Connection, OpenFlags};
use std::path::{Path, PathBuf};

/// What was put back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Restored {
    /// What checking the backup found: nothing wrong.
    pub found: Verification,
    /// Where the file that was replaced is kept, if there was one.
    pub kept: Option<PathBuf>,
}

impl Book {
    /// Copies the whole file to `target` while others read and write it, and checks the copy before it is moved to its
    /// place. The copy is one plain file, readable by its owner only.
    ///
    /// # Errors
    /// [`BookError::Exists`] where there is a file already and `overwrite` does not say to replace it,
    /// [`BookError::Unsound`] where the copy does not verify, or what the disk says. Nothing is left at `target` then
    /// that was not there before.
    pub fn backup(
        &self,
        target: &Path,
        overwrite: bool,
        progress: &mut dyn FnMut(u64, u64),
    ) -> Result<Verification, BookError> {
        if target.is_dir() {
            return Err(BookError::Folder { path: target.to_owned() });
        }
        if target.exists() && (!overwrite || same_file(target, &self.path)) {
            return Err(BookError::Exists { path: target.to_owned() });
        }
        if !folder_of(target).is_dir() {
            return Err(BookError::Missing { path: folder_of(target).to_owned() });
        }
        let hidden = hidden_beside(target)?;
        let explain = |source| explained(target, source);
        let mut copy = Connection::open_with_flags(&hidden, WRITING).map_err(explain)?;
        copied(&self.conn, &mut copy, target)?;
        copy.pragma_update(None, "journal_mode", "DELETE").map_err(explain)?;
        let found = sound(verify(&copy, target, progress)?, &self.path)?;
        copy.close().map_err(|(_, source)| explain(source))?;
        persist(hidden, target, overwrite)?;
        Ok(found)
    }

    /// Puts the fleet of a backup in the place of a fleet file, after checking it. The backup is not changed.
    ///
    /// # Errors
    /// [`BookError::Exists`] where there is a file already and `overwrite` does not say to replace it,
    /// [`BookError::Unsound`] where the backup does not verify, or whatever makes it no fleet file of ours. Nothing is
    /// changed then.
    pub fn restore(
        backup: &Path,
        place: &Path,
        overwrite: bool,
        now: DateTime<Utc>,
        progress: &mut dyn FnMut(u64, u64),
    ) -> Result<Restored, BookError> {
        let reading = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let (source, _) = connect(backup, reading)?;
        if place.is_dir() {
            return Err(BookError::Folder { path: place.to_owned() });
        }
        let taken = place.exists();
        if taken && (!overwrite || same_file(backup, place)) {
            return Err(BookError::Exists { path: place.to_owned() });
        }
        std::fs::create_dir_all(folder_of(place)).map_err(|error| outside(place, error))?;
        let hidden = hidden_beside(place)?;
        let mut copy = Connection::open_with_flags(&hidden, WRITING).map_err(|source| explained(place, source))?;
        copied(&source, &mut copy, backup)?;
        drop(copy);
        // Opening it brings an older schema up to date, in the copy and not in the backup.
        let copy = Book::open(hidden.as_ref()).map_err(|error| error.at(backup))?;
        let found = sound(copy.verify(progress)?, backup)?;
        let hidden = Draft::of(copy, hidden, place).closed()?;
        let kept = match taken {
            true => Some(Held::take(place)?.replaced_by(hidden, now)?),
            false => persist(hidden, place, false).map(|()| None)?,
        };
        Ok(Restored { found, kept })
    }
}

/// Copies every page in one step, under one read lock, so that the copy is of one moment.
fn copied(from: &Connection, to: &mut Connection, path: &Path) -> Result<(), BookError> {
    let explain = |source| explained(path, source);
    let step = Backup::new(from, to).and_then(|copying| copying.step(-1)).map_err(explain)?;
    if step == StepResult::Done { Ok(()) } else { Err(BookError::Busy { path: path.to_owned() }) }
}

pub(super) fn sound(found: Verification, path: &Path) -> Result<Verification, BookError> {
    if found.faults.is_empty() {
        return Ok(found);
    }
    Err(BookError::Unsound { path: path.to_owned(), faults: found.faults })
}

fn same_file(one: &Path, other: &Path) -> bool {
    matches!((one.canonicalize(), other.canonicalize()), (Ok(one), Ok(other)) if one == other)
}
