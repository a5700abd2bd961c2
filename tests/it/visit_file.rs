//! Visit files: every fault pointed at, and what closes out without a terminal says.

use crate::closeout_interactive::{LOOK, Seat};
use crate::program::{Desk, path_text};
use std::process::{Command, Stdio};

const HEAD: &str = "unit = \"R-001\"\nby = \"brandt\"\non = \"2026-03-02\"\n";

const BROKEN: [(&str, &str); 13] = [
    ("syntax", "unit = R-001\n"),
    ("no unit, no person, no day", "note = \"x\"\n"),
    ("blank person", "unit = \"R-001\"\nby = \"\"\non = \"2026-03-02\"\n"),
    ("a day there is not", "unit = \"R-001\"\nby = \"brandt\"\non = \"2026-02-30\"\n"),
    ("unknown keys", "HEADlokup = 3\n[test]\nlokup = \"11\"\n[[marks]]\npart = \"CY-1101\"\n"),
    ("no readings", "HEAD[test]\nlockup = \"eleven\"\nflow = \"-3\"\ndrop_start = \"9,0\"\nminutes = \"long\"\n"),
    ("load and burning", "HEAD[test]\nflow = 11\nload = 60\nburning = [\"range\"]\n"),
    ("drop in one", "HEAD[test]\ndrop = \"9.0:9.0\"\n"),
    ("a list that is none", "HEAD[test]\nburning = \"range\"\n"),
    ("a table that is none", "HEADtest = 3\nmark = \"CY-1101=03 26 E\"\n"),
    ("part missing", "HEAD[[mark]]\nstamp = \"03 26 E\"\n[[replace]]\nmade = \"2026-01\"\n"),
    ("check without result", "HEAD[[check]]\nrule = \"extinguisher-look\"\nnote = \"pin missing\"\n"),
    (
        "words off the lists",
        "HEAD[[event]]\nevent = \"flood\"\n[[check]]\nrule = \"extinguisher-look\"\nresult = \"ok\"\n",
    ),
];

#[test]
fn every_fault_is_pointed_at() {
    let desk = Desk::with_demo_fleet();
    let file = desk.path("visit.toml");
    let mut report = String::new();
    for (name, text) in BROKEN {
        std::fs::write(&file, text.replace("HEAD", HEAD)).unwrap();
        let ran = desk.types(&["closeout", "--from", path_text(&file)]);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{name}: {}", ran.err);
        report.push_str(&format!("== {name}\n{}", ran.err.replace(path_text(&file), "visit.toml")));
    }
    insta::assert_snapshot!("every_fault", report);
    assert_eq!(journal_length(&desk), 690);
}

#[test]
fn what_cannot_be_recorded_is_refused_with_a_way_out() {
    let desk = Desk::with_demo_fleet();
    let file = desk.path("visit.toml");
    std::fs::write(&file, format!("{HEAD}note = \"x\"\n")).unwrap();
    let file = path_text(&file);
    let missing = desk.path("none.toml");
    let cases: [(&[&str], &str, &str); 8] = [
        (&["closeout", "R-001"], "nothing was done to unit R-001", "--lockup"),
        (&["closeout", "R-001", "--note", "x"], "does not say who did the work", "--by PERSON"),
        (&["closeout", "R-001", "--by", "brandt", "--vent", "0"], "a vent belongs to a gas test", "--lockup"),
        (&["closeout", "R-002", "--from", file], "is of unit R-001, not R-002", "--from"),
        (&["closeout", "--from", file, "--lockup", "11"], "cannot be used with", "pigtail"),
        (&["closeout", "--from", path_text(&missing)], "cannot be read", "--template"),
        (&["closeout", "--template", "R-0001"], "unit R-0001 is not in the book; nearest is R-001", "unit show R-001"),
        (&["closeout"], "required arguments", "pigtail"),
    ];
    for (words, what, hint) in cases {
        let ran = desk.types(words);
        assert_eq!(ran.status, 2, "{words:?}: {}", ran.err);
        assert!(ran.err.contains(what) && ran.err.contains(hint), "{words:?}: {}", ran.err);
    }
    assert_eq!(journal_length(&desk), 690);
}

#[test]
fn nobody_is_asked_where_nobody_sits_at_a_terminal() {
    let desk = Desk::with_demo_fleet();
    let ran = Command::new(env!("CARGO_BIN_EXE_pigtail"))
        .args(["--db", path_text(&desk.db()), "--today", desk.today, "closeout", "R-001", "--by", "brandt"])
        .stdin(Stdio::null())
        .output()
        .unwrap();
    let talk = String::from_utf8(ran.stderr).unwrap();
    assert_eq!(ran.status.code(), Some(2), "{talk}");
    assert!(talk.contains("hint: pigtail closeout R-001 --by PERSON with --gauge, --lockup"), "{talk}");
    assert!(!desk.path("fleet.db.R-001.draft.toml").exists());
}

#[test]
fn a_close_out_that_is_left_keeps_a_draft_and_records_nothing() {
    let desk = Desk::with_demo_fleet();
    let draft = desk.path("fleet.db.R-001.draft.toml");
    let mut seat = Seat::at(&desk, &["closeout", "R-001", "--by", "osei"]);
    seat.goes_through(&[("who did the work (number or code) [osei]", "quit"), ("what was answered is kept in", LOOK)]);
    assert_eq!(seat.ends(), Some(1), "{}", seat.seen);
    assert!(draft.exists());

    // Started afresh, the old answers are gone; with nothing answered there is nothing to record.
    let mut seat = Seat::at(&desk, &["closeout", "R-001"]);
    seat.goes_through(&[
        ("go on with it?", "perhaps"),
        ("go on with it?", "new"),
        ("who did the work (number or code):", "next"),
        ("gauge (number or code)", "next"),
        ("new stamp on CY-1101", "next"),
        ("replaced by new ones", "next"),
        ("anything else to note", ""),
        ("cannot be recorded: nothing was done to unit R-001", "yes"),
        ("it cannot be recorded like that", "24"),
    ]);
    seat.waits_for("nothing is recorded until you type yes");
    seat.types("quit");
    assert_eq!(seat.ends(), Some(1), "{}", seat.seen);
    assert_eq!(journal_length(&desk), 690);

    // A draft somebody has broken is pointed at, not thrown away.
    std::fs::write(&draft, "unit = \"R-001\"\n[test]\nlockup = \"eleven\"\n").unwrap();
    let mut seat = Seat::at(&desk, &["closeout", "R-001"]);
    seat.waits_for("fleet.db.R-001.draft.toml:3:10: `lockup`");
    seat.waits_for("mend it, or delete it");
    assert_eq!(seat.ends(), Some(2), "{}", seat.seen);
    assert!(draft.exists());
}

fn journal_length(desk: &Desk) -> u64 {
    let ran = desk.types(&["journal", "verify", "--format", "json"]);
    let verified: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(verified["ok"], true, "{}", ran.out);
    verified["entries"].as_u64().unwrap()
}
