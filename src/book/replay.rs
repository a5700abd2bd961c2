//! The journal read again: tables rebuilt from it, compared with it, or shown as they were on an earlier day.
//!
//! Owns: which entries stand and which are struck. Refuses: changing an entry.

use super::error::BookError;
use super::file::{explained, house_rules};
use super::gate::{Gate, Obstacle};
use super::refusal::Refusal;
use super::{Book, apply, settle};
use crate::journal::{Change, Entry, Hash, Instant};
use crate::model::Day;
use crate::rules::RuleBook;
use rusqlite::{Connection, OptionalExtension, Result, Row};
use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Tables that are projected, each after those it refers to.
pub(super) const PROJECTED: [&str; 18] = [
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
    "due",
];

/// Dependents named in a refusal to void; the rest are counted.
const MOST_DEPENDENTS: usize = 5;

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

/// Empties every projected table and fills it from the journal. Due rows are left to `settle`.
pub(super) fn project_again(conn: &Connection) -> Result<()> {
    for table in PROJECTED.iter().rev() {
        conn.execute(&format!("DELETE FROM {table}"), [])?;
    }
    project(conn, conn, None)
}

/// Applies the entries of `from` that stand to the empty tables of `to`: all, or those recorded by the end of a day.
fn project(from: &Connection, to: &Connection, known_on: Option<Day>) -> Result<()> {
    let struck = struck(from, known_on)?;
    let mut statement = from.prepare(&format!("{ENTRY} WHERE ?1 IS NULL OR recorded_at < ?1 ORDER BY seq"))?;
    let mut rows = statement.query([end_of(known_on)])?;
    while let Some(row) = rows.next()? {
        let entry = entry(row)?;
        if !struck.contains(&entry.seq) {
            apply::apply(to, entry.seq, &change_of(&entry)?)?;
        }
    }
    Ok(())
}

fn end_of(day: Option<Day>) -> Option<String> {
    day.map(|day| day.plus_days(1).to_string())
}

/// Entries that a later one strikes. A void that is itself struck strikes nothing.
pub(super) fn struck(conn: &Connection, known_on: Option<Day>) -> Result<BTreeSet<u64>> {
    let mut statement = conn.prepare(
        "SELECT seq, json_extract(body, '$.seq') FROM journal
         WHERE body LIKE '{\"change\":\"void\"%' AND (?1 IS NULL OR recorded_at < ?1) ORDER BY seq DESC",
    )?;
    let voids = statement
        .query_map([end_of(known_on)], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<Vec<(u64, u64)>>>()?;
    let mut struck = BTreeSet::new();
    for (void, voided) in voids {
        if !struck.contains(&void) {
            struck.insert(voided);
        }
    }
    Ok(struck)
}

/// Whether entry `seq` may be struck: it stands, and no later entry rests on it.
pub(super) fn may_void(
    conn: &Connection,
    path: &Path,
    rules: &RuleBook,
    today: Day,
    seq: u64,
) -> std::result::Result<(), Obstacle> {
    let explain = |source| Obstacle::Book(explained(path, source));
    let why = |why: &str| Obstacle::Refusal(Refusal::NotVoidable { seq, why: why.to_owned() });
    let found =
        conn.query_row(&format!("{ENTRY} WHERE seq = ?"), [seq.cast_signed()], entry).optional().map_err(explain)?;
    if found.is_none() {
        return Err(why("is not in the journal"));
    }
    let mut struck = struck(conn, None).map_err(explain)?;
    if !struck.insert(seq) {
        return Err(why("is struck out already"));
    }
    let trial = Book::in_memory().map_err(Obstacle::Book)?;
    let mut dependents = Vec::new();
    let mut statement = conn.prepare(&format!("{ENTRY} ORDER BY seq")).map_err(explain)?;
    let mut rows = statement.query([]).map_err(explain)?;
    while let Some(row) = rows.next().map_err(explain)? {
        let entry = entry(row).map_err(explain)?;
        let change = change_of(&entry).map_err(explain)?;
        if struck.contains(&entry.seq) {
            continue;
        }
        let nearest_given = Cell::new(u32::MAX / 2);
        let gate = Gate {
            conn: &trial.conn,
            path,
            rules,
            today,
            nearest_given: &nearest_given,
            last_unit: &RefCell::new(None),
        };
        match gate.admit(&change) {
            Ok(_) => apply::apply(&trial.conn, entry.seq, &change).map_err(explain)?,
            Err(Obstacle::Refusal(refusal)) if entry.seq > seq => dependents.push((entry.seq, refusal)),
            Err(Obstacle::Refusal(_)) => apply::apply(&trial.conn, entry.seq, &change).map_err(explain)?,
            Err(book) => return Err(book),
        }
    }
    if dependents.is_empty() {
        return Ok(());
    }
    let mut listed: Vec<String> =
        dependents.iter().take(MOST_DEPENDENTS).map(|(seq, refusal)| format!("{seq} ({refusal})")).collect();
    if dependents.len() > MOST_DEPENDENTS {
        listed.push(format!("and {} more", dependents.len() - MOST_DEPENDENTS));
    }
    Err(why(&format!("may not be voided while later entries rest on it: {}", listed.join("; "))))
}

/// What checking the journal and the tables against it found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verification {
    /// Entries read.
    pub entries: u64,
    /// Hash of the last sound entry.
    pub head: Hash,
    /// What is wrong, first things first.
    pub faults: Vec<Fault>,
}

/// Something that does not fit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The entry it was found at, where it is about one.
    pub seq: Option<u64>,
    /// What does not fit.
    pub what: String,
}

impl Book {
    /// Recomputes the chain, then replays it into a fresh database and compares every table with the live one.
    ///
    /// # Errors
    /// What the file reports. What is wrong inside it is no error but the answer.
    pub fn verify(&self, progress: &mut dyn FnMut(u64)) -> std::result::Result<Verification, BookError> {
        let explain = |source| self.explained(source);
        let tx = self.conn.unchecked_transaction().map_err(explain)?;
        let mut found = Verification { entries: 0, head: Hash::ZERO, faults: Vec::new() };
        {
            let mut statement = tx.prepare(&format!("{ENTRY} ORDER BY seq")).map_err(explain)?;
            let mut rows = statement.query([]).map_err(explain)?;
            let mut last = 0;
            while let Some(row) = rows.next().map_err(explain)? {
                let entry = match entry(row) {
                    Ok(entry) => entry,
                    Err(error) => {
                        found.faults.push(Fault { seq: Some(last + 1), what: format!("cannot be read: {error}") });
                        break;
                    }
                };
                if let Err(broken) = entry.follows(last, &found.head) {
                    found.faults.push(Fault { seq: Some(entry.seq), what: broken.to_string() });
                    break;
                }
                if let Err(error) = change_of(&entry) {
                    let what = format!("entry {} cannot be read: {error}", entry.seq);
                    found.faults.push(Fault { seq: Some(entry.seq), what });
                    break;
                }
                last = entry.seq;
                found.head = entry.hash;
                found.entries = last;
                progress(last);
            }
        }
        if found.faults.is_empty() {
            let replayed = self.replayed(None)?;
            for table in PROJECTED {
                if let Some(what) = difference(&tx, &replayed.conn, table).map_err(explain)? {
                    found.faults.push(Fault { seq: None, what });
                }
            }
        }
        Ok(found)
    }

    /// The book as it stood at the end of `day` (UTC): what had been recorded by then, no more.
    ///
    /// # Errors
    /// What the file reports.
    pub fn known_on(&self, day: Day) -> std::result::Result<Self, BookError> {
        self.replayed(Some(day))
    }

    /// Throws the tables away and fills them from the journal.
    ///
    /// # Errors
    /// What the file reports; the tables are then as they were.
    pub fn rebuild(&mut self) -> std::result::Result<(), BookError> {
        let path = self.path.clone();
        let explain = |source| explained(&path, source);
        let tx = self.conn.transaction_with_behavior(rusqlite::TransactionBehavior::Immediate).map_err(explain)?;
        project_again(&tx).map_err(explain)?;
        self.rules = house_rules(&tx, &path)?;
        settle::everything(&tx, &self.rules).map_err(explain)?;
        tx.commit().map_err(explain)
    }

    fn replayed(&self, known_on: Option<Day>) -> std::result::Result<Self, BookError> {
        let explain = |source| self.explained(source);
        let mut fresh = Self::in_memory()?;
        let tx = fresh.conn.unchecked_transaction().map_err(explain)?;
        project(&self.conn, &tx, known_on).map_err(explain)?;
        let rules = house_rules(&tx, &self.path)?;
        settle::everything(&tx, &rules).map_err(explain)?;
        tx.commit().map_err(explain)?;
        fresh.rules = rules;
        Ok(fresh)
    }

    /// Entries from the latest back, or of one thing only, with those that were struck.
    ///
    /// # Errors
    /// What the file reports.
    pub fn entries(&self) -> std::result::Result<Vec<(Entry, Option<u64>)>, BookError> {
        let explain = |source| self.explained(source);
        let mut struck_by = BTreeMap::new();
        let mut statement = self.conn.prepare("SELECT voided, seq FROM voids").map_err(explain)?;
        let voids =
            statement.query_map([], |row| Ok((row.get::<_, u64>(0)?, row.get::<_, u64>(1)?))).map_err(explain)?;
        for void in voids {
            let (voided, by) = void.map_err(explain)?;
            struck_by.insert(voided, by);
        }
        let mut statement = self.conn.prepare(&format!("{ENTRY} ORDER BY seq")).map_err(explain)?;
        statement.query_map([], entry).and_then(Iterator::collect::<Result<Vec<Entry>>>).map_err(explain).map(
            |entries| {
                entries
                    .into_iter()
                    .map(|entry| (struck_by.get(&entry.seq).copied(), entry))
                    .map(|(by, e)| (e, by))
                    .collect()
            },
        )
    }
}

/// The first row in which two tables differ, if any.
fn difference(live: &Connection, replayed: &Connection, table: &str) -> Result<Option<String>> {
    let sql = format!("SELECT * FROM {table} ORDER BY 1, 2");
    let (mut live, mut replayed) = (live.prepare(&sql)?, replayed.prepare(&sql)?);
    let columns: Vec<String> = live.column_names().map(str::to_owned).collect();
    let (mut live, mut replayed) = (live.query([])?, replayed.query([])?);
    loop {
        match (live.next()?, replayed.next()?) {
            (None, None) => return Ok(None),
            (Some(row), None) => return Ok(Some(format!("table {table}: {} is not in the journal", shown(row)?))),
            (None, Some(row)) => return Ok(Some(format!("table {table}: {} is missing", shown(row)?))),
            (Some(a), Some(b)) => {
                for (index, column) in columns.iter().enumerate() {
                    let (a_value, b_value): (rusqlite::types::Value, rusqlite::types::Value) =
                        (a.get(index)?, b.get(index)?);
                    if a_value != b_value {
                        return Ok(Some(format!(
                            "table {table}, {}: {column} is not what the journal says",
                            shown(b)?
                        )));
                    }
                }
            }
        }
    }
}

fn shown(row: &Row<'_>) -> Result<String> {
    Ok(match row.get(0)? {
        rusqlite::types::Value::Text(text) => text,
        rusqlite::types::Value::Integer(number) => format!("entry {number}"),
        other => format!("{other:?}"),
    })
}
