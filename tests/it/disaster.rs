//! A fleet file in trouble: each kind with its two lines, its status, and nothing lost.
//!
//! Owns: files that are not as they should be, places that cannot be written, backups and the way back. Refuses:
//! processes killed half-way, which `crash` has.

use crate::program::{Desk, Ran, path_text, type_words};
use crate::shell::{Shell, mounted};
use pigtail::book::Book;
use rusqlite::Connection;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;

/// A desk with a dozen entries.
fn desk() -> Desk {
    let desk = Desk::new("2026-03-02");
    for words in [
        vec!["init"],
        vec!["depot", "add", "HARBOR", "--timezone", "America/Denver"],
        vec!["unit", "add", "R-1", "--depot", "HARBOR"],
        vec!["person", "add", "brandt"],
        vec!["hold", "add", "R-1", "--because", "smell of gas"],
    ] {
        let ran = desk.types(&words);
        assert_eq!(ran.status, 0, "{words:?}: {}", ran.err);
    }
    desk
}

/// Types a command line about another fleet file.
fn at(db: &Path, words: &[&str]) -> Ran {
    type_words(&[&["pigtail", "--db", path_text(db), "--today", "2026-03-02"], words].concat())
}

fn head(desk: &Desk) -> String {
    let ran = desk.types(&["journal", "verify", "--format", "json"]);
    assert_eq!(ran.status, 0, "{}{}", ran.out, ran.err);
    ran.out
}

/// Two lines, the first naming the file, and the status.
fn check(ran: &Ran, status: u8, names: &str, says: &str) {
    assert_eq!(ran.status, status, "{names}: {}{}", ran.out, ran.err);
    let lines: Vec<&str> = ran.err.lines().filter(|line| !line.starts_with("next:")).collect();
    assert!(
        matches!(lines.as_slice(), [error, hint] if error.starts_with("error: ") && hint.starts_with("hint: ")),
        "{}",
        ran.err
    );
    assert!(ran.err.contains(names) && ran.err.contains(says), "{names} / {says}: {}", ran.err);
}

#[test]
fn files_that_are_no_fleet_file_of_ours() {
    let whole = fs::read(single_file(&desk())).unwrap();
    let mut newer = whole.clone();
    newer[60..64].copy_from_slice(&99u32.to_be_bytes());
    let cases: [(&str, Vec<u8>, &str); 6] = [
        ("empty.db", Vec::new(), "is an empty file"),
        ("letter.db", b"Dear sir, about the gas in your unit".repeat(300), "is not a pigtail fleet file"),
        ("other.db", other_program(), "is not a pigtail fleet file"),
        ("newer.db", newer, "has schema 99; this version knows up to 2"),
        ("half.db", whole[..whole.len() / 2].to_vec(), "is damaged"),
        ("torn.db", torn(whole.clone()), "is not a pigtail fleet file"),
    ];
    for (name, bytes, says) in cases {
        let desk = Desk::new("2026-03-02");
        let path = desk.path(name);
        fs::write(&path, &bytes).unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o600)).unwrap();
        for words in [
            &["due"][..],
            &["depot", "add", "X"],
            &["doctor"],
            &["journal", "verify"],
            &["backup", "b.db"],
            &["import", "fixtures/demo"],
        ] {
            check(&at(&path, words), 3, name, says);
            assert!(fs::read(&path).unwrap() == bytes, "{name} was changed by {words:?}");
        }
        check(&at(&path, &["init"]), 2, name, "already exists");
        // As a backup it is no better.
        check(&desk.types(&["restore", path_text(&path)]), 3, name, says);
        assert!(!desk.db().exists());
    }
    let desk = Desk::new("2026-03-02");
    let folder = desk.folder.path();
    check(&at(folder, &["due"]), 3, path_text(folder), "is a folder");
    check(&desk.types(&["due"]), 2, "fleet.db", "there is no fleet file");
    check(&desk.types(&["restore", "nowhere.db"]), 2, "nowhere.db", "there is no fleet file");
}

/// The file with everything in it and nothing beside it.
fn single_file(desk: &Desk) -> std::path::PathBuf {
    let conn = Connection::open(desk.db()).unwrap();
    conn.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).unwrap();
    desk.db()
}

fn other_program() -> Vec<u8> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("x.db");
    Connection::open(&path).unwrap().execute_batch("CREATE TABLE songs (title TEXT)").unwrap();
    fs::read(path).unwrap()
}

fn torn(mut bytes: Vec<u8>) -> Vec<u8> {
    bytes[..16].copy_from_slice(&[0; 16]);
    bytes
}

#[test]
fn a_file_made_by_nobody_else_can_read_it() {
    let desk = desk();
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(&desk.db()), 0o600);
    let backup = desk.path("b.db");
    assert_eq!(desk.types(&["backup", path_text(&backup)]).status, 0);
    assert_eq!(mode(&backup), 0o600);
    fs::set_permissions(desk.db(), fs::Permissions::from_mode(0o644)).unwrap();
    let ran = desk.types(&["doctor"]);
    assert_eq!(ran.status, 1);
    assert!(ran.out.contains("fault  permissions: ") && ran.out.contains("chmod 600"), "{}", ran.out);
}

#[test]
fn there_and_back() {
    let desk = desk();
    let before = head(&desk);
    let backup = desk.path("b.db");
    let ran = desk.types(&["backup", path_text(&backup)]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(ran.out.contains("4 entries, head ") && ran.out.trim_end().ends_with("checked"), "{}", ran.out);
    check(&desk.types(&["backup", path_text(&backup)]), 2, "b.db", "already exists");
    check(&desk.types(&["backup", path_text(&desk.db()), "--force"]), 2, "fleet.db", "already exists");
    check(&desk.types(&["backup", "/nowhere/at/all/b.db"]), 2, "/nowhere/at/all", "there is no");
    assert_eq!(desk.types(&["unit", "retire", "R-1", "--because", "sold"]).status, 0);
    assert_eq!(desk.types(&["backup", path_text(&backup), "--force"]).status, 0);
    assert_eq!(desk.types(&["journal", "void", "5", "--because", "not sold"]).status, 0);
    let after = head(&desk);
    assert_ne!(after, before);

    check(&desk.types(&["restore", path_text(&backup)]), 2, "fleet.db", "already exists");
    assert_eq!(head(&desk), after);
    let bytes = fs::read(&backup).unwrap();
    let ran = desk.types(&["restore", path_text(&backup), "--force"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(fs::read(&backup).unwrap() == bytes, "the backup was written to");
    let kept = ran.out.lines().last().unwrap().rsplit(' ').next().unwrap().to_owned();
    assert!(kept.contains("fleet.db.replaced-2"), "{}", ran.out);
    assert!(head(&desk).contains("\"entries\":5"));
    // What was replaced is a whole fleet file still.
    let ran = at(Path::new(&kept), &["journal", "verify", "--format", "json"]);
    assert_eq!(ran.out, after);
    assert_eq!(fs::metadata(desk.db()).unwrap().permissions().mode() & 0o777, 0o600);
    assert_eq!(desk.types(&["doctor"]).status, 0);

    // Into a place that holds nothing yet.
    let elsewhere = desk.path("new/place.db");
    assert_eq!(at(&elsewhere, &["restore", path_text(&backup)]).status, 0);
    assert!(elsewhere.exists());
    assert_eq!(leftovers(desk.folder.path()), [""; 0]);
}

/// Hidden files of ours in a folder.
fn leftovers(folder: &Path) -> Vec<String> {
    let names = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned());
    names.filter(|name| name.starts_with(".pigtail-")).collect()
}

#[test]
fn what_is_not_sound_is_neither_backed_up_over_a_good_copy_nor_restored() {
    let desk = desk();
    let backup = desk.path("b.db");
    assert_eq!(desk.types(&["backup", path_text(&backup)]).status, 0);
    let good = fs::read(&backup).unwrap();
    let bad = desk.path("bad.db");
    fs::copy(&backup, &bad).unwrap();
    let edit = |path: &Path, sql: &str| Connection::open(path).unwrap().execute_batch(sql).unwrap();
    edit(&bad, "UPDATE units SET note = 'x'");
    let before = head(&desk);
    for force in [&["--force"][..], &[]] {
        let words: Vec<&str> = ["restore", path_text(&bad)].into_iter().chain(force.iter().copied()).collect();
        let ran = desk.types(&words);
        if force.is_empty() {
            check(&ran, 2, "fleet.db", "already exists");
        } else {
            assert_eq!(ran.status, 1, "{}", ran.err);
            assert!(ran.err.contains("bad.db is not sound\nerror: table units, R-1: note is not"), "{}", ran.err);
        }
        assert_eq!(head(&desk), before);
    }
    edit(&desk.db(), "UPDATE units SET note = 'x'");
    let ran = desk.types(&["backup", path_text(&backup), "--force"]);
    assert_eq!(ran.status, 1, "{}", ran.err);
    assert!(fs::read(&backup).unwrap() == good);
    assert_eq!(leftovers(desk.folder.path()), [""; 0]);
}

#[test]
fn the_doctor_rebuilds_what_the_journal_still_knows() {
    let cases: [(&str, &str); 5] = [
        ("UPDATE units SET note = 'x'", "fault  tables: table units, R-1: note is not what the journal says"),
        ("DELETE FROM due", "fault  tables: table due: unit:R-1 is missing"),
        ("DROP TABLE holds", "fault  tables: index holds_by_unit is gone"),
        (
            "UPDATE house_rules SET toml = 'x'; INSERT INTO house_rules VALUES ('us', 'nonsense', 9)",
            "fault  tables: table house_rules: us is not in the journal",
        ),
        ("DROP TRIGGER journal_is_never_edited", "fault  tables: trigger journal_is_never_edited is gone"),
    ];
    for (sql, says) in cases {
        let desk = desk();
        let before = head(&desk);
        Connection::open(desk.db()).unwrap().execute_batch(sql).unwrap();
        let ran = desk.types(&["doctor"]);
        assert!(ran.status == 1 && ran.out.contains(says), "{sql}: {}{}", ran.out, ran.err);
        let ran = desk.types(&["journal", "verify"]);
        assert!(ran.status == 1 && ran.out.contains(says.trim_start_matches("fault  tables: ")), "{sql}: {}", ran.out);
        let ran = desk.types(&["doctor", "--rebuild"]);
        assert_eq!(ran.status, 0, "{sql}: {}", ran.err);
        assert_eq!(head(&desk), before, "{sql}");
        let ran = desk.types(&["doctor", "--format", "json"]);
        assert!(
            ran.status == 0 && ran.out.starts_with("{\"ok\":true,\"findings\":[{\"check\":\"permissions\""),
            "{}",
            ran.out
        );
    }
    // Due dates kept under the rules of an older release are no damage.
    let older = desk();
    Connection::open(older.db())
        .unwrap()
        .execute_batch("UPDATE projection SET rules_fingerprint = 'older'; DELETE FROM due")
        .unwrap();
    assert_eq!(older.types(&["doctor"]).status, 0);
    // A journal that is not sound is not built upon.
    let desk = desk();
    Connection::open(desk.db())
        .unwrap()
        .execute_batch("DROP TRIGGER journal_is_never_edited; UPDATE journal SET author = 'x' WHERE seq = 2")
        .unwrap();
    let ran = desk.types(&["doctor"]);
    assert_eq!(ran.status, 1);
    assert!(ran.out.contains("fault  journal: entry 2 does not match its hash"), "{}", ran.out);
    assert!(ran.err.contains("restore BACKUP"), "{}", ran.err);
    let before = fs::read(desk.db()).unwrap();
    let ran = desk.types(&["doctor", "--rebuild"]);
    assert_eq!(ran.status, 1, "{}", ran.out);
    assert_eq!(fs::read(desk.db()).unwrap().len(), before.len());
    let ran = desk.types(&["journal", "verify", "--format", "json"]);
    assert!(ran.status == 1 && ran.out.contains("\"first_bad\":2"), "{}", ran.out);
    let ran = desk.types(&["journal", "verify"]);
    assert!(ran.out.contains("entry 2 does not match its hash\nfirst bad entry 2\n1 entries, head "), "{}", ran.out);
}

#[test]
fn a_file_somebody_has_open_is_not_replaced() {
    let desk = desk();
    let backup = desk.path("b.db");
    assert_eq!(desk.types(&["backup", path_text(&backup)]).status, 0);
    let open = Book::open(&desk.db()).unwrap();
    let before = open.head().unwrap();
    for words in [&["restore", path_text(&backup), "--force"][..], &["doctor", "--rebuild"]] {
        check(&desk.types(words), 3, "fleet.db", "is in use by another process");
    }
    assert_eq!(open.head().unwrap(), before);
    drop(open);
    assert_eq!(desk.types(&["restore", path_text(&backup), "--force"]).status, 0);
}

#[test]
fn clock_leftovers_and_a_sender_are_noted() {
    use crate::book_facts::{change, recording_at};
    let desk = desk();
    let mut book = Book::open(&desk.db()).unwrap();
    let event = |on: &str| change(serde_json::json!({"change": "event", "unit": "R-1", "on": on, "event": "fire"}));
    for (moment, on) in [
        ("2025-01-05T10:00:00Z", "2025-01-01"),
        ("2025-01-05T09:59:30Z", "2025-01-02"),
        ("2025-01-05T09:00:00Z", "2025-01-03"),
    ] {
        book.record(&recording_at(moment), [event(on).into()], &mut |_| {}).unwrap();
    }
    drop(book);
    fs::write(desk.path(".pigtail-abc.part"), "").unwrap();
    fs::write(desk.path("fleet.db.R-1.draft.toml"), "").unwrap();
    let lock = fs::File::create(desk.path("fleet.db.sending")).unwrap();
    lock.lock().unwrap();
    let ran = desk.types(&["doctor"]);
    assert_eq!(ran.status, 0, "{}{}", ran.out, ran.err);
    for line in [
        "note   clock: was set back 2 times, first before entry 5\n",
        "note   visits: close-outs left half-way, to be gone on with or deleted: fleet.db.R-1.draft.toml\n",
        "note   leftovers: left by broken runs, to be deleted if no pigtail is running: .pigtail-abc.part\n",
        "note   sending: a pigtail is sending digests right now\n",
    ] {
        assert!(ran.out.contains(line), "{line}{}", ran.out);
    }
    drop(lock);
    assert!(desk.types(&["doctor"]).out.contains("sound  sending: nobody is sending digests\n"));
}

#[test]
fn a_writer_waits_for_another_and_gives_up_with_a_message() {
    let desk = desk();
    let other = Connection::open(desk.db()).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    // Readers do not wait.
    assert_eq!(desk.types(&["ready", "R-1"]).status, 1);
    assert_eq!(desk.types(&["journal", "verify"]).status, 0);
    let waiting = std::time::Instant::now();
    std::thread::scope(|scope| {
        let writer = scope.spawn(|| desk.types(&["unit", "add", "R-2", "--depot", "HARBOR"]));
        std::thread::sleep(std::time::Duration::from_millis(700));
        other.execute_batch("COMMIT").unwrap();
        let ran = writer.join().unwrap();
        assert_eq!(ran.status, 0, "{}", ran.err);
    });
    assert!(waiting.elapsed().as_millis() >= 700);
}

#[test]
#[ignore = "waits for twenty seconds: cargo test --test it disaster -- --ignored"]
fn a_lock_that_is_never_let_go() {
    let desk = desk();
    let other = Connection::open(desk.db()).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let ran = desk.types(&["unit", "add", "R-2", "--depot", "HARBOR"]);
    check(&ran, 3, "fleet.db", "is being written by another process");
    other.execute_batch("ROLLBACK").unwrap();
    assert!(head(&desk).contains("\"entries\":4"));
}

#[test]
fn a_place_that_cannot_be_written() {
    let Some(shell) = Shell::of_nobody() else { return };
    let desk = desk();
    let open_up = |mode: u32| fs::set_permissions(desk.folder.path(), fs::Permissions::from_mode(mode)).unwrap();
    shell.give(&desk.db());
    open_up(0o755);
    let ran = shell.types(&desk.db(), &["unit", "add", "R-2", "--depot", "HARBOR"]);
    check(&ran, 3, "fleet.db", "may not be written");
    let new = desk.path("new.db");
    check(&shell.types(&new, &["init"]), 3, "new.db", "may not be written");
    check(&shell.types(&new, &["import", "fixtures/demo"]), 3, "new.db", "may not be written");
    let ran = shell.types(&desk.db(), &["backup", path_text(&desk.path("b.db"))]);
    assert_eq!(ran.status, 3, "{}", ran.err);
    open_up(0o777);
    fs::set_permissions(desk.db(), fs::Permissions::from_mode(0o400)).unwrap();
    check(&shell.types(&desk.db(), &["unit", "add", "R-2", "--depot", "HARBOR"]), 3, "fleet.db", "may not be written");
    fs::set_permissions(desk.db(), fs::Permissions::from_mode(0o000)).unwrap();
    check(&shell.types(&desk.db(), &["due"]), 3, "fleet.db", "may not be");
    fs::set_permissions(desk.db(), fs::Permissions::from_mode(0o600)).unwrap();
    assert!(head(&desk).contains("\"entries\":4"));
}

#[test]
fn a_disk_that_is_full() {
    let Some(disk) = mounted(2 << 20) else { return };
    let source = desk();
    let db = disk.path().join("fleet.db");
    let ran = at(&db, &["restore", path_text(&single_file(&source))]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let entries = |expected: u64| {
        let ran = at(&db, &["journal", "verify", "--format", "json"]);
        assert!(ran.status == 0 && ran.out.contains(&format!("\"entries\":{expected},")), "{}{}", ran.out, ran.err);
    };
    entries(4);
    let mut taken = 0;
    // Ever more room: from none at all to enough.
    for spare in 0..48 {
        disk.fill_all_but(spare * 4096);
        let unit = format!("F-{spare}");
        let ran = at(&db, &["unit", "add", &unit, "--depot", "HARBOR"]);
        if ran.status == 0 {
            taken += 1;
        } else {
            check(&ran, 3, "fleet.db", "disk");
        }
        disk.empty_again();
        entries(4 + taken);
    }
    assert!(taken > 0 && taken < 48, "{taken}");
    disk.fill_all_but(64 << 10);
    let ran = at(&db, &["backup", path_text(&disk.path().join("b.db"))]);
    check(&ran, 3, "b.db", "full");
    assert!(!disk.path().join("b.db").exists());
    assert_eq!(leftovers(disk.path()), [""; 0]);
}

#[test]
fn of_two_who_make_a_file_at_once_one_makes_it() {
    use pigtail::book::{BookError, Draft};
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("fleet.db");
    let late = Draft::beside(&path).unwrap();
    let mut book = Book::create(&path).unwrap();
    crate::book_facts::take(&mut book, 0, crate::book_facts::small_fleet().into_iter().take(1));
    assert!(matches!(late.publish(), Err(BookError::Exists { .. })));
    assert_eq!(Book::open(&path).unwrap().head().unwrap().seq, 1);
    assert_eq!(leftovers(folder.path()), [""; 0]);
}
