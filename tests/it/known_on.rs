//! What was known on a day, as against what is known now.
//!
//! Owns: answers of `due`, `why` and `ready` from an earlier state of the journal, and clocks that jump. Refuses: rules
//! of an earlier release; only house rules go back in time.

use crate::book_facts::{HOUSE, change, fact, recording_at, small_fleet};
use crate::program::Desk;
use pigtail::book::Book;
use serde_json::{Value, json};

/// Entries with the moments they were recorded at.
fn desk(later: &[(&str, Value)]) -> Desk {
    let desk = Desk::new("2026-03-02");
    let mut book = Book::create(&desk.db()).unwrap();
    let first = recording_at("2026-02-22T23:59:59.999Z");
    // The gas test is of 20 February and so on: all of it happened before the first recording.
    let facts = small_fleet().into_iter().take(20).map(fact);
    book.record(&first, facts, &mut |_| {}).unwrap();
    for (moment, body) in later {
        book.record(&recording_at(moment), [change(body.clone()).into()], &mut |_| {}).unwrap();
    }
    desk
}

#[test]
fn a_mark_recorded_late_was_not_known_before() {
    let mark = json!({"change": "mark", "part": "CY-1", "month": "2026-01", "method": "volumetric", "rin": "A123"});
    let desk = desk(&[("2026-02-25T00:00:00Z", mark)]);
    let due_on = |words: &[&str]| {
        let ran = desk.types(words);
        assert_eq!(ran.status, 0, "{}", ran.err);
        let answer: Value = serde_json::from_str(&ran.out).unwrap();
        let items = answer["items"].as_array().unwrap().clone();
        let item = items.into_iter().find(|item| item["rule"] == "cylinder-requalification").unwrap();
        (item["due_on"].as_str().unwrap().to_owned(), ran.err)
    };
    let json_of = ["--format", "json"];
    for (known_on, expected, entries) in [
        ("2026-02-22", "2026-11-30", "entries 1 to 20 of 21"),
        ("2026-02-24", "2026-11-30", "entries 1 to 20 of 21"),
        ("2026-02-25", "2038-01-31", "entries 1 to 21 of 21"),
        ("2030-01-01", "2038-01-31", "entries 1 to 21 of 21"),
    ] {
        for command in [&["due", "--all"][..], &["why", "CY-1"]] {
            let words = [command, &["--known-on", known_on], &json_of].concat();
            let (due_on, talk) = due_on(&words);
            assert_eq!(due_on, expected, "{words:?}");
            assert!(talk.contains(&format!("as known at the end of {known_on} (UTC): {entries}")), "{talk}");
        }
    }
    let (now, talk) = due_on(&["due", "--all", "--format", "json"]);
    assert_eq!((now.as_str(), talk.as_str()), ("2038-01-31", ""));
    // `--today` is another thing: nothing was known of the fleet that day, whatever day it is asked about.
    let ran = desk.types(&["due", "--unit", "R-1", "--known-on", "2026-02-21"]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("unit R-1 is not in the book"), "{}", ran.err);
    let ran = desk.types_on("2026-01-05", &["ready", "R-1", "--known-on", "2026-02-22"]);
    assert!(ran.err.contains("entries 1 to 20"), "{}", ran.err);
}

#[test]
fn ready_then_and_not_now_and_house_rules_go_back_too() {
    let hold = json!({"change": "hold", "unit": "R-1", "placed_on": "2026-02-01", "reason": "recall"});
    let hose = json!({"change": "part", "part": "HS-1", "unit": "R-1", "kind": "hose", "made": "2024-01"});
    let house = json!({"change": "house-rules", "pack": "us", "toml": HOUSE[1]});
    let desk = desk(&[("2026-02-23T10:00:00Z", hose), ("2026-02-25T10:00:00Z", hold), ("2026-02-26T10:00:00Z", house)]);
    let blocks = |known_on: &str| {
        let ran = desk.types(&["ready", "R-1", "--known-on", known_on, "--format", "json"]);
        let answer: Value = serde_json::from_str(&ran.out).unwrap();
        let blocks = answer["units"][0]["blocks"].as_array().unwrap().clone();
        blocks.iter().filter(|block| block["block"] == "hold").count()
    };
    assert_eq!((blocks("2026-02-24"), blocks("2026-02-25")), (0, 1));
    let hose_due = |known_on: &str| {
        let ran = desk.types(&["why", "HS-1", "--known-on", known_on, "--format", "json"]);
        let answer: Value = serde_json::from_str(&ran.out).unwrap();
        answer["items"][0]["due_on"].as_str().unwrap().to_owned()
    };
    assert!(hose_due("2026-02-26") < hose_due("2026-02-25"));
}

#[test]
fn a_clock_that_jumped_never_lets_an_answer_know_more() {
    let event = |on: &str| json!({"change": "event", "unit": "R-1", "on": on, "event": "fire"});
    let desk = desk(&[
        ("2026-03-01T10:00:00Z", event("2026-01-01")),
        // The clock was set back to 2025.
        ("2025-06-01T10:00:00Z", event("2025-01-02")),
        ("2026-03-02T10:00:00Z", event("2026-01-03")),
    ]);
    for (known_on, entries, out_of_step) in [
        ("2025-12-31", "1 to 0", 1),
        ("2026-02-28", "1 to 20", 1),
        ("2026-03-01", "1 to 22", 0),
        ("2026-03-02", "1 to 23", 0),
    ] {
        let ran = desk.types(&["due", "--known-on", known_on]);
        assert!(ran.err.contains(&format!("entries {entries} of 23")), "{known_on}: {}", ran.err);
        let noted =
            ran.err.contains(&format!("note: {out_of_step} later entries carry that day's date or an earlier one"));
        assert_eq!(noted, out_of_step > 0, "{known_on}: {}", ran.err);
    }
}
