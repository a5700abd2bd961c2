//! The journal checked link by link, and every table against what the journal says.
//!
//! Owns: finding the first thing that does not fit. Refuses: mending it.

use super::draft::WRITING;
use super::error::BookError;
use super::replay::{ENTRY, PROJECTED, STRIDE, change_of, entry};
use super::{Book, append, file};
use crate::journal::Hash;
use rusqlite::types::Value;
use rusqlite::{Connection, ErrorCode, Result, Row};
use std::cell::Cell;
use std::collections::BTreeMap;
use std::path::Path;

/// What checking the journal and the tables against it found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verification {
    /// Sound entries, from the first on.
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

impl Fault {
    fn at(seq: u64, what: String) -> Self {
        Self { seq: Some(seq), what }
    }

    fn of_tables(what: String) -> Self {
        Self { seq: None, what }
    }
}

impl Book {
    /// Recomputes the chain, then replays it into a fresh database and compares every table, and how the tables are
    /// made, with the live ones. `progress` is told now and then how much of how much is done.
    ///
    /// # Errors
    /// What the file reports. What is wrong inside it is no error but the answer.
    pub fn verify(&self, progress: &mut dyn FnMut(u64, u64)) -> std::result::Result<Verification, BookError> {
        verify(&self.conn, &self.path, progress)
    }
}

/// As [`Book::verify`], of a file too that is too damaged to be opened as a book.
///
/// # Errors
/// [`BookError`] where it is no fleet file of ours or cannot be read at all.
pub fn verify_file(path: &Path, progress: &mut dyn FnMut(u64, u64)) -> std::result::Result<Verification, BookError> {
    // Opening brings due rows up to date where the program's rules are newer than the file; that is no tampering.
    match Book::open(path) {
        Ok(book) => book.verify(progress),
        Err(BookError::Damaged { .. } | BookError::HouseRules { .. }) => {
            verify(&file::connect(path, WRITING)?.0, path, progress)
        }
        Err(error) => Err(error),
    }
}

/// As [`Book::verify`], through any connection.
pub(super) fn verify(
    conn: &Connection,
    path: &Path,
    progress: &mut dyn FnMut(u64, u64),
) -> std::result::Result<Verification, BookError> {
    let explain = |source| file::explained(path, source);
    let tx = conn.unchecked_transaction().map_err(explain)?;
    let steps = Steps::of(&tx);
    let mut found = chain(&tx, &mut |seq| progress(seq, steps.all())).map_err(explain)?;
    if found.faults.is_empty() {
        tables(&tx, path, &mut found.faults, &mut |done| progress(steps.entries + done, steps.all()))?;
    }
    Ok(found)
}

/// How much there is to do, in entries: each is hashed and then replayed; due dates and comparing take about as long
/// again.
pub(super) struct Steps {
    pub(super) entries: u64,
}

impl Steps {
    /// Of a file that may be too damaged to say; the bar is then wrong, and nothing else.
    pub(super) fn of(conn: &Connection) -> Self {
        Self { entries: append::head(conn).map_or(0, |head| head.seq) }
    }

    pub(super) fn all(&self) -> u64 {
        self.entries * 4
    }
}

/// Recomputes the chain alone. `progress` is told which entry it is at.
pub(super) fn chain(conn: &Connection, progress: &mut dyn FnMut(u64)) -> Result<Verification> {
    let mut found = Verification { entries: 0, head: Hash::ZERO, faults: Vec::new() };
    match follow(conn, &mut found, progress) {
        Err(error) if is_damage(&error) => {
            let next = found.entries + 1;
            found.faults.push(Fault::at(next, format!("entry {next} cannot be read: {error}")));
        }
        other => other?,
    }
    Ok(found)
}

fn follow(conn: &Connection, found: &mut Verification, progress: &mut dyn FnMut(u64)) -> Result<()> {
    let mut statement = conn.prepare(&format!("{ENTRY} ORDER BY seq"))?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let entry = entry(row)?;
        if let Err(broken) = entry.follows(found.entries, &found.head) {
            found.faults.push(Fault::at(found.entries + 1, broken.to_string()));
            return Ok(());
        }
        change_of(&entry)?;
        found.entries = entry.seq;
        found.head = entry.hash;
        if entry.seq.is_multiple_of(STRIDE) {
            progress(entry.seq);
        }
    }
    Ok(())
}

/// Whether an error is about what stands in the file, as against the disk or a lock.
fn is_damage(error: &rusqlite::Error) -> bool {
    match error {
        rusqlite::Error::SqliteFailure(failure, _) => !matches!(
            failure.code,
            ErrorCode::DatabaseBusy
                | ErrorCode::DatabaseLocked
                | ErrorCode::SystemIoFailure
                | ErrorCode::DiskFull
                | ErrorCode::OutOfMemory
                | ErrorCode::OperationInterrupted
                | ErrorCode::ReadOnly
                | ErrorCode::PermissionDenied
                | ErrorCode::CannotOpen
        ),
        _ => true,
    }
}

/// Replays the journal and compares every table. `progress` is told how many entries were replayed, and once more when
/// their due dates are there, that it is twice as many.
pub(super) fn tables(
    live: &Connection,
    path: &Path,
    faults: &mut Vec<Fault>,
    progress: &mut dyn FnMut(u64),
) -> std::result::Result<(), BookError> {
    let explain = |source| file::explained(path, source);
    let fresh = Book::in_memory()?;
    match how_made(live, &fresh.conn) {
        Err(error) if is_damage(&error) => {
            faults.push(Fault::of_tables(format!("how the tables are made cannot be read: {error}")));
        }
        made => faults.extend(made.map_err(explain)?.map(Fault::of_tables)),
    }
    let at = Cell::new(0);
    let damage = Cell::new(false);
    let noted = |source| {
        damage.set(is_damage(&source));
        file::explained(path, source)
    };
    let replayed = match fresh.filled_from(live, None, &at, progress, noted) {
        Ok(replayed) => replayed,
        Err(error) if damage.get() || matches!(error, BookError::HouseRules { .. }) => {
            let seq = Some(at.get()).filter(|seq| *seq > 0);
            let place = seq.map_or_else(|| "the journal".to_owned(), |seq| format!("entry {seq}"));
            faults.push(Fault { seq, what: format!("{place} cannot be applied: {error}") });
            return Ok(());
        }
        Err(error) => return Err(error),
    };
    progress(Steps::of(live).entries * 2);
    for table in PROJECTED.iter().chain(&["projection"]) {
        match difference(live, &replayed.conn, table) {
            Err(error) if is_damage(&error) => {
                faults.push(Fault::of_tables(format!("table {table} cannot be read: {error}")));
            }
            different => faults.extend(different.map_err(explain)?.map(Fault::of_tables)),
        }
    }
    Ok(())
}

/// The first table, index or trigger that is not made as it should be, if any.
fn how_made(live: &Connection, fresh: &Connection) -> Result<Option<String>> {
    let read = |conn: &Connection| -> Result<BTreeMap<(String, String), Option<String>>> {
        conn.prepare("SELECT type, name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\'")?
            .query_map([], |row| Ok(((row.get(0)?, row.get(1)?), row.get(2)?)))?
            .collect()
    };
    let (live, fresh) = (read(live)?, read(fresh)?);
    for ((kind, name), sql) in &fresh {
        match live.get(&(kind.clone(), name.clone())) {
            None => return Ok(Some(format!("{kind} {name} is gone"))),
            Some(other) if other != sql => return Ok(Some(format!("{kind} {name} is not made as it should be"))),
            Some(_) => {}
        }
    }
    Ok(live.keys().find(|key| !fresh.contains_key(key)).map(|(kind, name)| format!("{kind} {name} is not ours")))
}

/// The first row in which two tables differ, if any.
fn difference(live: &Connection, replayed: &Connection, table: &str) -> Result<Option<String>> {
    let columns: Vec<String> = {
        let statement = replayed.prepare(&format!("SELECT * FROM {table}"))?;
        statement.column_names().map(str::to_owned).collect()
    };
    // By the leading columns, the key among them: both sides read in the order of their primary key.
    let order = (1..=columns.len().min(3)).map(|n| n.to_string()).collect::<Vec<_>>().join(", ");
    let sql = format!("SELECT {} FROM {table} ORDER BY {order}", columns.join(", "));
    let (mut live, mut replayed) = (live.prepare(&sql)?, replayed.prepare(&sql)?);
    let (mut live, mut replayed) = (live.query([])?, replayed.query([])?);
    loop {
        match (live.next()?, replayed.next()?) {
            (None, None) => return Ok(None),
            (Some(row), None) => return Ok(Some(format!("table {table}: {} is not in the journal", shown(row)?))),
            (None, Some(row)) => return Ok(Some(format!("table {table}: {} is missing", shown(row)?))),
            (Some(a), Some(b)) => {
                for (index, column) in columns.iter().enumerate() {
                    if a.get_ref(index)? != b.get_ref(index)? {
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
        Value::Text(text) => text,
        Value::Integer(number) => format!("entry {number}"),
        other => format!("{other:?}"),
    })
}
