//! A binder: what is on record about a unit or depot, and the proof that it is the record.
//!
//! Owns: its files, each as text, made from nothing but the slice of the journal that goes with them. Refuses: IO, and
//! names taken from data; every file has a fixed one. `docs/journal-format.md` describes the files.

use super::changes::said;
use super::legible::guarded;
use crate::journal::{Change, Hash, Read, Subject};
use crate::model::{Day, Named, Text};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// The form this program writes and reads.
pub const BINDER_FORMAT: &str = "pigtail-binder-1";

/// The file that says what the others are.
pub const BINDER_FILE: &str = "binder.json";

/// The journal slice, one entry a line.
pub const SLICE_FILE: &str = "journal.jsonl";

/// The content hash of every entry of the journal, one a line.
pub const CHAIN_FILE: &str = "chain.txt";

/// What a binder is about.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cover {
    /// [`BINDER_FORMAT`].
    pub format: String,
    /// The unit or depot.
    pub about: Subject,
    /// First day that records are listed for.
    pub from: Day,
    /// Last day.
    pub to: Day,
    /// Moment it was written, RFC 3339.
    pub written_at: String,
    /// By which program.
    pub program: String,
    /// Entries in the whole journal.
    pub entries: u64,
    /// Hash of its last entry, in hexadecimal digits.
    pub head: String,
    /// The other files, by name, with the SHA-256 of each.
    pub files: BTreeMap<String, String>,
}

/// One entry as it stands in `journal.jsonl`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SliceLine {
    /// Number.
    pub seq: u64,
    /// Moment, as sealed.
    pub recorded_at: String,
    /// Author, as sealed.
    pub author: String,
    /// JSON text, as sealed.
    pub body: String,
    /// Hash of the entry before.
    pub prev_hash: String,
    /// Hash.
    pub hash: String,
}

/// SHA-256 of a file in hexadecimal digits.
#[must_use]
pub fn digest(bytes: &[u8]) -> String {
    Hash(Sha256::digest(bytes).into()).to_string()
}

/// The journal slice as text.
///
/// # Errors
/// None that a journal can give; what the JSON writer reports.
pub fn slice_text(slice: &[Read]) -> Result<String, serde_json::Error> {
    let mut text = String::new();
    for Read { entry, .. } in slice {
        let line = SliceLine {
            seq: entry.seq,
            recorded_at: entry.recorded_at.to_string(),
            author: entry.author.clone(),
            body: entry.body.clone(),
            prev_hash: entry.prev_hash.to_string(),
            hash: entry.hash.to_string(),
        };
        text.push_str(&serde_json::to_string(&line)?);
        text.push('\n');
    }
    Ok(text)
}

/// The content hashes of a whole journal as text.
#[must_use]
pub fn chain_text(contents: &[Hash]) -> String {
    contents.iter().map(|content| format!("{content}\n")).collect()
}

#[derive(Serialize)]
struct Record<'a> {
    seq: u64,
    recorded_at: &'a str,
    author: &'a str,
    struck_by: Option<u64>,
    says: String,
    #[serde(flatten)]
    change: &'a Change,
}

/// The files made for readers: `records.json`, `records.csv`, `tests.csv` and `marks.csv`.
///
/// # Errors
/// None that a journal can give; what the writers report.
pub fn record_files(slice: &[Read], from: Day, to: Day) -> Result<BTreeMap<&'static str, String>, serde_json::Error> {
    let struck = struck(slice);
    let governing = governing(slice, from);
    let listed: Vec<&Read> =
        slice.iter().filter(|read| governing.contains(&read.entry.seq) || within(&read.change, from, to)).collect();
    let by = |read: &Read| struck.get(&read.entry.seq).copied();
    let records: Vec<Record<'_>> = listed
        .iter()
        .map(|read| Record {
            seq: read.entry.seq,
            recorded_at: read.entry.recorded_at.as_str(),
            author: &read.entry.author,
            struck_by: by(read),
            says: said(&read.change),
            change: &read.change,
        })
        .collect();
    let (mut all, mut tests, mut marks) = (head(&["says"]), head(&TEST_COLUMNS), head(&MARK_COLUMNS));
    for read in &listed {
        push(&mut all, read, by(read), &[said(&read.change)]);
        match &read.change {
            Change::GasTest { .. } => push(&mut tests, read, by(read), &test_cells(&read.change)),
            Change::Mark(mark) => {
                let rin = mark.rin.as_ref().map(ToString::to_string).unwrap_or_default();
                let cells = [mark.part.to_string(), mark.month.to_string(), mark.method.name().to_owned(), rin];
                push(&mut marks, read, by(read), &cells);
            }
            _ => {}
        }
    }
    let json = serde_json::to_string_pretty(&records)? + "\n";
    Ok(BTreeMap::from([("records.json", json), ("records.csv", all), ("tests.csv", tests), ("marks.csv", marks)]))
}

/// What a person who opens the folder reads first.
#[must_use]
pub fn read_me(about: &Subject, from: Day, to: Day, entries: u64, head: &str) -> String {
    let about = match about {
        Subject::Unit(unit) => format!("unit {unit}"),
        Subject::Depot(depot) => format!("depot {depot}"),
    };
    format!(
        "What is on record about {about}, {from} to {to}.\n\n\
         records.csv    every record, one line each; struck_by names the later entry that voids it\n\
         tests.csv      gas tests with their readings and verdicts\n\
         marks.csv      requalification marks read off cylinder collars\n\
         records.json   the same records with every field\n\
         journal.jsonl  the journal entries that these records are\n\
         chain.txt      one hash for each of the {entries} entries of the whole journal\n\
         binder.json    what this binder is about, and the SHA-256 of each file\n\n\
         The last hash of the journal was\n  {head}@{entries}\n\
         Compare it, or the hash printed in any digest mailed before, with what a check of this folder prints:\n  \
         pigtail journal verify --binder FOLDER --against HASH@N\n  \
         python3 verify_binder.py FOLDER\n\
         The check shows that each record is sealed in that history. It cannot show that no record was left out of this\n\
         folder; for that, ask for the whole journal.\n"
    )
}

/// Entries of a slice that another one strikes, with that one.
fn struck(slice: &[Read]) -> BTreeMap<u64, u64> {
    let mut struck = BTreeMap::new();
    for read in slice.iter().rev() {
        if let Change::Void { seq, .. } = read.change
            && !struck.contains_key(&read.entry.seq)
        {
            struck.insert(seq, read.entry.seq);
        }
    }
    struck
}

/// The last gas test of each unit, and the last check of each thing under each rule, before `from`: they are what
/// stood when the period began.
fn governing(slice: &[Read], from: Day) -> std::collections::BTreeSet<u64> {
    let mut last: BTreeMap<(String, String, String), (Day, u64)> = BTreeMap::new();
    let struck = struck(slice);
    for read in slice.iter().filter(|read| !struck.contains_key(&read.entry.seq)) {
        let (key, on) = match &read.change {
            Change::GasTest { test, .. } => ((test.unit.to_string(), String::new(), String::new()), test.on),
            Change::Check(check) => {
                let part = check.part.as_ref().map(ToString::to_string).unwrap_or_default();
                ((check.unit.to_string(), part, check.rule.to_string()), check.on)
            }
            _ => continue,
        };
        if on < from && last.get(&key).is_none_or(|(known, _)| *known <= on) {
            last.insert(key, (on, read.entry.seq));
        }
    }
    last.into_values().map(|(_, seq)| seq).collect()
}

/// Whether a record is listed for a period. What the fleet is made of is listed up to the last day, however old.
fn within(change: &Change, from: Day, to: Day) -> bool {
    match change {
        Change::GasTest { test, .. } => (from..=to).contains(&test.on),
        Change::Check(check) => (from..=to).contains(&check.on),
        Change::Event(event) => (from..=to).contains(&event.on),
        Change::VisitClosed { on, .. } => (from..=to).contains(on),
        Change::Booking(booking) => booking.out_on <= to && booking.back_on >= from,
        Change::Mark(mark) => mark.month.first_day() <= to,
        Change::GaugeCheck(check) => check.on <= to,
        Change::Hold(hold) => hold.placed_on <= to,
        Change::HoldLifted { on, .. }
        | Change::PartFitted { on, .. }
        | Change::PartPulled { on, .. }
        | Change::PartScrapped { on, .. }
        | Change::UnitMoved { on, .. }
        | Change::UnitRetired { on, .. } => *on <= to,
        Change::Depot(_)
        | Change::Unit(_)
        | Change::Appliance(_)
        | Change::Part(_)
        | Change::Person(_)
        | Change::Gauge(_)
        | Change::Calendar(_)
        | Change::BookingCancelled { .. }
        | Change::VisitsKept { .. }
        | Change::HouseRules { .. }
        | Change::Void { .. } => true,
    }
}

const TEST_COLUMNS: [&str; 16] = [
    "unit",
    "on",
    "by",
    "gauge",
    "tap",
    "lockup",
    "flow",
    "load_percent",
    "drop_start",
    "drop_end",
    "minutes",
    "air_f",
    "air_after_f",
    "elevation_ft",
    "verdict",
    "because",
];

const MARK_COLUMNS: [&str; 4] = ["part", "month", "method", "rin"];

fn test_cells(change: &Change) -> Vec<String> {
    let Change::GasTest { test, verdict, because } = change else { return Vec::new() };
    let number = |figure: Option<f64>| figure.map(|figure| figure.to_string()).unwrap_or_default();
    fn word<T: ToString>(value: Option<&T>) -> String {
        value.map(ToString::to_string).unwrap_or_default()
    }
    let because: Vec<&str> = because.iter().map(Text::as_str).collect();
    vec![
        test.unit.to_string(),
        test.on.to_string(),
        word(test.by.as_ref()),
        word(test.gauge.as_ref()),
        test.tap.to_string(),
        word(test.lockup.as_ref()),
        word(test.flow.as_ref()),
        number(test.load_percent),
        word(test.drop_start.as_ref()),
        word(test.drop_end.as_ref()),
        number(test.minutes),
        number(test.air_f),
        number(test.air_after_f),
        number(test.elevation_ft),
        verdict.to_string(),
        because.join("; "),
    ]
}

fn head(columns: &[&str]) -> String {
    format!("seq,recorded_at,author,struck_by,{}\r\n", columns.join(","))
}

fn push(text: &mut String, read: &Read, struck_by: Option<u64>, cells: &[String]) {
    let lead = [
        read.entry.seq.to_string(),
        read.entry.recorded_at.to_string(),
        read.entry.author.clone(),
        struck_by.map(|by| by.to_string()).unwrap_or_default(),
    ];
    let cells: Vec<String> = lead.iter().chain(cells).map(|cell| quoted(&guarded(cell))).collect();
    text.push_str(&cells.join(","));
    text.push_str("\r\n");
}

fn quoted(cell: &str) -> String {
    if cell.contains([',', '"']) { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell.to_owned() }
}
