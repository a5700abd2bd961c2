//! Striking entries: what may be struck, what rests on it, and what stands afterwards.
//!
//! Owns: the refusals with their lists, voids of voids, and that the tables afterwards are a replay. Refuses: tampering.

use crate::book_facts::{HOUSE, change, recording, said, small_fleet, take};
use pigtail::book::{Book, DueFilter, RecordError};
use pigtail::model::Day;
use serde_json::{Value, json};

fn fleet() -> Book {
    let mut book = Book::in_memory().unwrap();
    take(&mut book, 0, small_fleet());
    book
}

fn void(seq: u64) -> Value {
    json!({"change": "void", "seq": seq, "because": "slip of the keyboard"})
}

/// Strikes entries one after another; all but the last must be taken. What the last is refused with, blank if nothing.
fn check(book: &mut Book, seqs: &[u64]) -> String {
    let mut told = String::new();
    for seq in seqs {
        assert_eq!(told, "", "before {seq}");
        let recorded = book.record(&recording(30), [change(void(*seq)).into()], &mut |_| {});
        told = match recorded {
            Ok(recorded) => {
                assert_eq!(recorded.added, 1);
                String::new()
            }
            Err(error @ RecordError::Refused(_)) => said(&error),
            Err(RecordError::Book(error)) => panic!("{error}"),
        };
        assert_eq!(book.verify(&mut |_, _| {}).unwrap().faults, [], "after {seq}");
    }
    told
}

#[test]
fn what_rests_on_an_entry_is_listed() {
    let cases: &[(&[u64], &str)] = &[
        (&[99], "entry 99 is not in the journal"),
        (&[21], "entry 21 is struck out already"),
        (
            &[3],
            "entry 3 may not be voided; these could not stand then: 5 (person brandt is not in the book); \
             9 (person brandt is not in the book); 11 (person brandt is not in the book); \
             16 (person brandt is not in the book); 17 (person brandt is not in the book)",
        ),
        (&[7], "entry 7 may not be voided; these could not stand then: 8 (part CY-1 is not in the book)"),
        (&[13], "entry 13 may not be voided; these could not stand then: 14 (hold 13 on unit R-1 is not in the book)"),
        (&[19], "entry 19 may not be voided; these could not stand then: 20 (part HS-9 is not in the book)"),
        // A test passed because its gauge had been checked.
        (
            &[5],
            "entry 5 may not be voided; these could not stand then: \
             9 (gas test of unit R-1 on 2026-02-20 was a pass and would be a inconclusive)",
        ),
        // From the last back everything goes.
        (&[14, 13], ""),
        (&[20, 19], ""),
        (&[9, 5], ""),
        (&[8, 7], ""),
        (&[18], ""),
        (&[12], ""),
    ];
    for (seqs, expected) in cases {
        assert_eq!(check(&mut fleet(), seqs), *expected, "{seqs:?}");
    }
}

#[test]
fn a_void_can_be_voided_where_what_it_struck_can_stand_again() {
    // 22 strikes 21; struck itself, 21 stands again: the collision opens work.
    let mut book = fleet();
    let due = |book: &Book| {
        let filter = DueFilter { part: Some("CY-1".parse().unwrap()), ..DueFilter::default() };
        book.due_items(&filter, "2026-03-02".parse().unwrap()).unwrap().remove(0).due_on
    };
    assert_eq!(due(&book), Some("2026-11-30".parse::<Day>().unwrap()));
    assert_eq!(check(&mut book, &[22]), "");
    assert_eq!(due(&book), Some("2026-01-06".parse::<Day>().unwrap()));
    assert_eq!(check(&mut book, &[22]), "entry 22 is struck out already");
    assert_eq!(check(&mut book, &[21]), "");
    assert_eq!(due(&book), Some("2026-11-30".parse::<Day>().unwrap()));
    // A mark and then its cylinder struck (24, 25): the mark alone cannot come back.
    let mut book = fleet();
    assert_eq!(check(&mut book, &[8, 7]), "");
    let told = check(&mut book, &[24]);
    assert_eq!(told, "entry 24 may not be voided; these could not stand then: 8 (part CY-1 is not in the book)");
    assert_eq!(check(&mut book, &[25, 24]), "");
    // Lifted twice: the first lifting cannot come back beside the second.
    let mut book = fleet();
    assert_eq!(check(&mut book, &[14]), "");
    take(
        &mut book,
        40,
        [json!({"change": "hold-lifted", "unit": "R-1", "hold": 13, "on": "2026-02-25", "because": "mended"})],
    );
    let told = check(&mut book, &[24]);
    assert!(told.contains("25 (hold 13 was lifted 2026-02-21)"), "{told}");
}

#[test]
fn house_rules_go_and_come_with_their_entries() {
    let mut book = Book::in_memory().unwrap();
    take(&mut book, 0, small_fleet().into_iter().take(7));
    let hose = json!({"change": "part", "part": "HS-1", "unit": "R-1", "kind": "hose", "made": "2022-01"});
    take(&mut book, 1, [hose]);
    let due = |book: &Book| {
        let filter = DueFilter { part: Some("HS-1".parse().unwrap()), ..DueFilter::default() };
        book.due_items(&filter, "2026-03-02".parse().unwrap()).unwrap().remove(0).due_on
    };
    let shipped = due(&book);
    take(&mut book, 2, [json!({"change": "house-rules", "pack": "us", "toml": HOUSE[1]})]);
    let shorter = due(&book);
    assert!(shorter < shipped, "{shorter:?} {shipped:?}");
    assert_eq!(check(&mut book, &[9]), "");
    assert_eq!(due(&book), shipped);
    assert_eq!(check(&mut book, &[10]), "");
    assert_eq!(due(&book), shorter);
}

#[test]
fn a_check_under_a_rule_of_the_house_rests_on_the_house_rules() {
    let mut book = Book::in_memory().unwrap();
    take(&mut book, 0, small_fleet().into_iter().take(4));
    let own = "pack = \"us\"\n\n[[rule]]\nid = \"tyres\"\nwhat = \"look at tyres\"\nkinds = [\"unit\"]\n\
               reason = \"two burst in 2025\"\nprecision = \"day\"\nnotice = \"7 days\"\nlate = \"off-rent\"\n\
               minutes = 5\n\n[[rule.case]]\nafter = { pass = \"1 month\" }\n";
    let adopted = book.record(
        &recording(1),
        [change(json!({"change": "house-rules", "pack": "us", "toml": own})).into()],
        &mut |_| {},
    );
    if let Err(error) = adopted {
        panic!("{}", said(&error));
    }
    take(
        &mut book,
        2,
        [json!({"change": "check", "unit": "R-1", "on": "2026-03-01", "rule": "tyres", "result": "pass"})],
    );
    let told = check(&mut book, &[5]);
    assert!(told.contains("6 (rule tyres is not in pack us"), "{told}");
    assert_eq!(check(&mut book, &[6, 5]), "");
}

#[test]
fn somebody_who_waits_is_told_how_far_it_is() {
    let mut book = Book::in_memory().unwrap();
    take(&mut book, 0, (0..1200).map(|number| json!({"change": "person", "person": format!("p{number}")})));
    let mut told = Vec::new();
    let recorded = book.record(&recording(1), [change(void(1200)).into()], &mut |done| told.push(done));
    assert_eq!(recorded.unwrap().added, 1);
    // Twice through 1,200 entries, and the void itself.
    assert_eq!(told, [1024, 1201 + 1024]);
    let mut told = Vec::new();
    assert_eq!(book.verify(&mut |done, total| told.push((done, total))).unwrap().faults, []);
    assert_eq!(told, [(1024, 4 * 1201), (1201 + 1024, 4 * 1201), (3 * 1201, 4 * 1201)]);
}
