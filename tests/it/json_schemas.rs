//! The JSON Schemas in `schema/json` against the commands they are of.
//!
//! Owns: that each is JSON and belongs to a command that answers, with the fields it requires. Refuses: being a
//! validator; `.ci/json` holds every answer against its schema with one from outside.

use crate::program::{Desk, path_text};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// What several schemas refer to; of no command.
const NOUNS: &str = "nouns";

const HOUSE: &str =
    "pack = \"us\"\n[[change]]\nrule = \"gas-test\"\nreason = \"habit\"\nafter = { pass = \"6 months\" }\n";

/// Schema, status, and a command whose answer it describes. HOUSE, BINDER and QUESTION stand for files.
const ANSWERS: &[(&str, u8, &str)] = &[
    ("booking-list", 0, "booking list"),
    ("booking-show", 0, "booking show B-501"),
    ("calc-atmosphere", 0, "calc atmosphere 5000ft"),
    ("calc-convert", 0, "calc convert 11 mbar"),
    ("calc-derate", 0, "calc derate 5000ft --input 25000"),
    ("calc-judge", 1, "calc judge --lockup 15"),
    ("calc-leak-rate", 0, "calc leak-rate --drop 9:8 --minutes 3 --volume 50in3"),
    ("calc-orifice", 0, "calc orifice #75"),
    ("calc-piping", 0, "calc piping b280-3/8=12ft"),
    ("calc-reading", 0, "calc reading 6.1+6.1"),
    ("calc-stamp", 0, "calc stamp 11 A123 21 E"),
    ("calc-temperature", 0, "calc temperature --start 8 --from 60F --to 59F --elevation 0ft"),
    ("calc-utube", 0, "calc utube --volume 50in3 --bore 0.25in --pressure 8"),
    ("calc-vapour", 0, "calc vapour 70F"),
    ("closeout", 0, "closeout R-011 --by brandt --check extinguisher-look=pass"),
    ("depot-hours", 0, "depot hours LAKE"),
    ("depot-list", 0, "depot list"),
    ("depot-show", 0, "depot show LAKE"),
    ("digest-log", 0, "digest log"),
    ("doctor", 0, "doctor"),
    ("due", 0, "due --all"),
    ("gauge-list", 0, "gauge list"),
    ("gauge-show", 0, "gauge show TUBE-1"),
    ("hold-list", 0, "hold list"),
    ("hold-show", 0, "hold show R-008"),
    ("journal-list", 0, "journal list --last 9"),
    ("journal-show", 0, "journal show 1"),
    ("journal-verify", 0, "journal verify"),
    ("journal-verify-binder", 0, "journal verify --binder BINDER"),
    ("part-list", 0, "part list"),
    ("part-show", 0, "part show CY-1105"),
    ("person-list", 0, "person list"),
    ("person-show", 0, "person show kovac"),
    ("plan", 0, "plan --depot LAKE"),
    ("plan-solve", 0, "plan --solve QUESTION"),
    ("plan-what-if", 0, "plan --depot LAKE --as-if booking R-034 2026-03-09 2026-03-12"),
    ("plan-why", 0, "plan why R-034 --depot LAKE"),
    ("ready", 1, "ready R-001"),
    ("report", 0, "report"),
    ("rules-adopt", 0, "rules adopt HOUSE"),
    ("rules-check", 0, "rules check HOUSE"),
    ("rules-list", 0, "rules list"),
    ("rules-show", 0, "rules show gas-test"),
    ("rules-show-limits", 0, "rules show limits"),
    ("unit-list", 0, "unit list"),
    ("unit-show", 0, "unit show R-003"),
    ("why", 0, "why LP-5104"),
];

fn schemas() -> BTreeMap<String, Value> {
    let files = std::fs::read_dir("schema/json").unwrap().map(|entry| entry.unwrap().path());
    files
        .map(|path| {
            let text = std::fs::read_to_string(&path).unwrap();
            let schema = serde_json::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
            (path.file_stem().unwrap().to_str().unwrap().to_owned(), schema)
        })
        .collect()
}

/// What a schema requires at the top, also where all of it stands under the nouns.
fn required<'s>(schema: &'s Value, nouns: &'s Value) -> BTreeSet<&'s str> {
    let whole = match schema["$ref"].as_str() {
        Some(to) => nouns.pointer(to.strip_prefix("nouns.json#").unwrap()).unwrap(),
        None => schema,
    };
    whole["required"].as_array().unwrap().iter().map(|key| key.as_str().unwrap()).collect()
}

#[test]
fn every_schema_is_of_an_answer_and_every_answer_has_what_it_requires() {
    let mut schemas = schemas();
    let nouns = schemas.remove(NOUNS).unwrap();
    let listed: BTreeSet<&str> = ANSWERS.iter().map(|(name, ..)| *name).collect();
    assert_eq!(schemas.keys().map(String::as_str).collect::<BTreeSet<_>>(), listed);

    let desk = Desk::with_demo_fleet();
    let (house, binder) = (desk.path("house.toml"), desk.path("binder"));
    std::fs::write(&house, HOUSE).unwrap();
    let bound =
        desk.types(&["binder", "R-003", "--from", "2020-01-01", "--to", "2026-03-02", "--dir", path_text(&binder)]);
    assert_eq!(bound.status, 0, "{}", bound.err);
    for (name, status, line) in ANSWERS {
        let words: Vec<&str> = line
            .split(' ')
            .map(|word| match word {
                "HOUSE" => path_text(&house),
                "BINDER" => path_text(&binder),
                "QUESTION" => "fixtures/plan/micro/01-weekend.json",
                word => word,
            })
            .chain(["--format", "json"])
            .collect();
        let ran = desk.types(&words);
        assert_eq!(ran.status, *status, "{line}: {}", ran.err);
        let answer: Value = serde_json::from_str(&ran.out).unwrap_or_else(|error| panic!("{line}: {error}"));
        for key in required(&schemas[*name], &nouns) {
            assert!(answer.get(key).is_some(), "{line}: no `{key}`, which {name}.json requires");
        }
    }
}
