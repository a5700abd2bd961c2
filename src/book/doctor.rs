//! Everything about a fleet file that can be looked at, and a new file from a sound journal.
//!
//! Owns: which checks there are, and what counts as a fault and what only as a note. Refuses: mending in place; the
//! damaged file is kept as it was found.

use super::Book;
use super::backup::sound;
use super::draft::{Draft, HIDDEN, Held, WRITING, folder_of, with_suffix};
use super::error::BookError;
use super::file::{connect, explained, house_rules, outside};
use super::verify::{Steps, Verification, chain, tables, verify};
use super::{replay, settle};
use chrono::{DateTime, Utc};
use rusqlite::Connection;
use std::cell::Cell;
use std::fs::File;
use std::path::{Path, PathBuf};

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// As it should be.
    Sound,
    /// Worth knowing; nothing is lost or wrong.
    Note,
    /// Wrong.
    Fault,
}

/// What one check found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Which check.
    pub check: &'static str,
    /// How much it matters.
    pub grade: Grade,
    /// What was found, one line.
    pub says: String,
}

impl Finding {
    fn new(check: &'static str, grade: Grade, says: impl Into<String>) -> Self {
        Self { check, grade, says: says.into() }
    }
}

/// Page faults listed.
const MOST_LISTED: usize = 20;

/// Stamps that go back by less are two processes recording at once.
const STEP_BACK_SECONDS: i64 = 60;

/// Looks at a fleet file from every side. Nothing is mended; as with any command, due dates that were kept under older
/// rules are brought up to date first.
///
/// # Errors
/// [`BookError`] where it cannot be opened at all: not there, not ours, newer, locked.
pub fn examine(path: &Path, now: DateTime<Utc>, progress: &mut dyn FnMut(u64, u64)) -> Result<Vec<Finding>, BookError> {
    let explain = |source| explained(path, source);
    match Book::open(path) {
        Ok(_) | Err(BookError::Damaged { .. } | BookError::HouseRules { .. }) => {}
        Err(error) => return Err(error),
    }
    let (conn, _) = connect(path, WRITING)?;
    let mut findings = vec![permissions(path)];
    findings.extend(pages(&conn));
    let steps = Steps::of(&conn);
    let found = chain(&conn, &mut |seq| progress(seq, steps.all())).map_err(explain)?;
    findings.extend(found.faults.iter().map(|fault| Finding::new("journal", Grade::Fault, &fault.what)));
    if found.faults.is_empty() {
        let says = format!("{} entries, head {}@{}", found.entries, found.head, found.entries);
        findings.push(Finding::new("journal", Grade::Sound, says));
        let mut faults = Vec::new();
        tables(&conn, path, &mut faults, &mut |done| progress(steps.entries + done, steps.all()))?;
        if faults.is_empty() {
            findings.push(Finding::new("tables", Grade::Sound, "every table is what the journal says"));
        }
        findings.extend(faults.into_iter().map(|fault| Finding::new("tables", Grade::Fault, fault.what)));
        findings.push(clock(&conn, now).map_err(explain)?);
    }
    findings.extend(leftovers(path)?);
    findings.push(sending(path));
    Ok(findings)
}

#[cfg(unix)]
fn permissions(path: &Path) -> Finding {
    use std::os::unix::fs::PermissionsExt;
    for suffix in ["", "-wal", "-shm"] {
        let file = with_suffix(path, suffix);
        if let Ok(found) = std::fs::metadata(&file)
            && found.permissions().mode() & 0o077 != 0
        {
            let mode = found.permissions().mode() & 0o777;
            let says = format!("{} is open to others (mode {mode:o}): chmod 600 {}", file.display(), file.display());
            return Finding::new("permissions", Grade::Fault, says);
        }
    }
    Finding::new("permissions", Grade::Sound, "readable and writable by its owner only")
}

#[cfg(not(unix))]
fn permissions(_: &Path) -> Finding {
    Finding::new("permissions", Grade::Sound, "left to the system")
}

fn pages(conn: &Connection) -> Vec<Finding> {
    let read = conn.prepare(&format!("PRAGMA integrity_check({MOST_LISTED})")).and_then(|mut statement| {
        statement.query_map([], |row| row.get::<_, String>(0))?.collect::<rusqlite::Result<Vec<_>>>()
    });
    match read {
        Ok(lines) if lines == ["ok"] => vec![Finding::new("pages", Grade::Sound, "SQLite finds nothing wrong")],
        Ok(lines) => lines.into_iter().map(|line| Finding::new("pages", Grade::Fault, line)).collect(),
        Err(error) => vec![Finding::new("pages", Grade::Fault, error.to_string())],
    }
}

fn clock(conn: &Connection, now: DateTime<Utc>) -> rusqlite::Result<Finding> {
    let back: (u64, Option<u64>) = conn.query_row(
        "SELECT count(*), min(seq) FROM
         (SELECT seq, unixepoch(recorded_at) - unixepoch(lag(recorded_at) OVER (ORDER BY seq)) AS step FROM journal)
         WHERE step < -?",
        [STEP_BACK_SECONDS],
        |row| Ok((row.get(0)?, row.get(1)?)),
    )?;
    let ahead: (u64, Option<u64>) = conn.query_row(
        "SELECT count(*), min(seq) FROM journal WHERE unixepoch(recorded_at) > ?",
        [now.timestamp() + STEP_BACK_SECONDS],
        |row| Ok((row.get(0)?, row.get(1)?)),
    )?;
    Ok(match (back, ahead) {
        ((times, Some(seq)), _) => {
            let times = if times == 1 { "once".to_owned() } else { format!("{times} times, first") };
            Finding::new("clock", Grade::Note, format!("was set back {times} before entry {seq}"))
        }
        (_, (entries, Some(seq))) => {
            Finding::new("clock", Grade::Note, format!("{entries} entries are stamped after now, first entry {seq}"))
        }
        _ => Finding::new("clock", Grade::Sound, "never went back"),
    })
}

fn leftovers(path: &Path) -> Result<Vec<Finding>, BookError> {
    let folder = folder_of(path);
    let own = path.file_name().map(|own| own.to_string_lossy().into_owned()).unwrap_or_default();
    let (mut visits, mut parts) = (Vec::new(), Vec::new());
    for entry in std::fs::read_dir(folder).map_err(|source| outside(folder, source))? {
        let name = entry.map_err(|source| outside(folder, source))?.file_name().to_string_lossy().into_owned();
        if name.starts_with(&own) && name.ends_with(".draft.toml") {
            visits.push(name);
        } else if name.starts_with(HIDDEN) && name.contains(".part") {
            parts.push(name);
        }
    }
    let mut findings = Vec::new();
    for (check, mut names, none, some) in [
        ("visits", visits, "no close-out is left half-way", "close-outs left half-way, to be gone on with or deleted"),
        (
            "leftovers",
            parts,
            "no broken run left anything",
            "left by broken runs, to be deleted if no pigtail is running",
        ),
    ] {
        names.sort();
        findings.push(match names.as_slice() {
            [] => Finding::new(check, Grade::Sound, none),
            names => Finding::new(check, Grade::Note, format!("{some}: {}", names.join(", "))),
        });
    }
    Ok(findings)
}

fn sending(path: &Path) -> Finding {
    // The system lets go of the lock whatever becomes of the process that held it: the file alone means nothing.
    let held = File::open(with_suffix(path, ".sending")).is_ok_and(|file| file.try_lock_shared().is_err());
    match held {
        true => Finding::new("sending", Grade::Note, "a pigtail is sending digests right now"),
        false => Finding::new("sending", Grade::Sound, "nobody is sending digests"),
    }
}

/// What a rebuild gave.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rebuilt {
    /// What checking the new file found: nothing wrong.
    pub found: Verification,
    /// Where the damaged file is kept.
    pub kept: PathBuf,
    /// False where what had become of sent mail could not be read any more.
    pub with_outbox: bool,
}

/// Makes a new fleet file from the journal of a damaged one and puts it in its place. The damaged one is kept.
///
/// # Errors
/// [`BookError::Unsound`] where the journal itself is not sound, [`BookError::InUse`] where somebody has the file open,
/// or what the disk says. Nothing is changed then.
pub fn rebuild(path: &Path, now: DateTime<Utc>, progress: &mut dyn FnMut(u64, u64)) -> Result<Rebuilt, BookError> {
    let held = Held::take(path)?;
    let apart;
    let old = match held.conn() {
        Some(conn) => conn,
        None => {
            apart = connect(path, WRITING)?.0;
            &apart
        }
    };
    let steps = Steps::of(old);
    let (entries, all) = (steps.entries, steps.entries * 2 + steps.all());
    sound(chain(old, &mut |seq| progress(seq, all)).map_err(|source| explained(path, source))?, path)?;
    let mut draft = Draft::over(path)?;
    let with_outbox = refill(old, draft.book(), &mut |seq| progress(entries + seq, all))?;
    let found = verify(&draft.book().conn, path, &mut |done, _| progress(entries * 2 + done, all))?;
    let found = sound(found, path)?;
    let kept = held.replaced_by(draft.closed()?, now)?;
    Ok(Rebuilt { found, kept, with_outbox })
}

fn refill(old: &Connection, book: &mut Book, progress: &mut dyn FnMut(u64)) -> Result<bool, BookError> {
    let path = book.path.clone();
    let explain = |source| explained(&path, source);
    let tx = book.conn.transaction().map_err(explain)?;
    copy_rows(old, &tx, "journal").map_err(explain)?;
    replay::project(&tx, &tx, None, &Cell::new(0), progress).map_err(explain)?;
    settle::everything(&tx, &house_rules(&tx, &path)?).map_err(explain)?;
    tx.commit().map_err(explain)?;
    let tx = book.conn.transaction().map_err(explain)?;
    let with_outbox = copy_rows(old, &tx, "outbox").is_ok();
    if with_outbox {
        tx.commit().map_err(explain)?;
    }
    Ok(with_outbox)
}

fn copy_rows(old: &Connection, new: &Connection, table: &str) -> rusqlite::Result<()> {
    let columns: Vec<String> = {
        let whole = new.prepare(&format!("SELECT * FROM {table}"))?;
        whole.column_names().map(str::to_owned).collect()
    };
    let (width, places) = (columns.len(), vec!["?"; columns.len()].join(", "));
    let mut insert = new.prepare(&format!("INSERT INTO {table} VALUES ({places})"))?;
    let mut read = old.prepare(&format!("SELECT {} FROM {table}", columns.join(", ")))?;
    let mut rows = read.query([])?;
    while let Some(row) = rows.next()? {
        let cells =
            (0..width).map(|at| row.get::<_, rusqlite::types::Value>(at)).collect::<rusqlite::Result<Vec<_>>>()?;
        insert.execute(rusqlite::params_from_iter(cells))?;
    }
    Ok(())
}
