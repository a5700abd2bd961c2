//! The SQLite file: opening, recognising and migrating it.
//!
//! Owns: pragmas, schema versions, and saying in the trade's words what SQLite reports. Refuses: files of others and
//! files newer than this program, untouched.

use super::Book;
use super::draft::Draft;
use super::error::BookError;
use super::settle;
use crate::rules::{HouseRules, RuleBook, parse_house};
use rusqlite::config::DbConfig;
use rusqlite::{Connection, ErrorCode, OpenFlags, TransactionBehavior, ffi};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// `PIGT`: how the file is told from any other SQLite file.
const APPLICATION_ID: i32 = 0x5049_4754;

/// Append only: a step that has shipped is never edited.
const MIGRATIONS: [&str; 2] =
    [include_str!("../../schema/migrations/0001_book.sql"), include_str!("../../schema/migrations/0002_kept_work.sql")];

/// Page size of new files.
const PAGE_BYTES: u32 = 8192;

/// How long a writer waits for another before it gives up.
const PATIENCE: Duration = Duration::from_secs(20);

impl Book {
    /// Makes a new, empty file, readable by its owner only. It comes to be whole or not at all.
    ///
    /// # Errors
    /// [`BookError::Exists`] where there is one, or what the disk says.
    pub fn create(path: &Path) -> Result<Self, BookError> {
        Draft::beside(path)?.publish()?;
        Self::open(path)
    }

    /// Opens a file, bringing an older schema up to date.
    ///
    /// # Errors
    /// [`BookError`] naming what is wrong; the file is left as it was.
    pub fn open(path: &Path) -> Result<Self, BookError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let (mut conn, schema) = connect(path, flags)?;
        prepare(&mut conn, path, schema)?;
        Self::with(conn, path.to_owned())
    }

    /// A book that lives in memory and ends with the process: for trying changes out.
    ///
    /// # Errors
    /// [`BookError`] where even that fails.
    pub fn in_memory() -> Result<Self, BookError> {
        let path = PathBuf::from("memory");
        let conn = Connection::open_in_memory().map_err(|source| explained(&path, source))?;
        Self::of_nothing(conn, path)
    }

    /// A book in a database that holds nothing yet.
    pub(super) fn of_nothing(mut conn: Connection, path: PathBuf) -> Result<Self, BookError> {
        conn.busy_timeout(PATIENCE).map_err(|source| explained(&path, source))?;
        prepare(&mut conn, &path, 0)?;
        Self::with(conn, path)
    }

    fn with(conn: Connection, path: PathBuf) -> Result<Self, BookError> {
        conn.set_prepared_statement_cache_capacity(128);
        let rules = house_rules(&conn, &path)?;
        let mut book = Self { conn, path, rules };
        book.settle_under_present_rules()?;
        Ok(book)
    }

    /// Recomputes due dates where they were kept under other rules than those in force.
    fn settle_under_present_rules(&mut self) -> Result<(), BookError> {
        if self.kept_fingerprint()? == self.rules.fingerprint() {
            return Ok(());
        }
        let path = self.path.clone();
        let explain = |source| explained(&path, source);
        let tx = self.conn.transaction_with_behavior(TransactionBehavior::Immediate).map_err(explain)?;
        settle::everything(&tx, &self.rules).map_err(explain)?;
        tx.commit().map_err(explain)
    }

    fn kept_fingerprint(&self) -> Result<String, BookError> {
        self.conn
            .query_row("SELECT rules_fingerprint FROM projection", [], |row| row.get(0))
            .map_err(|source| self.explained(source))
    }

    /// Where the file is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    pub(super) fn explained(&self, source: rusqlite::Error) -> BookError {
        explained(&self.path, source)
    }
}

/// The rules in force in a file: the shipped packs and the house rules adopted in it.
pub(super) fn house_rules(conn: &Connection, path: &Path) -> Result<RuleBook, BookError> {
    let explain = |source| explained(path, source);
    let mut statement = conn.prepare("SELECT pack, toml FROM house_rules ORDER BY pack").map_err(explain)?;
    let texts: Vec<String> = statement.query_map([], |row| row.get(1)).and_then(Iterator::collect).map_err(explain)?;
    let house: Result<Vec<HouseRules>, _> = texts.iter().map(|toml| parse_house("house rules", toml)).collect();
    house
        .and_then(|house| RuleBook::new(&house))
        .map_err(|source| BookError::HouseRules { path: path.to_owned(), source })
}

/// A connection to a fleet file that is there and ours, and its schema. Nothing is written.
pub(super) fn connect(path: &Path, flags: OpenFlags) -> Result<(Connection, usize), BookError> {
    let found = std::fs::metadata(path).map_err(|source| match source.kind() {
        std::io::ErrorKind::NotFound => BookError::Missing { path: path.to_owned() },
        _ => outside(path, source),
    })?;
    if found.is_dir() {
        return Err(BookError::Folder { path: path.to_owned() });
    }
    if found.len() == 0 {
        return Err(BookError::Empty { path: path.to_owned() });
    }
    let explain = |source| explained(path, source);
    let conn = Connection::open_with_flags(path, flags).map_err(explain)?;
    conn.busy_timeout(PATIENCE).map_err(explain)?;
    let id: i32 = conn.pragma_query_value(None, "application_id", |row| row.get(0)).map_err(explain)?;
    let schema: u32 = conn.pragma_query_value(None, "user_version", |row| row.get(0)).map_err(explain)?;
    if id != APPLICATION_ID {
        return Err(BookError::NotOurs { path: path.to_owned() });
    }
    let known = u32::try_from(MIGRATIONS.len()).unwrap_or(u32::MAX);
    if schema > known {
        return Err(BookError::Newer { path: path.to_owned(), found: schema, known });
    }
    Ok((conn, schema as usize))
}

/// Sets a connection up for reading and writing, and brings the schema up to date.
fn prepare(conn: &mut Connection, path: &Path, schema: usize) -> Result<(), BookError> {
    let explain = |source| explained(path, source);
    // Or SQLite prepares some queries anew for every value they are asked with, which costs more than the answer.
    conn.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_QPSG, true).map_err(explain)?;
    conn.pragma_update(None, "foreign_keys", true).map_err(explain)?;
    conn.pragma_update(None, "trusted_schema", false).map_err(explain)?;
    conn.pragma_update(None, "synchronous", "FULL").map_err(explain)?;
    if schema == 0 {
        // Rows of a few hundred bytes: half the pages, half the writes. Only an empty file takes it.
        conn.pragma_update(None, "page_size", PAGE_BYTES).map_err(explain)?;
    }
    let mode: String = conn.pragma_query_value(None, "journal_mode", |row| row.get(0)).map_err(explain)?;
    let writable = !conn.is_readonly(rusqlite::MAIN_DB).map_err(explain)?;
    if writable && mode != "wal" && mode != "memory" {
        // A backup is one plain file; as soon as it is worked with, readers must not block writers.
        conn.pragma_update(None, "journal_mode", "WAL").map_err(explain)?;
    }
    if schema == MIGRATIONS.len() {
        return Ok(());
    }
    let tx = conn.transaction_with_behavior(TransactionBehavior::Immediate).map_err(explain)?;
    // Another process may have migrated while this one waited for the lock.
    let found: usize = tx.pragma_query_value(None, "user_version", |row| row.get(0)).map_err(explain)?;
    for step in MIGRATIONS.iter().skip(found) {
        tx.execute_batch(step).map_err(explain)?;
    }
    tx.pragma_update(None, "application_id", APPLICATION_ID).map_err(explain)?;
    tx.pragma_update(None, "user_version", MIGRATIONS.len() as u32).map_err(explain)?;
    tx.commit().map_err(explain)
}

/// Says in the trade's words what SQLite reports.
pub(super) fn explained(path: &Path, source: rusqlite::Error) -> BookError {
    let path = path.to_owned();
    match &source {
        rusqlite::Error::FromSqlConversionFailure(_, _, cause) => BookError::Damaged { path, what: cause.to_string() },
        rusqlite::Error::InvalidColumnType(_, column, _) | rusqlite::Error::InvalidColumnName(column) => {
            BookError::Damaged { what: format!("column {column} holds something else"), path }
        }
        rusqlite::Error::SqliteFailure(failure, _) => match failure.code {
            ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked => BookError::Busy { path },
            ErrorCode::ReadOnly | ErrorCode::PermissionDenied | ErrorCode::CannotOpen => BookError::ReadOnly { path },
            ErrorCode::DiskFull => BookError::Full { path },
            ErrorCode::SystemIoFailure => BookError::Disk { path },
            ErrorCode::NotADatabase => BookError::NotOurs { path },
            ErrorCode::DatabaseCorrupt => BookError::Damaged { path, what: "its pages do not fit together".to_owned() },
            ErrorCode::Unknown => BookError::Damaged { path, what: source.to_string() },
            _ => BookError::Database { path, source },
        },
        _ => BookError::Database { path, source },
    }
}

/// As [`explained`], of a commit: where only the sync failed, nobody can promise that nothing was changed. (A draft, which
/// is not in its place yet, is thrown away.)
pub(super) fn explained_at_commit(path: &Path, source: rusqlite::Error) -> BookError {
    match &source {
        rusqlite::Error::SqliteFailure(failure, _)
            if failure.extended_code == ffi::SQLITE_IOERR_FSYNC && path.exists() =>
        {
            BookError::Unconfirmed { path: path.to_owned() }
        }
        _ => explained(path, source),
    }
}

/// Says in the trade's words what the operating system reports.
pub(super) fn outside(path: &Path, source: std::io::Error) -> BookError {
    use std::io::ErrorKind;
    let path = path.to_owned();
    match source.kind() {
        ErrorKind::AlreadyExists => BookError::Exists { path },
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => BookError::ReadOnly { path },
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => BookError::Full { path },
        _ => BookError::Io { path, source },
    }
}
