//! Facts about a fleet so small that most of them touch one another.
//!
//! Owns: drawing any change there is, sound and unsound. Refuses: knowing what the book makes of it.

use chrono::{TimeDelta, TimeZone, Utc};
use pigtail::book::{Book, RecordError, Recorded, Recording};
use pigtail::journal::{Author, Change, Fact, Instant};
use pigtail::model::Day;
use proptest::prelude::{BoxedStrategy, Just, Strategy, any, prop_oneof};
use proptest::sample::select;
use serde_json::{Value, json};

/// The day all of it is recorded on.
pub const TODAY: &str = "2026-03-02";

/// Who records, and when: one minute after another from noon of 2 March 2026.
pub fn recording(minute: i64) -> Recording {
    let at = Utc.with_ymd_and_hms(2026, 3, 2, 12, 0, 0).unwrap() + TimeDelta::minutes(minute);
    recording_at(&at.to_rfc3339())
}

/// Who records, at a moment given as RFC 3339; it is the day of that moment there.
pub fn recording_at(moment: &str) -> Recording {
    let at = chrono::DateTime::parse_from_rfc3339(moment).unwrap().to_utc();
    Recording { author: Author::unnamed(), at: Instant::from_utc(at), today: Day::of_clock(at.date_naive()) }
}

/// A change as it stands in a journal.
pub fn change(body: Value) -> Change {
    let shown = body.to_string();
    serde_json::from_value(body).unwrap_or_else(|error| panic!("{shown}: {error}"))
}

pub fn fact(body: Value) -> Fact {
    match change(body) {
        Change::GasTest { test, .. } => Fact::Test(test),
        other => other.into(),
    }
}

/// Records facts that must be taken.
pub fn take(book: &mut Book, minute: i64, facts: impl IntoIterator<Item = Value>) -> Recorded {
    let facts: Vec<Fact> = facts.into_iter().map(fact).collect();
    book.record(&recording(minute), facts, &mut |_| {}).unwrap_or_else(|error| panic!("{}", said(&error)))
}

/// Everything a refusal says.
pub fn said(error: &RecordError) -> String {
    match error {
        RecordError::Refused(refused) => {
            refused.iter().map(|one| one.refusal.to_string()).collect::<Vec<_>>().join("\n")
        }
        RecordError::Book(error) => error.to_string(),
    }
}

/// A fleet of one of everything, recorded, entry by entry.
pub fn small_fleet() -> Vec<Value> {
    vec![
        json!({"change": "depot", "depot": "HARBOR", "timezone": "America/Denver", "rules": "us", "elevation_ft": 5280.0}),
        json!({"change": "unit", "unit": "R-1", "depot": "HARBOR", "in_service_on": "2020-01-15", "note": "first"}),
        json!({"change": "person", "person": "brandt", "name": "A. Brandt", "skills": ["gas"], "credential_until": "2026-12-31"}),
        json!({"change": "gauge", "gauge": "TUBE", "kind": "dial", "resolution_inwc": 0.1}),
        json!({"change": "gauge-check", "gauge": "TUBE", "on": "2026-02-01", "by": "brandt", "reading": "5.0", "reference": "5.0"}),
        json!({"change": "appliance", "unit": "R-1", "appliance": "range", "btu_h": 9000.0, "inlet_min_inwc": 10.5, "inlet_max_inwc": 13.0}),
        json!({"change": "part", "part": "CY-1", "unit": "R-1", "kind": "cylinder", "position": "left", "spec": "DOT-4BA240", "serial": "0042", "made": "2014-02", "fitted_on": "2020-01-15", "replace_by": "2040-01", "note": "dented"}),
        json!({"change": "mark", "part": "CY-1", "month": "2021-11", "method": "external-visual", "rin": "A123"}),
        json!({"change": "gas-test", "unit": "R-1", "on": "2026-02-20", "by": "brandt", "gauge": "TUBE", "tap": "main", "lockup": "11.4", "lockup_later": ["11.5@3"], "flow": "11.0", "load_percent": 60.0, "method": "three-test", "drop_start": "9.0", "drop_between": ["9.0@1"], "drop_end": "9.0", "minutes": 4.0, "air_f": 58.0, "air_after_f": 58.0, "elevation_ft": 5280.0, "vent": "10", "verdict": "pass"}),
        json!({"change": "part", "part": "EX-1", "unit": "R-1", "kind": "extinguisher", "made": "2022-05"}),
        json!({"change": "check", "unit": "R-1", "part": "EX-1", "on": "2026-02-10", "by": "brandt", "rule": "extinguisher-look", "result": "pass", "note": "needle green"}),
        json!({"change": "event", "unit": "R-1", "on": "2026-01-05", "event": "system-opened", "note": "range swapped"}),
        json!({"change": "hold", "unit": "R-1", "placed_on": "2026-01-06", "reason": "smell of gas"}),
        json!({"change": "hold-lifted", "unit": "R-1", "hold": 13, "on": "2026-02-21", "because": "tested tight"}),
        json!({"change": "booking", "booking": "B-1", "unit": "R-1", "out_on": "2026-03-10", "back_on": "2026-03-20"}),
        json!({"change": "calendar", "depot": "HARBOR", "person": "brandt", "when": "mon", "minutes": 480}),
        json!({"change": "visit-closed", "unit": "R-1", "on": "2026-02-20", "by": "brandt", "note": "cold"}),
        json!({"change": "house-rules", "pack": "us", "toml": HOUSE[0]}),
        json!({"change": "part", "part": "HS-9", "kind": "hose", "made": "2024-01"}),
        json!({"change": "part-scrapped", "part": "HS-9", "on": "2026-02-22", "because": "kinked"}),
        json!({"change": "event", "unit": "R-1", "on": "2026-01-07", "event": "collision"}),
        json!({"change": "void", "seq": 21, "because": "another unit"}),
        json!({"change": "visits-kept", "unit": "R-1", "visits": [{"on": "2026-03-05", "by": "brandt", "work": [
            {"rule": "extinguisher-look", "part": "EX-1", "by": "brandt", "due_on": "2026-03-10"}]}]}),
    ]
}

/// House rules that the shipped packs let stand.
pub const HOUSE: [&str; 2] = [
    "pack = \"us\"\n\n[[change]]\nrule = \"hose\"\nreason = \"more time to order\"\nnotice = \"3 months\"\n",
    "pack = \"us\"\n\n[[change]]\nrule = \"hose\"\nreason = \"salt air\"\nfirst = { from = \"made\", span = \"4 years\" }\n",
];

const UNITS: [&str; 3] = ["R-1", "R-2", "R-3"];
const PARTS: [&str; 5] = ["CY-1", "HS-1", "EX-1", "RG-1", "TK-1"];
const PEOPLE: [&str; 2] = ["brandt", "ito"];
const GAUGES: [&str; 2] = ["TUBE", "DIAL"];

fn word(words: &'static [&'static str]) -> BoxedStrategy<Value> {
    select(words).prop_map(Value::from).boxed()
}

fn day() -> BoxedStrategy<Value> {
    (-2400i64..20).prop_map(|days| Value::from(TODAY.parse::<Day>().unwrap().plus_days(days).to_string())).boxed()
}

fn month() -> BoxedStrategy<Value> {
    (2010u16..2027, 1u8..13).prop_map(|(year, month)| Value::from(format!("{year}-{month:02}"))).boxed()
}

fn maybe(inner: BoxedStrategy<Value>) -> BoxedStrategy<Value> {
    prop_oneof![1 => Just(Value::Null), 3 => inner].boxed()
}

fn note() -> BoxedStrategy<Value> {
    word(&["", "", "seen", "two\nlines", "\u{1b}[31mred", "ünïcode; with semicolons", "=1+1"])
}

/// One object from its fields; those that are null are left out.
fn object(kind: &'static str, fields: Vec<(&'static str, BoxedStrategy<Value>)>) -> BoxedStrategy<Value> {
    let (names, values): (Vec<_>, Vec<_>) = fields.into_iter().unzip();
    values
        .prop_map(move |values| {
            let mut object = serde_json::Map::from_iter([("change".to_owned(), Value::from(kind))]);
            for (name, value) in names.iter().zip(values) {
                if !value.is_null() {
                    object.insert((*name).to_owned(), value);
                }
            }
            Value::Object(object)
        })
        .boxed()
}

fn nouns() -> Vec<BoxedStrategy<Value>> {
    vec![
        object(
            "depot",
            vec![
                ("depot", word(&["HARBOR", "MESA"])),
                ("name", note()),
                ("timezone", word(&["America/Denver", "UTC"])),
                ("rules", word(&["us", "us", "ca", "de"])),
                ("elevation_ft", maybe(word(&["x"]).prop_map(|_| json!(5000.5)).boxed())),
                ("digest_to", Just(json!(["a@example.org", "b@example.org"])).boxed()),
            ],
        ),
        object(
            "unit",
            vec![
                ("unit", word(&UNITS)),
                ("depot", word(&["HARBOR", "MESA"])),
                ("body", note()),
                ("in_service_on", maybe(day())),
                ("note", note()),
            ],
        ),
        object(
            "appliance",
            vec![
                ("unit", word(&UNITS)),
                ("appliance", word(&["range", "furnace"])),
                ("btu_h", (1000u32..30000).prop_map(|n| json!(f64::from(n) / 3.0)).boxed()),
            ],
        ),
        part("CY-1", "cylinder", &["DOT-4BA240", "", "DOT-3AA2015"]),
        part("HS-1", "hose", &[""]),
        part("EX-1", "extinguisher", &["", "DISPOSABLE"]),
        part("RG-1", "regulator", &["", "R600"]),
        part("TK-1", "tank", &[""]),
        object(
            "person",
            vec![
                ("person", word(&PEOPLE)),
                ("name", note()),
                ("skills", Just(json!(["gas", "requalifier"])).boxed()),
                ("credential_until", maybe(day())),
            ],
        ),
        object(
            "gauge",
            vec![
                ("gauge", word(&GAUGES)),
                ("kind", word(&["u-tube", "dial"])),
                ("resolution_inwc", maybe(Just(json!(0.1)).boxed())),
                ("note", note()),
            ],
        ),
        object(
            "calendar",
            vec![
                ("depot", word(&["HARBOR", "MESA"])),
                ("person", maybe(word(&PEOPLE))),
                ("when", word(&["mon", "tue", "2026-03-09"])),
                ("minutes", (0u32..600).prop_map(Value::from).boxed()),
            ],
        ),
        object("house-rules", vec![("pack", Just(json!("us")).boxed()), ("toml", word(&HOUSE))]),
    ]
}

fn part(code: &'static str, kind: &'static str, specs: &'static [&'static str]) -> BoxedStrategy<Value> {
    object(
        "part",
        vec![
            ("part", Just(json!(code)).boxed()),
            ("kind", Just(json!(kind)).boxed()),
            ("unit", maybe(word(&UNITS))),
            ("spec", word(specs)),
            ("position", note()),
            ("made", maybe(month())),
            ("fitted_on", maybe(day())),
            ("replace_by", maybe(month())),
        ],
    )
}

fn happenings() -> Vec<BoxedStrategy<Value>> {
    let reading = || word(&["10", "11.4", "27.4mbar", "5.5+5.5", "9.0"]);
    vec![
        object(
            "mark",
            vec![
                ("part", word(&PARTS)),
                ("month", month()),
                ("method", word(&["external-visual", "volumetric", "proof-pressure"])),
                ("rin", maybe(Just(json!("A123")).boxed())),
            ],
        ),
        object(
            "gauge-check",
            vec![
                ("gauge", word(&GAUGES)),
                ("on", day()),
                ("by", maybe(word(&PEOPLE))),
                ("reading", reading()),
                ("reference", reading()),
            ],
        ),
        object(
            "gas-test",
            vec![
                ("unit", word(&UNITS)),
                ("on", day()),
                ("by", maybe(word(&PEOPLE))),
                ("gauge", maybe(word(&GAUGES))),
                ("lockup", maybe(reading())),
                ("flow", maybe(reading())),
                ("load_percent", maybe(Just(json!(66.666_666_666_666_67)).boxed())),
                ("drop_start", Just(json!("9.0")).boxed()),
                ("drop_end", word(&["9.0", "8.0"])),
                ("minutes", Just(json!(4.0)).boxed()),
                ("air_f", Just(json!(58.0)).boxed()),
                ("air_after_f", Just(json!(58.0)).boxed()),
                ("vent", Just(json!("unseen")).boxed()),
                ("verdict", Just(json!("pass")).boxed()),
            ],
        ),
        object(
            "check",
            vec![
                ("unit", word(&UNITS)),
                ("part", maybe(word(&PARTS))),
                ("on", day()),
                ("by", maybe(word(&PEOPLE))),
                ("rule", word(&["extinguisher-look", "tank-relief-valve", "extinguisher-maintenance"])),
                ("result", word(&["pass", "fail"])),
                ("note", note()),
            ],
        ),
        object(
            "event",
            vec![
                ("unit", word(&UNITS)),
                ("on", day()),
                ("event", word(&["out-of-gas", "system-opened", "collision", "fire"])),
                ("note", note()),
            ],
        ),
        object("hold", vec![("unit", word(&UNITS)), ("placed_on", day()), ("reason", word(&["leak", "smell"]))]),
        object(
            "hold-lifted",
            vec![("unit", word(&UNITS)), ("hold", seq()), ("on", day()), ("because", word(&["mended"]))],
        ),
        object(
            "booking",
            vec![
                ("booking", word(&["B-1", "B-2"])),
                ("unit", word(&UNITS)),
                ("out_on", Just(json!("2026-04-01")).boxed()),
                ("back_on", word(&["2026-04-05", "2026-05-05"])),
            ],
        ),
        object("booking-cancelled", vec![("booking", word(&["B-1", "B-2"]))]),
        object(
            "part-fitted",
            vec![("part", word(&PARTS)), ("unit", word(&UNITS)), ("position", note()), ("on", day())],
        ),
        object("part-pulled", vec![("part", word(&PARTS)), ("on", day())]),
        object("part-scrapped", vec![("part", word(&PARTS)), ("on", day()), ("because", word(&["worn"]))]),
        object("unit-moved", vec![("unit", word(&UNITS)), ("depot", word(&["HARBOR", "MESA"])), ("on", day())]),
        object("unit-retired", vec![("unit", word(&UNITS)), ("on", day()), ("because", word(&["sold"]))]),
        object(
            "visits-kept",
            vec![
                ("unit", word(&UNITS)),
                (
                    "visits",
                    select(vec![
                        json!([]),
                        json!([{"on": TODAY, "by": "ito", "work": [{"rule": "gas-test", "by": "ito"}]}]),
                        json!([{"on": "2027-01-04", "by": "brandt", "work": [
                            {"rule": "hose", "part": "HS-1", "by": "brandt", "due_on": "2027-01-31"},
                            {"rule": "gas-test", "by": "ito", "due_on": "2026-06-30"}]}]),
                    ])
                    .boxed(),
                ),
            ],
        ),
        object("visit-closed", vec![("unit", word(&UNITS)), ("on", day()), ("by", word(&PEOPLE)), ("note", note())]),
    ]
}

fn seq() -> BoxedStrategy<Value> {
    (1u64..60).prop_map(Value::from).boxed()
}

fn void() -> BoxedStrategy<Value> {
    object("void", vec![("seq", seq()), ("because", word(&["slip", "wrong unit"]))])
}

/// Any change: one in three a noun, one in ten a void; a third of the facts come in pairs and more.
pub fn batches(most: usize) -> impl Strategy<Value = Vec<Vec<Value>>> {
    let any_noun = (any::<proptest::sample::Index>(), proptest::strategy::Union::new(nouns())).prop_map(|(_, v)| v);
    let one = prop_oneof![
        6 => any_noun,
        10 => proptest::strategy::Union::new(happenings()),
        2 => void(),
    ];
    let batch = prop_oneof![
        3 => proptest::collection::vec(one.clone().boxed(), 1..2),
        1 => proptest::collection::vec(one.boxed(), 2..4),
    ];
    proptest::collection::vec(batch, 8..most)
}
