//! Options, visit file and questions: three forms of one visit, one set of facts.

use crate::closeout_interactive::Seat;
use crate::program::{Desk, path_text};
use pigtail::cli::closeout::{Answers, CheckAnswer, EventAnswer, Replacement, TestAnswers, read_visit_file, written};
use pigtail::model::{CheckResult, DropMethod, EventKind, PartKind, Tap, Vent};
use proptest::prelude::{Just, Strategy, any, prop_assert_eq, proptest};
use std::path::Path;

fn desk() -> Desk {
    let mut desk = Desk::with_demo_fleet();
    desk.today = "2026-03-22";
    desk
}

/// The written form of everything recorded after the demo fleet.
fn bodies(desk: &Desk) -> Vec<String> {
    let ran = desk.types(&["journal", "list", "--format", "json"]);
    let entries: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let entries = entries["entries"].as_array().unwrap();
    entries.iter().skip(690).map(|entry| entry["body"].to_string()).collect()
}

/// One visit told three times.
struct Told {
    name: &'static str,
    options: &'static [&'static str],
    file: &'static str,
    typed: &'static [(&'static str, &'static str)],
}

const TOLD: [Told; 2] = [
    Told {
        name: "a gas test and a mark",
        options: &[
            "closeout",
            "R-001",
            "--by",
            "kovac",
            "--gauge",
            "TUBE-1",
            "--lockup",
            "11.2",
            "--lockup-later",
            "11.2@3",
            "--flow",
            "5.5+5.4",
            "--burning",
            "range",
            "--burning",
            "furnace",
            "--drop",
            "9.0:9.0",
            "--minutes",
            "3.5",
            "--air",
            "15C",
            "--air-after",
            "15C",
            "--vent",
            "unseen",
            "--mark",
            "CY-1102=03 K204 26 E",
        ],
        file: r#"
unit = "R-001"
by = "kovac"
on = 2026-03-22
[test]
gauge = "TUBE-1"
lockup = 11.2
lockup_later = ["11.2@3"]
flow = "5.5+5.4"
burning = ["range", "furnace"]
drop_start = "9.0"
drop_end = "9.0"
minutes = 3.5
air = "15C"
air_after = "15C"
vent = "unseen"
[[mark]]
part = "CY-1102"
stamp = "03 K204 26 E"
[[mark]]
part = "CY-1101"
stamp = ""
"#,
        typed: &[
            ("who did the work", "kovac"),
            ("day of the visit", ""),
            ("did any of this happen", ""),
            ("gauge (number", "3"),
            ("gauge connected at", ""),
            ("lock-up, nothing burning", "11.2"),
            ("lock-up again", "11.2@3"),
            ("flow, pressure under load", "5.5+5.4"),
            ("burning meanwhile", "range, furnace"),
            ("how the drop is timed", ""),
            ("timed drop: pressure at the start", "9.0"),
            ("air temperature now", "15C"),
            ("timer, 3 minutes", "3.5"),
            ("minutes it was watched [3.5]", ""),
            ("pressure at the end", "9.0"),
            ("air temperature at the end", "15C"),
            ("regulator vent", "unseen"),
            ("new stamp on CY-1101", ""),
            ("new stamp on CY-1102", "03 K204 26 E"),
            ("replaced by new ones", "next"),
            ("pass, or fail:", "next"),
            ("anything else to note", ""),
            ("record this visit?", "yes"),
        ],
    },
    Told {
        name: "a replacement, a check, an event and a note",
        options: &[
            "closeout",
            "R-001",
            "--by",
            "brandt",
            "--replace",
            "RG-3101=made:2025-11,serial:00123,replace_by:2035-11",
            "--check",
            "extinguisher-look@EX-8101=pass",
            "--event",
            "system-opened",
            "--note",
            "leak check by Ines",
        ],
        file: r#"
unit = "R-001"
by = "brandt"
on = "2026-03-22"
note = "leak check by Ines"
[[replace]]
part = "RG-3101"
made = "2025-11"
serial = "00123"
replace_by = "2035-11"
[[check]]
rule = "extinguisher-look"
part = "EX-8101"
result = "pass"
[[event]]
event = "system-opened"
"#,
        typed: &[
            ("who did the work", "1"),
            ("day of the visit", ""),
            ("did any of this happen", "2"),
            ("gauge (number", "next"),
            ("new stamp on CY-1101", "next"),
            ("replaced by new ones", "RG-3101"),
            ("make date of what replaces", "2025-11"),
            ("serial number of what replaces", "00123"),
            ("replace-by date printed on what replaces", "2035-11"),
            ("pass, or fail:", "pass"),
            ("anything else to note", "leak check by Ines"),
            ("record this visit?", "yes"),
        ],
    },
];

#[test]
fn options_file_and_questions_record_the_same() {
    for told in TOLD {
        let by_options = desk();
        let ran = by_options.types(told.options);
        assert!(ran.status <= 1, "{}: {}", told.name, ran.err);

        let by_file = desk();
        let file = by_file.path("visit.toml");
        std::fs::write(&file, told.file).unwrap();
        let ran = by_file.types(&["closeout", "--from", path_text(&file)]);
        assert!(ran.status <= 1, "{}: {}", told.name, ran.err);

        let by_questions = desk();
        let mut seat = Seat::at(&by_questions, &["closeout", "R-001"]);
        seat.goes_through(told.typed);
        assert!(seat.ends().is_some_and(|status| status <= 1), "{}: {}", told.name, seat.seen);

        let expected = bodies(&by_options);
        assert!(!expected.is_empty());
        assert_eq!(bodies(&by_file), expected, "{}", told.name);
        assert_eq!(bodies(&by_questions), expected, "{}", told.name);
    }
}

#[test]
fn a_template_filled_in_records_what_was_filled_in() {
    let desk = desk();
    let ran = desk.types(&["closeout", "--template", "R-001"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let filled = [
        ("by = \"\"", "by = \"brandt\""),
        ("on = \"\"", "on = \"2026-03-20\""),
        ("part = \"CY-1101\"\nstamp = \"\"", "part = \"CY-1101\"\nstamp = \"03 K204 26 E\""),
        ("part = \"EX-8101\"\nresult = \"\"", "part = \"EX-8101\"\nresult = \"pass\""),
        ("# [[replace]]\n# part = \"HS-4102\"\n# made = \"\"", "[[replace]]\npart = \"HS-4102\"\nmade = \"2026-01\""),
    ];
    let mut text = ran.out;
    for (blank, given) in filled {
        assert!(text.contains(blank), "the template lacks {blank}\n{text}");
        text = text.replacen(blank, given, 1);
    }
    let file = desk.path("visit.toml");
    std::fs::write(&file, text).unwrap();
    let ran = desk.types(&["closeout", "--from", path_text(&file)]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let bodies = bodies(&desk);
    let kinds: Vec<String> = bodies
        .iter()
        .map(|body| serde_json::from_str::<serde_json::Value>(body).unwrap()["change"].as_str().unwrap().to_owned())
        .collect();
    // The hose brings its own event, which asks for a gas test.
    assert_eq!(kinds, ["visit-closed", "mark", "part-scrapped", "part", "part-fitted", "event", "check"]);
}

#[test]
fn a_template_as_it_is_records_nothing() {
    let desk = desk();
    let file = desk.path("visit.toml");
    let text = desk.types(&["closeout", "--template", "R-001"]).out;
    std::fs::write(&file, text.replace("by = \"\"", "by = \"brandt\"").replace("\non = \"\"", "\non = \"2026-03-20\""))
        .unwrap();
    let ran = desk.types(&["closeout", "--from", path_text(&file)]);
    assert_eq!((ran.status, bodies(&desk).len()), (2, 0), "{}", ran.err);
    assert!(ran.err.contains("nothing was done to unit R-001"), "{}", ran.err);
}

fn texts() -> impl Strategy<Value = String> {
    // Quotes, backslashes, line breaks, escapes and what turns text around: all that could break out of a TOML string.
    proptest::collection::vec(
        proptest::sample::select(vec![
            "a", "\"", "'", "\\", "\n", "#", "[", "=", "\u{202e}", "\u{1b}", "é", "\"\"\"", "\\u0041",
        ]),
        0..12,
    )
    .prop_map(|pieces| pieces.concat())
}

fn readings() -> impl Strategy<Value = Option<&'static str>> {
    proptest::option::of(proptest::sample::select(vec!["11", "11.40", "5.5+5.4", "27.4mbar", "0"]))
}

fn tests() -> impl Strategy<Value = TestAnswers> {
    let later = proptest::collection::vec(proptest::sample::select(vec!["9.0@1", "9.1", "27mbar@2.5"]), 0..3);
    (readings(), readings(), later, proptest::option::of(0.0..600.0), proptest::option::of(-40.0..120.0), any::<bool>())
        .prop_map(|(lockup, start, later, number, air, by_load)| TestAnswers {
            gauge: lockup.map(|_| "TUBE 1".parse().unwrap()),
            tap: start.map(|_| Tap::RangeOutlet),
            lockup: lockup.map(|text| text.parse().unwrap()),
            drop_start: start.map(|text| text.parse().unwrap()),
            drop_end: start.map(|text| text.parse().unwrap()),
            drop_between: later.iter().map(|text| text.parse().unwrap()).collect(),
            lockup_later: later.iter().map(|text| text.parse().unwrap()).collect(),
            minutes: number,
            load: number.filter(|_| by_load),
            burning: if by_load { Vec::new() } else { vec!["water heater".parse().unwrap()] },
            air: air.map(|air: f64| format!("{air}F").parse().unwrap()),
            method: start.map(|_| DropMethod::G607),
            vent: lockup.map(|_| Vent::Degrees(30)),
            elevation: air.map(|feet| format!("{feet}ft").parse().unwrap()),
            ..TestAnswers::default()
        })
}

proptest! {
    /// A draft is read back as what was answered, whatever was typed.
    #[test]
    fn what_is_written_is_read_back(note in texts(), other in texts(), test in tests(), event in any::<bool>(), day in Just("2026-03-22")) {
        let mut answers = Answers::about("R/1 \"x\"".parse().unwrap());
        answers.by = Some("bra'ndt".parse().unwrap());
        answers.on = event.then(|| day.parse().unwrap());
        answers.note = note.parse().unwrap();
        answers.test = test;
        let stamp = other.trim().to_owned();
        if !stamp.is_empty() {
            answers.marks.push(("CY-1".parse().unwrap(), stamp.replace('\r', "\n")));
        }
        answers.checks.push(CheckAnswer {
            rule: "extinguisher-look".parse().unwrap(),
            part: event.then(|| "EX \\1".parse().unwrap()),
            result: CheckResult::Fail,
            note: other.parse().unwrap(),
        });
        answers.events.push(EventAnswer { event: EventKind::Fire, note: note.parse().unwrap() });
        answers.replacements.push(Replacement {
            kind: event.then_some(PartKind::Hose),
            made: event.then(|| "2026-01".parse().unwrap()),
            replace_by: Some("2031-01-31".parse().unwrap()),
            serial: other.parse().unwrap(),
            ..Replacement::of("HS-1".parse().unwrap())
        });
        let text = written(&answers, Some("flow"));
        let read = read_visit_file(Path::new("draft.toml"), &text, false).unwrap_or_else(|error| panic!("{error}\n{text}"));
        prop_assert_eq!(read.answers, answers);
        prop_assert_eq!(read.at.as_deref(), Some("flow"));
    }
}
