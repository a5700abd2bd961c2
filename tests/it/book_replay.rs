//! Tables against the journal, however they came to be.
//!
//! Owns: that replaying gives what recording gave, and that what is refused leaves no trace. Refuses: tampering.

use crate::book_facts::{batches, change, fact, recording, said, small_fleet, take};
use pigtail::book::{Book, DueFilter, RecordError};
use pigtail::journal::Fact;
use proptest::test_runner::Config;
use serde_json::json;
use std::path::Path;

fn assert_sound(book: &Book) {
    let found = book.verify(&mut |_, _| {}).unwrap();
    assert_eq!(found.faults, [], "of {} entries", found.entries);
}

proptest::proptest! {
    #![proptest_config(Config { cases: 16, ..Config::default() })]

    /// Rows that were brought up to date change by change, voids included, are the rows that a replay into an empty
    /// file gives, due rows too. A refusal says why and is not the program's or the file's fault.
    #[test]
    fn replaying_gives_what_recording_gave(batches in batches(40)) {
        let mut book = Book::in_memory().unwrap();
        take(&mut book, 0, small_fleet().into_iter().take(7));
        for (minute, batch) in batches.into_iter().enumerate() {
            let before = book.head().unwrap();
            let facts: Vec<Fact> = batch.iter().cloned().map(fact).collect();
            match book.record(&recording(minute as i64), facts, &mut |_| {}) {
                Ok(recorded) => assert_eq!(book.head().unwrap().seq, before.seq + recorded.added),
                Err(RecordError::Refused(_)) => assert_eq!(book.head().unwrap(), before),
                Err(RecordError::Book(error)) => panic!("{batch:?}: {error}"),
            }
        }
        assert_sound(&book);
    }
}

fn pages(path: &Path) -> Vec<u8> {
    let conn = rusqlite::Connection::open(path).unwrap();
    conn.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).unwrap();
    std::fs::read(path).unwrap()
}

#[test]
fn what_is_refused_leaves_the_file_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("fleet.db");
    let mut book = Book::create(&path).unwrap();
    take(&mut book, 0, small_fleet());
    let before = pages(&path);
    let refused = [
        json!({"change": "unit", "unit": "R-2", "depot": "NOWHERE"}),
        json!({"change": "mark", "part": "CY-1", "month": "2013-01", "method": "external-visual"}),
        json!({"change": "event", "unit": "R-1", "on": "2026-03-03", "event": "fire"}),
        json!({"change": "part", "part": "CY-1", "kind": "hose"}),
        json!({"change": "hold-lifted", "unit": "R-1", "hold": 13, "on": "2026-03-01", "because": "again"}),
        json!({"change": "house-rules", "pack": "us", "toml": "pack = \"us\"\n[[change]]\nrule = \"cylinder-requalification\"\nreason = \"cheaper\"\nspec = \"DOT-4BA\"\nfirst = { from = \"made\", span = \"20 years\" }\n"}),
        json!({"change": "void", "seq": 7, "because": "slip"}),
        json!({"change": "void", "seq": 99, "because": "slip"}),
        json!({"change": "void", "seq": 12, "because": " "}),
    ];
    for body in refused {
        // A sound fact before it goes with it: all or nothing.
        let facts = [json!({"change": "event", "unit": "R-1", "on": "2026-03-01", "event": "fire"}), body.clone()];
        let told = book.record(&recording(9), facts.map(|body| change(body).into()), &mut |_| {}).unwrap_err();
        assert!(matches!(told, RecordError::Refused(_)), "{body}: {}", said(&told));
        assert!(pages(&path) == before, "{body} left a trace");
    }
    let rehearsed = book
        .rehearse(&recording(9), [change(json!({"change": "void", "seq": 12, "because": "slip"})).into()], &mut |_| {})
        .unwrap();
    assert_eq!(rehearsed.added, 1);
    assert!(pages(&path) == before, "a rehearsal left a trace");
    assert_sound(&book);
}

#[test]
fn a_fleet_of_everything_is_sound() {
    let mut book = Book::in_memory().unwrap();
    for (minute, body) in small_fleet().into_iter().enumerate() {
        let recorded = take(&mut book, minute as i64, [body.clone()]);
        assert_eq!(recorded.added, 1, "{body}");
    }
    assert_sound(&book);
}

#[test]
fn hundreds_at_once_are_as_sound_as_one_by_one() {
    let hose = |number: usize, unit: &str| json!({"change": "part", "part": format!("NEW-{number}"), "unit": unit, "kind": "hose", "made": "2024-01"});
    let mut bodies: Vec<_> = (1..=400).map(|number| hose(number, "R-1")).collect();
    // A void in the middle strikes an entry of the same transaction; the rest goes on after it.
    let struck = small_fleet().len() as u64 + 100;
    bodies.insert(200, json!({"change": "void", "seq": struck, "because": "counted twice"}));
    let facts = |bodies: &[serde_json::Value]| -> Vec<Fact> { bodies.iter().cloned().map(fact).collect() };

    let mut refused = bodies.clone();
    refused[150] = hose(151, "R-404");
    refused[350] = hose(350, "R-405");
    let mut book = Book::in_memory().unwrap();
    take(&mut book, 0, small_fleet());
    let before = book.head().unwrap();
    match book.record(&recording(1), facts(&refused), &mut |_| {}) {
        Err(RecordError::Refused(found)) => {
            assert_eq!(found.iter().map(|one| one.index).collect::<Vec<_>>(), [150, 350]);
        }
        other => panic!("{other:?}"),
    }
    assert_eq!(book.head().unwrap(), before);

    let recorded = book.record(&recording(1), facts(&bodies), &mut |_| {}).unwrap();
    assert_eq!((recorded.added, recorded.entries.len()), (401, 401));
    assert_sound(&book);
    let mut one_by_one = Book::in_memory().unwrap();
    take(&mut one_by_one, 0, small_fleet());
    for body in bodies {
        take(&mut one_by_one, 1, [body]);
    }
    assert_eq!(book.head().unwrap(), one_by_one.head().unwrap(), "the same entries, sealed alike");
    let due = |book: &Book| book.due_items(&DueFilter::default(), "2026-03-02".parse().unwrap()).unwrap();
    assert_eq!(due(&book), due(&one_by_one));
}
