//! A disk that errs: every write, every sync and every read of a close-out and of an import refused in turn.
//!
//! Owns: that the change is then whole or absent, said so, and the file sound. Refuses: full disks (`disaster`) and
//! killed processes (`crash`).

use crate::crash::{entries, hires, visit};
use crate::program::{Desk, path_text};
use crate::shell::{pigtail, ran, say};
use pigtail::book::Book;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Compiles `tests/fault/disk.c`, which stands between the program and its disk.
fn bad_disk(folder: &Path) -> Option<PathBuf> {
    let made = folder.join("disk.so");
    let cc = std::env::var("CC").unwrap_or_else(|_| "cc".to_owned());
    if !cfg!(all(target_os = "linux", not(target_env = "musl"))) || Command::new(&cc).arg("--version").output().is_err()
    {
        say("passed over: no C compiler here, or a system on which calls cannot be put between");
        return None;
    }
    let output = Command::new(cc)
        .args(["-shared", "-fPIC", "-Wall", "-Wextra", "-Werror", "tests/fault/disk.c", "-o", path_text(&made)])
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    Some(made)
}

/// What is tried on a file, from what is there before: `None` for a file that is still to be made.
struct Trial<'a> {
    words: Vec<String>,
    start: Option<&'a Path>,
    adds: u64,
    /// How many times the calls of the others it makes.
    size: usize,
}

/// What became of it under ever later faults.
#[derive(Debug, Default, PartialEq, Eq)]
struct Outcomes {
    /// Refused, and nothing is there of it.
    refused: u32,
    /// Reported as failed, and yet all of it is there.
    doubted: u32,
    /// Done in spite of the fault.
    done: u32,
}

/// Refuses call after call of the kinds `calls` until there are no more of them to refuse, every `stride`th.
fn refuse_each(disk: &Path, trial: &Trial<'_>, calls: &str, on: &str, stride: usize) -> Outcomes {
    let held = trial.start.map_or(0, entries);
    let mut outcomes = Outcomes::default();
    for at in (1..).step_by(stride) {
        let (folder, aside) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        let (db, seen) = (folder.path().join("trial.db"), aside.path().join("seen"));
        if let Some(start) = trial.start {
            fs::copy(start, &db).unwrap();
        }
        let mut command = pigtail(&db);
        command.args(&trial.words).env("LD_PRELOAD", disk);
        for (name, value) in [("FOLDER", path_text(folder.path())), ("CALLS", calls), ("ON", on)] {
            command.env(format!("FAULT_{name}"), value);
        }
        let ran = ran(command.env("FAULT_AT", at.to_string()).env("FAULT_SEEN", &seen).output().unwrap());
        if !seen.exists() {
            assert_eq!(ran.status, 0, "{calls} {at}, no fault: {}", ran.err);
            break;
        }
        let now = if db.exists() { entries(&db) } else { 0 };
        let place = format!("{:?}, {calls} {at} {on}: {now} entries after {held}; {}", trial.words, ran.err);
        assert!(now == held || now == held + trial.adds, "half of it: {place}");
        if ran.status == 0 {
            assert_eq!(now, held + trial.adds, "acknowledged and lost: {place}");
            outcomes.done += 1;
            continue;
        }
        assert_eq!(ran.status, 3, "{place}");
        let lines: Vec<&str> = ran.err.lines().filter(|line| !line.starts_with("note: ")).collect();
        assert!(
            matches!(lines.as_slice(), [error, hint] if error.starts_with("error: ") && hint.starts_with("hint: ")),
            "{place}"
        );
        if now == held {
            outcomes.refused += 1;
        } else {
            assert!(ran.err.contains("hint: the visit is recorded"), "it is there and nobody says so: {place}");
            outcomes.doubted += 1;
        }
        let left: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        assert!(left.iter().all(|name| name.to_string_lossy().starts_with("trial.db")), "{left:?}: {place}");
    }
    outcomes
}

fn a_bad_disk(stride: usize) {
    let desk = Desk::with_demo_fleet();
    let Some(disk) = bad_disk(desk.folder.path()) else { return };
    let start = desk.db();
    let demo = vec!["import".to_owned(), "fixtures/demo".to_owned()];
    let adds_demo = entries(&start);
    // One plain file, so that a copy of it is all there is.
    let conn = rusqlite::Connection::open(&start).unwrap();
    conn.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).unwrap();
    drop(conn);
    for (trial, calls) in [
        (Trial { words: visit(1), start: Some(&start), adds: 2, size: 1 }, ["w", "s", "r"].as_slice()),
        (Trial { words: hires(desk.folder.path(), 1, 30), start: Some(&start), adds: 30, size: 1 }, &["w", "s"]),
        (Trial { words: demo, start: None, adds: adds_demo, size: 20 }, &["w", "s"]),
    ] {
        for calls in calls {
            for on in ["once", "on"] {
                // There are far fewer syncs than writes.
                let stride = if *calls == "s" { (stride * trial.size / 40).max(1) } else { stride * trial.size };
                let outcomes = refuse_each(&disk, &trial, calls, on, stride);
                assert!(outcomes.refused > 0, "{calls} {on}: {outcomes:?}");
                if stride == 1 {
                    say(&format!("{:?} {calls} {on}: {outcomes:?}", &trial.words[..2]));
                }
            }
        }
    }
}

/// A sync that fails after everything was written: those who have the file open do not see the change, but where the
/// power goes before somebody else writes, whoever opens the file next does. It is whole or absent, and nobody was
/// promised which.
#[test]
fn a_sync_refused_while_others_have_the_file_open() {
    let desk = Desk::with_demo_fleet();
    let Some(disk) = bad_disk(desk.folder.path()) else { return };
    let db = desk.db();
    let open = Book::open(&db).unwrap();
    // Something stands in the log that the next writer goes on with.
    assert_eq!(desk.types(&["hold", "add", "R-001", "--because", "smell of gas"]).status, 0);
    let held = open.head().unwrap().seq;
    let seen = desk.path("seen");
    let mut command = pigtail(&db);
    command.args(visit(1)).env("LD_PRELOAD", disk).env("FAULT_SEEN", &seen);
    command.env("FAULT_FOLDER", path_text(desk.folder.path())).env("FAULT_CALLS", "s").env("FAULT_ON", "once");
    let ran = ran(command.env("FAULT_AT", "1").output().unwrap());
    assert!(seen.exists() && ran.status == 3, "{}", ran.err);
    assert_eq!(open.head().unwrap().seq, held);
    let after = desk.path("after.db");
    fs::copy(&db, &after).unwrap();
    fs::copy(desk.path("fleet.db-wal"), desk.path("after.db-wal")).unwrap();
    assert_eq!(entries(&after), held + 2, "the next to open it sees all of it");
    assert_eq!(
        ran.err,
        format!(
            "error: the disk that holds {} did not confirm what was written\nhint: check the disk; what was to be \
             recorded is recorded whole or not at all: pigtail journal list --last 5 says which\n",
            db.display()
        )
    );
    // Typed again, it is recorded once, whatever had become of it.
    let again = pigtail(&db).args(visit(1)).output().unwrap();
    assert!(again.status.success());
    assert_eq!(entries(&db), held + 2);
}

#[test]
fn some_calls_refused() {
    a_bad_disk(11);
}

#[test]
#[ignore = "minutes: cargo test --test it fault -- --ignored"]
fn every_call_refused_in_turn() {
    a_bad_disk(1);
}
