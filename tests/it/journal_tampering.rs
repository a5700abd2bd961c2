//! A file changed behind the program's back, every way there is.
//!
//! Owns: that `verify` sees each of them, at the right entry where it is about one. Refuses: whoever rewrites all of a
//! file and its hashes; only a head printed elsewhere shows that, and one test says so.

use crate::book_facts::{recording, small_fleet, take};
use pigtail::book::{Book, Fault};
use pigtail::journal::{Author, Entry, Hash, Instant};
use rusqlite::types::Value;
use rusqlite::{Connection, params};
use std::path::{Path, PathBuf};

const TRIGGERS: [&str; 2] = ["journal_is_never_edited", "journal_is_never_shortened"];

struct Fleet {
    folder: tempfile::TempDir,
}

impl Fleet {
    /// A fleet of one of everything, and a file of its own for every trial.
    fn new() -> Self {
        let fleet = Self { folder: tempfile::tempdir().unwrap() };
        let mut book = Book::create(&fleet.master()).unwrap();
        for (minute, body) in small_fleet().into_iter().enumerate() {
            take(&mut book, minute as i64, [body]);
        }
        drop(book);
        fleet
    }

    fn master(&self) -> PathBuf {
        self.folder.path().join("fleet.db")
    }

    /// What is found after `tamper` had its way with a copy that was open already.
    fn after(&self, tamper: impl FnOnce(&Connection)) -> Vec<Fault> {
        let path = self.folder.path().join("trial.db");
        std::fs::copy(self.master(), &path).unwrap();
        let book = Book::open(&path).unwrap();
        tampered(&path, tamper);
        book.verify(&mut |_, _| {}).unwrap().faults
    }
}

/// Lets `tamper` write what it likes, and puts the triggers back so that they do not give it away.
fn tampered(path: &Path, tamper: impl FnOnce(&Connection)) {
    let conn = Connection::open(path).unwrap();
    conn.execute_batch("PRAGMA synchronous = OFF; PRAGMA foreign_keys = OFF; PRAGMA ignore_check_constraints = ON")
        .unwrap();
    let made: Vec<String> = TRIGGERS
        .iter()
        .map(|name| conn.query_row("SELECT sql FROM sqlite_schema WHERE name = ?", [name], |row| row.get(0)).unwrap())
        .collect();
    TRIGGERS.iter().for_each(|name| conn.execute_batch(&format!("DROP TRIGGER {name}")).unwrap());
    tamper(&conn);
    made.iter().for_each(|sql| conn.execute_batch(sql).unwrap());
}

#[test]
fn every_byte_of_every_entry() {
    let fleet = Fleet::new();
    let path = fleet.master();
    let book = Book::open(&path).unwrap();
    let mut tried = 0;
    tampered(&path, |conn| {
        for (entry, _) in book.entries().unwrap() {
            for column in ["recorded_at", "author", "body", "prev_hash", "hash"] {
                let read = format!("SELECT CAST({column} AS BLOB) FROM journal WHERE seq = ?");
                let sealed: Vec<u8> = conn.query_row(&read, [entry.seq.cast_signed()], |row| row.get(0)).unwrap();
                let cast = if column.ends_with("hash") { "?" } else { "CAST(? AS TEXT)" };
                let write = format!("UPDATE journal SET {column} = {cast} WHERE seq = ?");
                let mut write = conn.prepare(&write).unwrap();
                for at in 0..sealed.len() {
                    let mut flipped = sealed.clone();
                    flipped[at] ^= 1;
                    write.execute(params![flipped, entry.seq.cast_signed()]).unwrap();
                    let found = book.verify(&mut |_, _| {}).unwrap();
                    let seqs: Vec<_> = found.faults.iter().map(|fault| fault.seq).collect();
                    // The triggers are away, but the entry comes first.
                    assert_eq!(seqs, [Some(entry.seq)], "byte {at} of {column} of entry {}", entry.seq);
                    tried += 1;
                }
                write.execute(params![sealed, entry.seq.cast_signed()]).unwrap();
            }
        }
    });
    assert!(tried > 4000, "{tried}");
    assert_eq!(book.verify(&mut |_, _| {}).unwrap().faults, [], "put back as it was");
}

#[test]
fn rows_swapped_dropped_doubled_and_renumbered() {
    let fleet = Fleet::new();
    let last = small_fleet().len() as u64;
    let renumber = |conn: &Connection, from: u64, to: u64| {
        conn.execute("UPDATE journal SET seq = ? WHERE seq = ?", [to.cast_signed(), from.cast_signed()]).unwrap();
    };
    for seq in 1..=last {
        let faults = fleet.after(|conn| {
            conn.execute("DELETE FROM journal WHERE seq = ?", [seq.cast_signed()]).unwrap();
        });
        let expected = if seq == last { None } else { Some(seq) };
        assert_eq!(faults[0].seq, expected, "entry {seq} dropped: {faults:?}");
        let faults = fleet.after(|conn| {
            conn.execute(
                "INSERT INTO journal SELECT ?, recorded_at, author, body, prev_hash, hash FROM journal WHERE seq = ?",
                [last.cast_signed() + 1, seq.cast_signed()],
            )
            .unwrap();
        });
        assert_eq!(faults[0].seq, Some(last + 1), "entry {seq} doubled");
        let faults = fleet.after(|conn| renumber(conn, seq, last + 7));
        assert_eq!(faults[0].seq, Some(seq), "entry {seq} renumbered");
    }
    for seq in 1..last {
        let faults = fleet.after(|conn| {
            for (from, to) in [(seq, last + 9), (seq + 1, seq), (last + 9, seq + 1)] {
                renumber(conn, from, to);
            }
        });
        assert_eq!(faults[0].seq, Some(seq), "entries {seq} and {} swapped", seq + 1);
    }
    let faults = fleet.after(|conn| {
        conn.execute("DELETE FROM journal", []).unwrap();
    });
    assert!(!faults.is_empty(), "everything dropped");
}

#[test]
fn every_column_of_every_table() {
    let fleet = Fleet::new();
    let tables: Vec<String> = Connection::open(fleet.master())
        .unwrap()
        .prepare("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT IN ('journal', 'outbox')")
        .unwrap()
        .query_map([], |row| row.get(0))
        .unwrap()
        .collect::<Result<_, _>>()
        .unwrap();
    assert_eq!(tables.len(), 20);
    for table in tables {
        let conn = Connection::open(fleet.master()).unwrap();
        let statement = conn.prepare(&format!("SELECT * FROM {table}")).unwrap();
        let columns: Vec<String> = statement.column_names().map(str::to_owned).collect();
        let rows: i64 = conn.query_row(&format!("SELECT count(*) FROM {table}"), [], |row| row.get(0)).unwrap();
        assert!(rows > 0, "{table} is empty and proves nothing");
        let of_first = first(&conn, &columns, &table);
        for column in &columns {
            let read = format!("SELECT {column} FROM {table} LIMIT 1");
            let kept: Value = conn.query_row(&read, [], |row| row.get(0)).unwrap();
            let kind: String = conn
                .query_row("SELECT type FROM pragma_table_info(?) WHERE name = ?", [&table, column], |row| row.get(0))
                .unwrap();
            let edited = match (&kept, kind.as_str()) {
                (Value::Text(text), _) => Value::Text(format!("{text}x")),
                (Value::Integer(number), _) => Value::Integer(number + 1000),
                (Value::Real(number), _) => Value::Real(number + 1.0),
                (_, "TEXT") => Value::Text("2026-01-01".to_owned()),
                (_, "REAL") => Value::Real(1.0),
                _ => Value::Integer(1),
            };
            let faults = fleet.after(|conn| {
                let write = format!("UPDATE {table} SET {column} = ?{of_first}");
                assert!(conn.execute(&write, [edited.clone()]).unwrap() > 0);
            });
            assert!(!faults.is_empty(), "{table}.{column}: {kept:?} became {edited:?} and nobody saw it");
            assert!(faults[0].what.contains(&table), "{table}.{column}: {faults:?}");
        }
        let faults = fleet.after(|conn| {
            conn.execute(&format!("DELETE FROM {table}{of_first}"), []).unwrap();
        });
        assert!(!faults.is_empty(), "a row of {table} dropped");
        let faults = fleet.after(|conn| conn.execute_batch(&format!("DROP TABLE {table}")).unwrap());
        assert!(!faults.is_empty(), "{table} dropped");
    }
}

/// The clause that finds a table's first row and no other.
fn first(conn: &Connection, columns: &[String], table: &str) -> String {
    let quoted: Vec<String> = columns.iter().map(|column| format!("quote({column})")).collect();
    let read = format!("SELECT {} FROM {table} LIMIT 1", quoted.join(", "));
    let clauses = conn.query_row(&read, [], |row| {
        columns
            .iter()
            .enumerate()
            .map(|(at, column)| Ok(format!("{column} IS {}", row.get::<_, String>(at)?)))
            .collect::<rusqlite::Result<Vec<_>>>()
    });
    format!(" WHERE {}", clauses.unwrap().join(" AND "))
}

#[test]
fn how_the_tables_are_made() {
    let fleet = Fleet::new();
    for (what, sql) in [
        ("trigger spy is not ours", "CREATE TRIGGER spy AFTER INSERT ON journal BEGIN DELETE FROM due; END"),
        ("view v is not ours", "CREATE VIEW v AS SELECT * FROM due"),
        ("index due_in_order is gone", "DROP INDEX due_in_order"),
        ("table due is not made as it should be", "ALTER TABLE due ADD COLUMN extra TEXT"),
    ] {
        let faults = fleet.after(|conn| conn.execute_batch(sql).unwrap());
        assert_eq!(faults.first().map(|fault| fault.what.as_str()), Some(what));
    }
    let path = fleet.master();
    let book = Book::open(&path).unwrap();
    Connection::open(&path).unwrap().execute_batch("DROP TRIGGER journal_is_never_shortened").unwrap();
    let faults = book.verify(&mut |_, _| {}).unwrap().faults;
    assert_eq!(faults[0].what, "trigger journal_is_never_shortened is gone");
}

#[test]
fn the_triggers_keep_a_stray_statement_out() {
    let fleet = Fleet::new();
    let conn = Connection::open(fleet.master()).unwrap();
    for (sql, said) in [
        ("UPDATE journal SET author = 'x'", "never edited"),
        ("DELETE FROM journal WHERE seq = 3", "never removed"),
        ("INSERT OR REPLACE INTO journal SELECT seq, 'x', author, body, prev_hash, hash FROM journal", "never removed"),
    ] {
        // Replacing counts as removing only where this is on.
        conn.execute_batch("PRAGMA recursive_triggers = ON").unwrap();
        let error = conn.execute(sql, []).unwrap_err().to_string();
        assert!(error.contains(said), "{sql}: {error}");
    }
}

/// Seals a chain anew over other contents: what somebody with the file and this source could do.
fn forged(entries: Vec<Entry>, edit: impl Fn(&mut Entry)) -> Vec<Entry> {
    let mut head = Hash::ZERO;
    let mut forged = Vec::new();
    for mut entry in entries {
        edit(&mut entry);
        let author: Author = entry.author.parse().unwrap();
        let sealed = Entry::seal(entry.seq, entry.recorded_at, &author, entry.body, head);
        head = sealed.hash;
        forged.push(sealed);
    }
    forged
}

fn write_all(conn: &Connection, entries: &[Entry]) {
    conn.execute("DELETE FROM journal", []).unwrap();
    for entry in entries {
        conn.execute(
            "INSERT INTO journal VALUES (?, ?, ?, ?, ?, ?)",
            params![
                entry.seq.cast_signed(),
                entry.recorded_at.as_str(),
                entry.author,
                entry.body,
                entry.prev_hash.0,
                entry.hash.0
            ],
        )
        .unwrap();
    }
}

#[test]
fn a_chain_sealed_anew_shows_in_the_tables_or_in_a_head_kept_elsewhere() {
    let fleet = Fleet::new();
    let book = Book::open(&fleet.master()).unwrap();
    let entries: Vec<Entry> = book.entries().unwrap().into_iter().map(|(entry, _)| entry).collect();
    let mailed = book.head().unwrap();
    // Only the journal rewritten: the tables tell.
    let later_mark = forged(entries.clone(), |entry| entry.body = entry.body.replace("2021-11", "2025-11"));
    let faults = fleet.after(|conn| write_all(conn, &later_mark));
    assert_eq!(faults[0].what, "table marks, entry 8: month is not what the journal says");
    // Nonsense sealed well: it is named, and no error of the program.
    let nonsense = forged(entries.clone(), |entry| {
        entry.body = entry.body.replace("\"unit\":\"R-1\",\"appliance\"", "\"unit\":\"R-9\",\"appliance\"");
    });
    let faults = fleet.after(|conn| write_all(conn, &nonsense));
    assert_eq!(faults[0].seq, Some(6), "{faults:?}");
    // Journal and tables rewritten: nothing inside tells, the mailed head does.
    let path = fleet.folder.path().join("forged.db");
    std::fs::copy(fleet.master(), &path).unwrap();
    tampered(&path, |conn| {
        write_all(conn, &later_mark);
        conn.execute_batch("UPDATE marks SET month = '2025-11'; UPDATE projection SET rules_fingerprint = ''").unwrap();
    });
    let book = Book::open(&path).unwrap();
    assert_eq!(book.verify(&mut |_, _| {}).unwrap().faults, []);
    let held = book.entry(mailed.seq).unwrap().unwrap().0;
    assert_ne!(held.hash, mailed.hash);
}

#[test]
fn a_hash_is_what_the_documented_form_says() {
    // Computed with Python's hashlib from docs/journal-format.md.
    let recorded_at = Instant::from_stored("2026-03-02T12:00:00.000Z".to_owned());
    let author = "brandt".parse().unwrap();
    let entry = Entry::seal(1, recorded_at, &author, "{\"change\":\"x\"}".to_owned(), Hash::ZERO);
    assert_eq!(entry.content_hash().to_string(), CONTENT);
    assert_eq!(entry.hash.to_string(), HASH);
    assert_eq!(recording(0).at.as_str(), "2026-03-02T12:00:00.000Z");
}

const CONTENT: &str = "42c1d14fafe001fe9a1e0c0ce7408949c1ad65c9323936c3bf1eace3da5ea68d";
const HASH: &str = "3fc71404fa0541afd00964c37c96fc7a832a63dd5962c5e706933c6391e0b8e9";
