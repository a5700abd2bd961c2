//! The journal's end: what stands there, and entries added to it.
//!
//! Owns: sealing changes onto the chain, and writing what was sealed. Refuses: changes that were not admitted (`record`).

use super::Book;
use super::error::BookError;
use super::record::Recording;
use crate::journal::{Change, Entry, Hash};
use rusqlite::{CachedStatement, Connection, OptionalExtension, Result, params};

/// The journal's last entry: how long it is and the hash that pins all of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Head {
    /// Number of entries.
    pub seq: u64,
    /// Hash of the last.
    pub hash: Hash,
}

impl Book {
    /// What tells this fleet's journal from another's: the hash of its first entry, blank before there is one.
    ///
    /// # Errors
    /// What the file reports.
    pub fn fleet_name(&self) -> std::result::Result<String, BookError> {
        let first = self.conn.query_row("SELECT hash FROM journal WHERE seq = 1", [], |row| Ok(Hash(row.get(0)?)));
        let first = first.optional().map_err(|source| self.explained(source))?;
        Ok(first.map(|hash| hash.to_string()).unwrap_or_default())
    }

    /// The journal's last entry.
    ///
    /// # Errors
    /// What the file reports.
    pub fn head(&self) -> std::result::Result<Head, BookError> {
        head(&self.conn).map_err(|source| self.explained(source))
    }
}

pub(super) fn head(conn: &Connection) -> Result<Head> {
    let last = conn
        .prepare_cached("SELECT seq, hash FROM journal ORDER BY seq DESC LIMIT 1")?
        .query_row([], |row| Ok(Head { seq: row.get(0)?, hash: Hash(row.get(1)?) }))
        .optional()?;
    Ok(last.unwrap_or(Head { seq: 0, hash: Hash::ZERO }))
}

/// Seals changes onto the chain, each onto the one before. Knows no file, so it can be at work beside one.
pub(super) struct Sealer<'a> {
    recording: &'a Recording,
    head: Head,
}

impl<'a> Sealer<'a> {
    pub(super) fn onto(head: Head, recording: &'a Recording) -> Self {
        Self { recording, head }
    }

    pub(super) fn seal(&mut self, change: &Change) -> serde_json::Result<Entry> {
        let (seq, at) = (self.head.seq + 1, self.recording.at.clone());
        let entry = Entry::seal(seq, at, &self.recording.author, serde_json::to_string(change)?, self.head.hash);
        self.head = Head { seq, hash: entry.hash };
        Ok(entry)
    }
}

/// Writes sealed entries.
pub(super) struct Appending<'a>(CachedStatement<'a>);

impl<'a> Appending<'a> {
    pub(super) fn to(conn: &'a Connection) -> Result<Self> {
        conn.prepare_cached("INSERT INTO journal VALUES (?, ?, ?, ?, ?, ?)").map(Self)
    }

    pub(super) fn append(&mut self, sealed: serde_json::Result<Entry>) -> Result<()> {
        let entry = sealed.map_err(|error| rusqlite::Error::ToSqlConversionFailure(Box::new(error)))?;
        self.0.execute(params![
            entry.seq.cast_signed(),
            entry.recorded_at.as_str(),
            entry.author,
            entry.body,
            entry.prev_hash.0,
            entry.hash.0
        ])?;
        Ok(())
    }
}
