//! Names and notes that mean harm to whoever reads them on a terminal.
//!
//! Owns: that no command lets through what a terminal obeys or what hides, and no text begins a line of its own.
//! Refuses: refusing such texts; a spreadsheet may well hold them, and they are kept as they came.

use crate::book_facts::{change, recording, take};
use crate::program::{Desk, path_text, type_words};
use pigtail::book::Book;
use pigtail::cli::screen::Screen;
use pigtail::model::code::is_deceptive;
use serde_json::{Value, json};
use std::io::Write;

/// Clears the screen, sets the title, answers a query, hides, turns around, and begins a line that looks like ours.
const HOSTILE: &str =
    "a\u{1b}[2J\u{1b}]0;owned\u{7}\u{1b}[8m\u{9b}31m\u{202e}\u{200b}b\u{8}\u{7f}\nFORGED: ready\rFORGED";

/// What a code may hold at its worst.
const CODE: &str = "-rf $(x) `;'\"é🔥";

fn desk() -> Desk {
    let desk = Desk::new("2026-03-02");
    let mut book = Book::create(&desk.db()).unwrap();
    let h = HOSTILE;
    let facts = [
        json!({"change": "depot", "depot": "HARBOR", "name": h, "timezone": "UTC", "rules": "us", "digest_to": ["a@example.org"]}),
        json!({"change": "unit", "unit": "R-1", "depot": "HARBOR", "body": h, "plate": h, "vin": "x", "note": h}),
        json!({"change": "unit", "unit": CODE, "depot": "HARBOR", "note": h}),
        json!({"change": "appliance", "unit": "R-1", "appliance": h, "btu_h": 9000.0}),
        json!({"change": "person", "person": "ito", "name": h, "skills": ["gas"], "credential_until": "2026-01-01"}),
        json!({"change": "gauge", "gauge": "DIAL", "kind": "dial", "note": h}),
        json!({"change": "gauge-check", "gauge": "DIAL", "on": "2026-02-01", "by": "ito", "reading": "5", "reference": "5"}),
        json!({"change": "part", "part": "CY-1", "unit": "R-1", "kind": "cylinder", "position": h, "serial": h, "made": "2010-02", "note": h}),
        json!({"change": "part", "part": "EX-1", "unit": "R-1", "kind": "extinguisher", "position": h, "spec": h, "serial": h, "note": h}),
        json!({"change": "part", "part": "HS-1", "kind": "hose", "position": h, "note": h}),
        json!({"change": "part-fitted", "part": "HS-1", "unit": "R-1", "position": h, "on": "2026-02-02"}),
        json!({"change": "check", "unit": "R-1", "part": "EX-1", "on": "2026-02-10", "by": "ito", "rule": "extinguisher-look", "result": "fail", "note": h}),
        json!({"change": "event", "unit": "R-1", "on": "2026-01-05", "event": "fire", "note": h}),
        json!({"change": "gas-test", "unit": "R-1", "on": "2026-02-20", "by": "ito", "gauge": "DIAL", "lockup": "15", "verdict": "pass"}),
        json!({"change": "hold", "unit": "R-1", "placed_on": "2026-01-06", "reason": h}),
        json!({"change": "hold", "unit": CODE, "placed_on": "2026-01-06", "reason": h}),
        json!({"change": "booking", "booking": "B-1", "unit": "R-1", "out_on": "2026-03-10", "back_on": "2026-03-20"}),
        json!({"change": "visit-closed", "unit": "R-1", "on": "2026-02-20", "by": "ito", "note": h}),
        json!({"change": "part", "part": "HS-2", "kind": "hose"}),
        json!({"change": "part-scrapped", "part": "HS-2", "on": "2026-02-20", "because": h}),
    ];
    take(&mut book, 0, facts);
    book.record(&recording(1), [change(json!({"change": "void", "seq": 13, "because": h})).into()], &mut |_| {})
        .unwrap();
    desk
}

/// Every command that lists or shows, and some that fail.
const COMMANDS: &[&[&str]] = &[
    &["depot", "list"],
    &["depot", "show", "HARBOR"],
    &["unit", "list", "--retired"],
    &["unit", "show", "R-1"],
    &["unit", "show", "--", CODE],
    &["part", "list"],
    &["part", "show", "CY-1"],
    &["part", "show", "EX-1"],
    &["part", "show", "HS-2"],
    &["gauge", "list"],
    &["gauge", "show", "DIAL"],
    &["person", "list"],
    &["person", "show", "ito"],
    &["booking", "list"],
    &["booking", "show", "B-1"],
    &["hold", "list"],
    &["hold", "show", "R-1"],
    &["due", "--all"],
    &["due", "--known-on", "2026-03-02"],
    &["why", "R-1"],
    &["why", "CY-1"],
    &["why", "EX-1"],
    &["why", "ito"],
    &["why", "DIAL"],
    &["sheet", "R-1"],
    &["ready", "R-1"],
    &["ready", "--all"],
    &["journal", "list"],
    &["journal", "show", "2"],
    &["journal", "show", "9"],
    &["journal", "show", "22"],
    &["journal", "verify"],
    &["journal", "void", "5", "--because", "x"],
    &["doctor"],
    &["digest", "show"],
    &["digest", "log"],
    &["report"],
    &["plan"],
    &["calendar"],
    &["rules", "list"],
    &["closeout", "R-1", "--by", "ito", "--burning", "oven", "--flow", "11"],
    &["unit", "show", "\u{1b}[31mFORGED"],
    &["why", "\u{1b}]0;owned\u{7}"],
    &["journal", "list", "--about", "\u{9b}2J"],
    &["hold", "lift", "R-1", "--because", "\u{1b}[2J"],
];

#[test]
fn nothing_that_a_terminal_obeys_gets_out() {
    let desk = desk();
    let mut faults = Vec::new();
    for format in ["table", "json", "csv", "text", "html", "eml", "ics"] {
        for words in COMMANDS {
            for colour in ["never", "always"] {
                let db = desk.db();
                let before =
                    ["pigtail", "--db", path_text(&db), "--today", "2026-03-02", "--format", format, "--color", colour];
                let ran = type_words(&[&before, *words].concat());
                assert_ne!(ran.status, 70, "{words:?}: {}", ran.err);
                for (stream, text) in [("out", &ran.out), ("err", &ran.err)] {
                    let bare = without_colours(text, colour == "always");
                    let bad = bare.char_indices().find(|(at, c)| {
                        let harmless = match c {
                            '\n' | '\t' | '\u{200c}' | '\u{200d}' => true,
                            '\r' => bare[at + 1..].starts_with('\n'),
                            '\u{feff}' => *at == 0,
                            _ => false,
                        };
                        is_deceptive(*c) && !harmless
                    });
                    if let Some((at, _)) = bad {
                        faults.push(format!("{words:?} --format {format}, {stream} at {at}: {bare}"));
                    }
                    let lines = bare.split(['\n', '\r']);
                    if format != "eml" && lines.into_iter().any(|line| line.starts_with("FORGED")) {
                        faults.push(format!("{words:?} --format {format}, {stream}, a line of its own: {bare}"));
                    }
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n\n"));
}

/// The text without our own colours, where they are wanted.
fn without_colours(text: &str, wanted: bool) -> String {
    let mut bare = text.to_owned();
    for code in ["\u{1b}[0m", "\u{1b}[31m", "\u{1b}[33m", "\u{1b}[35m"] {
        if wanted {
            bare = bare.replace(code, "");
        }
    }
    bare
}

#[test]
fn json_gives_the_text_back_as_it_was() {
    let desk = desk();
    let ran = desk.types(&["journal", "show", "2", "--format", "json"]);
    let entry: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(entry["body"]["note"], HOSTILE.replace('\r', "\n"));
    let ran = desk.types(&["hold", "list", "--format", "json"]);
    assert!(
        ran.out.contains("\\u001b[2J") && ran.out.contains("\\u202e") && ran.out.contains("\\u009b"),
        "{}",
        ran.out
    );
}

#[test]
fn no_list_gives_a_spreadsheet_something_to_run() {
    let desk = Desk::new("2026-03-02");
    let mut book = Book::create(&desk.db()).unwrap();
    let facts = [
        json!({"change": "depot", "depot": "@SUM(A1)", "name": "=1+1", "timezone": "UTC", "rules": "us"}),
        json!({"change": "unit", "unit": "+R-1", "depot": "@SUM(A1)", "note": "=cmd|' /C calc'!A0"}),
        json!({"change": "part", "part": "-CY", "unit": "+R-1", "kind": "cylinder", "position": "=left", "made": "2010-02"}),
    ];
    take(&mut book, 0, facts);
    drop(book);
    for words in [&["due", "--all"][..], &["unit", "list"], &["depot", "list"], &["part", "list"], &["journal", "list"]]
    {
        let ran = desk.types(&[words, &["--format", "csv"]].concat());
        let mut rows = 0;
        for record in csv::Reader::from_reader(ran.out.as_bytes()).records() {
            for cell in &record.unwrap() {
                let runs = cell.starts_with(['=', '+', '-', '@']) && cell.parse::<f64>().is_err();
                assert!(!runs, "{words:?}: {cell}");
            }
            rows += 1;
        }
        assert!(rows > 0, "{words:?}: {}", ran.err);
    }
}

#[test]
fn the_guard_passes_what_is_harmless_and_nothing_else() {
    let cases: [(&str, bool, &str); 12] = [
        ("plain\ttext\n", false, "plain\ttext\n"),
        ("Zürich 日本 👨\u{200d}🔧 ع", false, "Zürich 日本 👨\u{200d}🔧 ع"),
        ("a\r\nb\rc", false, "a\r\nb\u{fffd}c"),
        ("\u{1b}[31mred\u{1b}[0m", true, "\u{1b}[31mred\u{1b}[0m"),
        ("\u{1b}[31mred\u{1b}[0m", false, "\u{fffd}[31mred\u{fffd}[0m"),
        ("\u{1b}[2J\u{1b}]0;t\u{7}", true, "\u{fffd}[2J\u{fffd}]0;t\u{fffd}"),
        ("\u{1b}[1;31mx\u{1b}[8mx", true, "\u{1b}[1;31mx\u{fffd}[8mx"),
        ("\u{feff}a\u{feff}", false, "\u{feff}a\u{fffd}"),
        ("\u{9b}2J\u{7f}\u{0}\u{8}", false, "\u{fffd}2J\u{fffd}\u{fffd}\u{fffd}"),
        ("\u{202e}x\u{2066}\u{200b}", false, "\u{fffd}x\u{fffd}\u{fffd}"),
        ("end\r", false, "end\u{fffd}"),
        ("end\u{1b}[3", true, "end\u{fffd}"),
    ];
    for (text, colour, expected) in cases {
        // Whatever pieces it comes in.
        for piece in 1..=text.len() {
            let mut out = Vec::new();
            {
                let mut screen = Screen::new(&mut out, colour);
                text.as_bytes().chunks(piece).for_each(|bytes| screen.write_all(bytes).unwrap());
            }
            assert_eq!(String::from_utf8(out).unwrap(), expected, "{text:?} in pieces of {piece}");
        }
    }
    let mut out = Vec::new();
    Screen::new(&mut out, false).write_all(b"a\xff\xc3(\xe2\x82").unwrap();
    assert_eq!(String::from_utf8(out).unwrap(), "a\u{fffd}\u{fffd}(\u{fffd}");
}
