//! Facts for digests, made up.
//!
//! Owns: short ways to say an item, a depot and a whole week. Refuses: asserting anything.

use pigtail::digest::{Crossing, DepotFacts, Facts, HoldLine, ItemKey, JournalHead, Known, Previous, Undelivered};
use pigtail::due::{Authority, Basis, Item, ItemKind, Late, PlannedDays, State};
use pigtail::model::{Day, Depot};

/// The Monday the digests here speak of.
pub const TODAY: &str = "2026-03-02";

pub fn day(text: &str) -> Day {
    text.parse().unwrap()
}

/// An item from `unit part kind rule due_on`, `-` for what is missing.
pub fn item(words: &str) -> Item {
    let words: Vec<&str> = words.split_whitespace().collect();
    let [unit, part, kind, rule, due_on] = words[..] else { panic!("five words: {words:?}") };
    let kind: ItemKind = kind.parse().unwrap();
    let some = |text: &'static str, word: &str| if word == text { None } else { Some(word.to_owned()) };
    let due_on = some("-", due_on).map(|due_on| day(&due_on));
    let (what, late, authority, cite) = match rule {
        "cylinder-requalification" => {
            ("requalify or replace cylinder", Late::NotToBeRefilled, Authority::Law, "49 CFR 180.209(e)")
        }
        "gas-test" => ("test the gas system", Late::OffRent, Authority::Standard, "NFPA 1192 6.5"),
        "lp-detector-age" => ("replace LP-gas detector", Late::OffRent, Authority::Maker, "printed on the case"),
        "hose-age" => ("replace hose", Late::Advise, Authority::Practice, ""),
        "gauge-check" => ("check gauge against a water tube", Late::Advise, Authority::Practice, ""),
        "credential" => ("renew credential", Late::Advise, Authority::House, ""),
        _ => ("look the extinguisher over", Late::Advise, Authority::Standard, "NFPA 10 7.2.1"),
    };
    Item {
        depot: some("-", unit).map(|_| "HARBOR".parse().unwrap()),
        unit: some("-", unit).map(|unit| unit.parse().unwrap()),
        part: some("-", part).map(|part| part.parse().unwrap()),
        kind,
        position: if kind == ItemKind::Cylinder { "front left".to_owned() } else { String::new() },
        rule: rule.parse().unwrap(),
        what: what.to_owned(),
        due_on,
        notice_from: due_on.map(|due_on| due_on.plus_days(-30)),
        authority,
        cite: cite.to_owned(),
        late,
        because: match due_on {
            Some(due_on) => format!("counted to {due_on}"),
            None => "make date missing".to_owned(),
        },
        basis: if due_on.is_some() { Basis::Counted } else { Basis::MadeMissing },
    }
}

pub fn depot(code: &str, name: &str) -> Depot {
    Depot { name: name.parse().unwrap(), ..Depot::named_only(code.parse().unwrap()) }
}

pub fn hold(unit: &str, placed_on: &str, reason: &str) -> HoldLine {
    HoldLine { unit: unit.parse().unwrap(), placed_on: day(placed_on), reason: reason.parse().unwrap() }
}

pub fn head() -> JournalHead {
    JournalHead { hash: [0xa5; 32], entries: 1284 }
}

/// What an earlier digest said: items in the form of [`item`], each preceded by its state.
pub fn previous(as_of: &str, known: &[&str]) -> Previous {
    let items = known
        .iter()
        .map(|line| {
            let (state, words) = line.split_once(' ').unwrap();
            let item = item(words);
            Known { item: ItemKey::of(&item), state: state.parse::<State>().unwrap(), due_on: item.due_on }
        })
        .collect();
    Previous { as_of: day(as_of), items }
}

pub fn facts(items: &[&str]) -> Facts {
    Facts {
        as_of: day(TODAY),
        depots: vec![DepotFacts {
            depot: depot("HARBOR", "Harbor yard"),
            items: items.iter().map(|words| item(words)).collect(),
            holds: Vec::new(),
            crossings: Vec::new(),
        }],
        planned: PlannedDays::default(),
        general: Vec::new(),
        head: head(),
        since: None,
        undelivered: Vec::new(),
    }
}

/// A week with something of everything.
pub fn full_week() -> Facts {
    let harbor = [
        "R-014 CY-1180 cylinder cylinder-requalification 2026-02-28",
        "R-014 - unit gas-test 2026-01-19",
        "R-020 LD-20 lp-detector lp-detector-age 2026-02-27",
        "R-031 HO-31 hose hose-age 2026-03-02",
        "R-031 EX-31 extinguisher extinguisher-look 2026-03-14",
        "R-032 CY-9 cylinder cylinder-requalification 2026-03-31",
        "R-033 CY-10 cylinder cylinder-requalification -",
        "R-034 HO-34 hose hose-age 2025-11-30",
        "R-040 CY-40 cylinder cylinder-requalification 2026-04-02",
    ];
    let mesa = ["M-02 - unit gas-test 2026-03-20", "M-02 EX-2 extinguisher extinguisher-look 2026-03-20"];
    let mut week = facts(&harbor);
    week.depots[0].holds = vec![
        hold("R-020", "2026-02-28", "detector dead"),
        hold("R-077", "2025-12-24", "struck a post; frame and LP lines to be looked at before anything else"),
    ];
    week.depots[0].crossings = vec![Crossing {
        booking: "B-5512".parse().unwrap(),
        unit: "R-031".parse().unwrap(),
        out_on: day("2026-03-12"),
        back_on: day("2026-03-19"),
        part: Some("EX-31".parse().unwrap()),
        what: "look the extinguisher over".to_owned(),
        due_on: Some(day("2026-03-14")),
    }];
    week.depots.insert(
        0,
        DepotFacts {
            depot: depot("MESA", "Mesa"),
            items: mesa.iter().map(|words| item(words)).collect(),
            holds: Vec::new(),
            crossings: Vec::new(),
        },
    );
    week.general = vec![item("- G-1 gauge gauge-check 2026-02-15"), item("- ANA person credential 2026-03-25")];
    week.since = Some(previous(
        "2026-02-23",
        &[
            "due R-014 CY-1180 cylinder cylinder-requalification 2026-02-28",
            "overdue R-014 - unit gas-test 2026-01-19",
            "overdue R-034 HO-34 hose hose-age 2025-11-30",
            "overdue R-050 CY-50 cylinder cylinder-requalification 2026-01-31",
            "due R-031 EX-31 extinguisher extinguisher-look 2026-02-14",
        ],
    ));
    week.undelivered = vec![Undelivered {
        to: "old@example.org".parse().unwrap(),
        week: "2026-W09".parse().unwrap(),
        reason: "mail server refused the recipient `old@example.org`: 550 no such mailbox".to_owned(),
    }];
    week
}
