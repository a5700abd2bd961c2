//! A file on its way: written whole under a hidden name beside its place, then moved there.
//!
//! Owns: that a place holds the old file or the whole new one whenever the power goes. Refuses: replacing a file that
//! somebody still has open.

use super::Book;
use super::error::BookError;
use super::file::{connect, explained, outside};
use chrono::{DateTime, Utc};
use rusqlite::{Connection, OpenFlags};
use std::fs::File;
use std::path::{Path, PathBuf};
use std::time::Duration;
use tempfile::TempPath;

/// How hidden files of this program begin.
pub(super) const HIDDEN: &str = ".pigtail-";

/// A new fleet file that is not in its place yet. Where it is dropped, nothing of it stays.
pub struct Draft {
    book: Book,
    hidden: Hidden,
    place: PathBuf,
}

impl Draft {
    /// An empty book on its way to `place`.
    ///
    /// # Errors
    /// [`BookError::Exists`] where there is a file already, or what the disk says.
    pub fn beside(place: &Path) -> Result<Self, BookError> {
        if place.exists() {
            return Err(BookError::Exists { path: place.to_owned() });
        }
        std::fs::create_dir_all(folder_of(place)).map_err(|source| outside(place, source))?;
        Self::over(place)
    }

    /// An empty book on its way to a place that may be taken.
    pub(super) fn over(place: &Path) -> Result<Self, BookError> {
        let hidden = hidden_beside(place)?;
        let explain = |source| explained(place, source);
        let conn = Connection::open_with_flags(&hidden, WRITING).map_err(explain)?;
        // Nobody reads a draft, and after a crash nobody wants it: each page is written once, to its place in the file,
        // and all of them reach the disk before the draft is moved to its own.
        conn.pragma_update(None, "journal_mode", "MEMORY").or_else(answered).map_err(explain)?;
        let book = Book::of_nothing(conn, place.to_owned())?;
        book.conn.pragma_update(None, "synchronous", "OFF").map_err(explain)?;
        Ok(Self::of(book, hidden, place))
    }

    /// A book that is open under a hidden name, on its way to a place that may be taken.
    pub(super) fn of(book: Book, hidden: Hidden, place: &Path) -> Self {
        Self { book, hidden, place: place.to_owned() }
    }

    /// The book, to be filled.
    pub fn book(&mut self) -> &mut Book {
        &mut self.book
    }

    /// Puts the file in its place.
    ///
    /// # Errors
    /// [`BookError::Exists`] where somebody else made one meanwhile, or what the disk says.
    pub fn publish(self) -> Result<(), BookError> {
        let place = self.place.clone();
        // The file is not opened here: whatever came of that, it is in its place and the work is done.
        persist(self.closed()?, &place, false)
    }

    /// The finished file under its hidden name.
    pub(super) fn closed(self) -> Result<Hidden, BookError> {
        let explain = |source| explained(&self.place, source);
        let Book { conn, .. } = self.book;
        // As every fleet file is kept, so that whoever opens it first, if only to be refused, changes nothing in it.
        conn.pragma_update(None, "journal_mode", "WAL").or_else(answered).map_err(explain)?;
        conn.pragma_update(None, "wal_checkpoint", "TRUNCATE").or_else(answered).map_err(explain)?;
        conn.close().map_err(|(_, source)| explain(source))?;
        Ok(self.hidden)
    }
}

/// Some pragmas answer with a row, which is no fault.
fn answered(error: rusqlite::Error) -> rusqlite::Result<()> {
    if matches!(error, rusqlite::Error::ExecuteReturnedResults) { Ok(()) } else { Err(error) }
}

/// How long to wait for whoever has the old file open.
const PATIENCE: Duration = Duration::from_secs(5);

pub(super) const WRITING: OpenFlags = OpenFlags::SQLITE_OPEN_READ_WRITE.union(OpenFlags::SQLITE_OPEN_NO_MUTEX);

/// A file under a hidden name. Where it is dropped, nothing of it stays; let whoever has it open be dropped first.
pub(super) struct Hidden {
    path: TempPath,
    companions: Companions,
}

impl AsRef<Path> for Hidden {
    fn as_ref(&self) -> &Path {
        &self.path
    }
}

/// What SQLite leaves beside a file where it cannot finish, on a disk that errs.
struct Companions {
    of: PathBuf,
}

impl Drop for Companions {
    fn drop(&mut self) {
        for suffix in COMPANIONS {
            std::fs::remove_file(with_suffix(&self.of, suffix)).ok();
        }
    }
}

const COMPANIONS: [&str; 3] = ["-wal", "-shm", "-journal"];

/// An empty file under a hidden name beside a place, readable by its owner only.
pub(super) fn hidden_beside(place: &Path) -> Result<Hidden, BookError> {
    let made = tempfile::Builder::new().prefix(HIDDEN).suffix(".part").tempfile_in(folder_of(place));
    let path = made.map_err(|error| outside(place, error))?.into_temp_path();
    let companions = Companions { of: path.to_path_buf() };
    Ok(Hidden { path, companions })
}

/// Moves a finished file to its place and sees to it that it stays there.
pub(super) fn persist(hidden: Hidden, place: &Path, replace: bool) -> Result<(), BookError> {
    let Hidden { path: hidden, companions } = hidden;
    drop(companions);
    File::open(&hidden).and_then(|file| file.sync_all()).map_err(|source| outside(place, source))?;
    let moved = if replace { hidden.persist(place) } else { hidden.persist_noclobber(place) };
    moved.map_err(|error| outside(place, error.error))?;
    // Some systems cannot open a folder as a file; the move stands all the same.
    if let Ok(folder) = File::open(folder_of(place)) {
        folder.sync_all().ok();
    }
    Ok(())
}

/// A fleet file held against everybody while another takes its place.
pub(super) struct Held {
    conn: Option<Connection>,
    place: PathBuf,
}

impl Held {
    /// Makes one plain file of it and locks it. Whoever opens it meanwhile waits, and then finds that it has moved. A
    /// file that is no sound database is held by nobody and need not be.
    ///
    /// # Errors
    /// [`BookError::InUse`] where another process has it open, or what the disk says.
    pub(super) fn take(place: &Path) -> Result<Self, BookError> {
        let alone = connect(place, WRITING).and_then(|(conn, _)| {
            conn.busy_timeout(PATIENCE)
                .and_then(|()| conn.pragma_update(None, "journal_mode", "DELETE").or_else(answered))
                .and_then(|()| conn.execute_batch("BEGIN EXCLUSIVE"))
                .map_err(|source| explained(place, source))?;
            Ok(conn)
        });
        let conn = match alone {
            Ok(conn) => Some(conn),
            Err(BookError::Busy { path }) => return Err(BookError::InUse { path }),
            Err(
                error @ (BookError::ReadOnly { .. }
                | BookError::Full { .. }
                | BookError::Disk { .. }
                | BookError::Folder { .. }),
            ) => return Err(error),
            Err(_) => None,
        };
        Ok(Self { conn, place: place.to_owned() })
    }

    /// The way into it, where it is a sound database.
    pub(super) fn conn(&self) -> Option<&Connection> {
        self.conn.as_ref()
    }

    /// Puts a finished fleet file in its place. The old one is kept under a dated name, which is returned.
    pub(super) fn replaced_by(self, hidden: Hidden, now: DateTime<Utc>) -> Result<PathBuf, BookError> {
        let place = &self.place;
        let kept = kept_name(place, now);
        if self.conn.is_none() {
            // What belongs to it goes with it, or the new file would be read together with it.
            for suffix in COMPANIONS {
                let (from, to) = (with_suffix(place, suffix), with_suffix(&kept, suffix));
                match std::fs::rename(&from, &to) {
                    Err(error) if error.kind() != std::io::ErrorKind::NotFound => return Err(outside(&from, error)),
                    _ => {}
                }
            }
        }
        // A second name for the old file, so that there is no moment without a file; where there are no links, a move.
        if std::fs::hard_link(place, &kept).is_err() {
            std::fs::rename(place, &kept).map_err(|source| outside(place, source))?;
        }
        persist(hidden, place, true)?;
        Ok(kept)
    }
}

/// `fleet.db.replaced-2026-03-02T101500Z`, or with a number after it where that is taken.
fn kept_name(place: &Path, now: DateTime<Utc>) -> PathBuf {
    let dated = with_suffix(place, &now.format(".replaced-%Y-%m-%dT%H%M%SZ").to_string());
    let numbered = (2u32..).map(|n| with_suffix(&dated, &format!("-{n}")));
    std::iter::once(dated.clone()).chain(numbered).find(|name| !name.exists()).unwrap_or(dated)
}

pub(super) fn with_suffix(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(suffix);
    PathBuf::from(name)
}

pub(super) fn folder_of(place: &Path) -> &Path {
    place.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}
