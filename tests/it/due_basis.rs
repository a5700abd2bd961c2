//! What an item's date rests on, told by the due engine as a word and kept in the book.
//!
//! Owns: one case for each way a shipped rule can come to a date or to none. Refuses: the dates themselves.

use crate::program::Desk;
use pigtail::book::{Book, DueFilter};
use pigtail::due::{Basis, EventFact, ItemKind, MarkFact, Outcome, Subject, assess};
use pigtail::model::{Day, Method, PackId};
use pigtail::rules::RuleBook;
use std::collections::BTreeMap;

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

/// A thing of which nothing is known.
fn bare(kind: ItemKind) -> Subject<'static> {
    Subject {
        depot: None,
        unit: None,
        part: None,
        kind,
        position: "",
        spec: "",
        made: None,
        fitted_on: None,
        in_service_on: None,
        replace_by: None,
        credential_until: None,
        marks: &[],
        outcomes: &[],
        events: &[],
    }
}

fn tested(passed: bool, doubted_on: Option<&str>) -> Vec<Outcome> {
    let on = day("2026-01-10");
    vec![Outcome { rule: "gas-test".parse().unwrap(), on, seq: 5, passed, doubted_on: doubted_on.map(day) }]
}

#[test]
fn the_engine_says_what_each_date_rests_on() {
    let (passed, failed, doubted) = (tested(true, None), tested(false, None), tested(true, Some("2026-02-01")));
    let fire = [EventFact { on: day("2026-02-20"), event: "fire".parse().unwrap(), seq: 9 }];
    let sound = [MarkFact { month: "2021-05".parse().unwrap(), method: Method::Volumetric, seq: 2 }];
    let heard = [MarkFact { method: Method::Ultrasonic, ..sound[0] }];
    let (unit, cylinder) = (bare(ItemKind::Unit), Subject { spec: "DOT-4BA240", ..bare(ItemKind::Cylinder) });
    let cases = [
        ("hose", Subject { made: Some("2020-01".parse().unwrap()), ..bare(ItemKind::Hose) }, Basis::Counted),
        ("hose", bare(ItemKind::Hose), Basis::MadeMissing),
        (
            "lp-detector",
            Subject { replace_by: Some("2027-01".parse().unwrap()), ..bare(ItemKind::LpDetector) },
            Basis::Counted,
        ),
        ("extinguisher-look", bare(ItemKind::Extinguisher), Basis::FittedMissing),
        ("technician-credential", bare(ItemKind::Person), Basis::CredentialMissing),
        ("gas-test", unit.clone(), Basis::PassMissing),
        ("gas-test", Subject { outcomes: &passed, ..unit.clone() }, Basis::Counted),
        ("gas-test", Subject { outcomes: &failed, ..unit.clone() }, Basis::Failed),
        ("gas-test", Subject { outcomes: &doubted, ..unit.clone() }, Basis::Doubted),
        ("gas-test", Subject { outcomes: &passed, events: &fire, ..unit.clone() }, Basis::Event),
        // What failed before the fire is late longer.
        ("gas-test", Subject { outcomes: &failed, events: &fire, ..unit }, Basis::Failed),
        ("cylinder-requalification", bare(ItemKind::Cylinder), Basis::SpecMissing),
        ("cylinder-requalification", Subject { spec: "NONE-SUCH", ..cylinder.clone() }, Basis::SpecMissing),
        ("cylinder-requalification", Subject { spec: "DOT-39", ..cylinder.clone() }, Basis::NoInterval),
        ("cylinder-requalification", Subject { marks: &sound, ..cylinder.clone() }, Basis::Counted),
        ("cylinder-requalification", Subject { marks: &heard, ..cylinder }, Basis::NoInterval),
    ];
    let rules = RuleBook::new(&[]).unwrap();
    for (rule, subject, expected) in cases {
        let mut items = Vec::new();
        assess(rules.pack(PackId::Us), &subject, |item| items.push(item));
        let item = items.iter().find(|item| item.rule.as_str() == rule).unwrap();
        assert_eq!(item.basis, expected, "{rule}: {}", item.because);
    }
}

#[test]
fn the_book_keeps_it() {
    let desk = Desk::with_demo_fleet();
    let book = Book::open(&desk.db()).unwrap();
    let mut found: BTreeMap<Basis, usize> = BTreeMap::new();
    for item in book.due_items(&DueFilter::default(), day(desk.today)).unwrap() {
        *found.entry(item.basis).or_default() += 1;
    }
    let counts: Vec<(Basis, usize)> = found.into_iter().filter(|(basis, _)| *basis != Basis::Counted).collect();
    // R-012 failed; R-008 and another had something happen; two parts bear no date; two units were never tested.
    assert_eq!(counts, [(Basis::Failed, 1), (Basis::Event, 2), (Basis::MadeMissing, 2), (Basis::PassMissing, 2)]);
}
