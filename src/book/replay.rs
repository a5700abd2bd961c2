//! The journal read again: tables rebuilt from it, or shown as they were on an earlier day.
//!
//! Owns: which entries stand and which are struck. Refuses: changing an entry.

use super::error::BookError;
use super::file::{explained, house_rules};
use super::{Book, apply, settle};
use crate::journal::{Change, Entry, Hash, Instant};
use crate::model::Day;
use rusqlite::{Connection, OptionalExtension, Result, Row};
use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet};

/// Tables that are projected, each after those it refers to.
pub(super) const PROJECTED: [&str; 19] = [
    "voids",
    "people",
    "gauges",
    "depots",
    "units",
    "parts",
    "appliances",
    "marks",
    "gauge_checks",
    "gas_tests",
    "checks",
    "events",
    "holds",
    "bookings",
    "calendar",
    "house_rules",
    "visits",
    "kept_work",
    "due",
];

pub(super) const ENTRY: &str = "SELECT seq, recorded_at, author, body, prev_hash, hash FROM journal";

pub(super) fn entry(row: &Row<'_>) -> Result<Entry> {
    Ok(Entry {
        seq: row.get(0)?,
        recorded_at: Instant::from_stored(row.get(1)?),
        author: row.get(2)?,
        body: row.get(3)?,
        prev_hash: Hash(row.get(4)?),
        hash: Hash(row.get(5)?),
    })
}

pub(super) fn change_of(entry: &Entry) -> Result<Change> {
    serde_json::from_str(&entry.body)
        .map_err(|error| rusqlite::Error::FromSqlConversionFailure(3, rusqlite::types::Type::Text, Box::new(error)))
}

/// The voids of a journal: which entry each strikes.
#[derive(Debug, Clone)]
pub(super) struct Strikes(BTreeMap<u64, u64>);

impl Strikes {
    /// Those among the first `last` entries, or among all.
    pub(super) fn up_to(conn: &Connection, last: Option<u64>) -> Result<Self> {
        let mut statement = conn.prepare(
            "SELECT seq, json_extract(body, '$.seq') FROM journal
             WHERE body LIKE '{\"change\":\"void\"%' AND (?1 IS NULL OR seq <= ?1)",
        )?;
        let voids = statement.query_map([last.map(u64::cast_signed)], |row| Ok((row.get(0)?, row.get(1)?)))?;
        voids.collect::<Result<_>>().map(Self)
    }

    /// These, and one more after them that strikes `seq`.
    pub(super) fn and(&self, seq: u64) -> Self {
        let mut voids = self.0.clone();
        voids.insert(u64::MAX, seq);
        Self(voids)
    }

    /// Entries that a later one strikes. A void that is itself struck strikes nothing.
    pub(super) fn struck(&self) -> BTreeSet<u64> {
        let mut struck = BTreeSet::new();
        for (void, voided) in self.0.iter().rev() {
            if !struck.contains(void) {
                struck.insert(*voided);
            }
        }
        struck
    }
}

/// Entries between two calls of a progress report.
pub(super) const STRIDE: u64 = 1024;

/// Empties every projected table and fills it from the journal. Due rows are left to `settle`.
pub(super) fn project_again(conn: &Connection, progress: &mut dyn FnMut(u64)) -> Result<()> {
    for table in PROJECTED.iter().rev() {
        conn.execute(&format!("DELETE FROM {table}"), [])?;
    }
    project(conn, conn, None, &Cell::new(0), progress)
}

/// Applies the entries of `from` that stand to the empty tables of `to`: all, or those up to `last`. `at` says which
/// entry it is at, `progress` is told now and then.
pub(super) fn project(
    from: &Connection,
    to: &Connection,
    last: Option<u64>,
    at: &Cell<u64>,
    progress: &mut dyn FnMut(u64),
) -> Result<()> {
    let struck = Strikes::up_to(from, last)?.struck();
    let mut statement = from.prepare(&format!("{ENTRY} WHERE ?1 IS NULL OR seq <= ?1 ORDER BY seq"))?;
    let mut rows = statement.query([last.map(u64::cast_signed)])?;
    while let Some(row) = rows.next()? {
        let entry = entry(row)?;
        at.set(entry.seq);
        if entry.seq.is_multiple_of(STRIDE) {
            progress(entry.seq);
        }
        if !struck.contains(&entry.seq) {
            apply::apply(to, entry.seq, &change_of(&entry)?)?;
        }
    }
    Ok(())
}

/// Copies the first `last` entries as they are.
fn copy_entries(from: &Connection, to: &Connection, last: u64) -> Result<()> {
    let tx = to.unchecked_transaction()?;
    {
        let mut insert = tx.prepare("INSERT INTO journal VALUES (?, ?, ?, ?, ?, ?)")?;
        let mut statement = from.prepare(&format!("{ENTRY} WHERE seq <= ? ORDER BY seq"))?;
        let mut rows = statement.query([last.cast_signed()])?;
        while let Some(row) = rows.next()? {
            let cells = (0..6).map(|at| row.get(at)).collect::<Result<Vec<rusqlite::types::Value>>>()?;
            insert.execute(rusqlite::params_from_iter(cells))?;
        }
    }
    tx.commit()
}

/// A book as it stood on an earlier day.
pub struct Known {
    /// What had been recorded by then, no more.
    pub book: Book,
    /// The last entry that is in it.
    pub last: u64,
    /// Entries left out although they are stamped with that day or an earlier one, because an entry before them is
    /// stamped later: somewhere a clock was set.
    pub out_of_step: u64,
}

impl Book {
    /// The book as it stood at the end of `day` (UTC): all entries before the first that was recorded after it. Rules
    /// are the shipped ones of today and the house rules adopted by then. `progress` is told which entry it is at.
    ///
    /// # Errors
    /// What the file reports.
    pub fn known_on(&self, day: Day, progress: &mut dyn FnMut(u64)) -> std::result::Result<Known, BookError> {
        let explain = |source| self.explained(source);
        let end = day.plus_days(1).to_string();
        let tx = self.conn.unchecked_transaction().map_err(explain)?;
        let later: Option<u64> = tx
            .query_row("SELECT min(seq) FROM journal WHERE recorded_at >= ?", [&end], |row| row.get(0))
            .map_err(explain)?;
        let last = match later {
            Some(later) => later - 1,
            None => self.head()?.seq,
        };
        let out_of_step = tx
            .query_row(
                "SELECT count(*) FROM journal WHERE seq > ? AND recorded_at < ?",
                rusqlite::params![last.cast_signed(), end],
                |row| row.get(0),
            )
            .map_err(explain)?;
        let fresh = Self::in_memory()?;
        let book = fresh.filled_from(&tx, Some(last), &Cell::new(0), progress, |source| self.explained(source))?;
        copy_entries(&tx, &book.conn, last).map_err(explain)?;
        Ok(Known { book, last, out_of_step })
    }

    /// This empty book with the entries of another journal applied and everything settled. The journal itself stays
    /// where it is.
    pub(super) fn filled_from(
        mut self,
        from: &Connection,
        last: Option<u64>,
        at: &Cell<u64>,
        progress: &mut dyn FnMut(u64),
        explain: impl Fn(rusqlite::Error) -> BookError,
    ) -> std::result::Result<Self, BookError> {
        let tx = self.conn.unchecked_transaction().map_err(|source| explained(&self.path, source))?;
        project(from, &tx, last, at, progress).map_err(&explain)?;
        at.set(0);
        self.rules = house_rules(&tx, &self.path)?;
        settle::everything(&tx, &self.rules).map_err(explain)?;
        tx.commit().map_err(|source| explained(&self.path, source))?;
        Ok(self)
    }

    /// All entries in order, each with the entry that strikes it, if one does.
    ///
    /// # Errors
    /// What the file reports.
    pub fn entries(&self) -> std::result::Result<Vec<(Entry, Option<u64>)>, BookError> {
        let explain = |source| self.explained(source);
        let mut statement = self
            .conn
            .prepare(
                "SELECT j.seq, recorded_at, author, body, prev_hash, hash, v.seq
                 FROM journal j LEFT JOIN voids v ON v.voided = j.seq ORDER BY j.seq",
            )
            .map_err(explain)?;
        let entries = statement.query_map([], |row| Ok((entry(row)?, row.get(6)?))).map_err(explain)?;
        entries.collect::<Result<_>>().map_err(explain)
    }

    /// One entry, with the entry that strikes it, if one does.
    ///
    /// # Errors
    /// What the file reports.
    pub fn entry(&self, seq: u64) -> std::result::Result<Option<(Entry, Option<u64>)>, BookError> {
        let explain = |source| self.explained(source);
        let Ok(seq) = i64::try_from(seq) else { return Ok(None) };
        let found = self.conn.query_row(&format!("{ENTRY} WHERE seq = ?"), [seq], entry).optional().map_err(explain)?;
        let Some(found) = found else { return Ok(None) };
        let by = self.conn.query_row("SELECT seq FROM voids WHERE voided = ?", [seq], |row| row.get(0));
        Ok(Some((found, by.optional().map_err(explain)?)))
    }
}
