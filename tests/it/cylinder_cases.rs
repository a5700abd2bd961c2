//! Cited cases of cylinder requalification, each recorded in a book and read back as a due item.
//!
//! `fixtures/cases/cylinders.jsonl` names the source beside each case.

use pigtail::book::DueFilter;
use pigtail::book::{Book, RecordError, Recording, Refusal};
use pigtail::due::{Item, State};
use pigtail::journal::{Change, Fact, Instant};
use pigtail::model::{Dated, Day, DayError, Depot, Mark, PackId, Part, PartKind, Text, Unit};
use serde::Deserialize;

#[derive(Deserialize)]
struct Case {
    id: String,
    spec: String,
    manufactured: String,
    stamps: Vec<Stamped>,
    expect_due: Option<String>,
    expect_status: Option<String>,
    expect_error: Option<String>,
    as_of: Option<String>,
    jurisdiction: Option<String>,
    service: Option<String>,
    why: String,
    source: String,
}

#[derive(Deserialize)]
struct Stamped {
    date: String,
    method: String,
}

/// The day the cases were written.
const TODAY: &str = "2026-11-25";

/// What became of a case: an item, or why it was refused.
enum Outcome {
    Item(Box<Item>),
    Refused(Refusal),
    BadDate(DayError),
}

#[test]
fn every_cited_case() {
    let text = std::fs::read_to_string("fixtures/cases/cylinders.jsonl").unwrap();
    let cases: Vec<Case> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(cases.len(), 44);
    let faults: Vec<String> = cases.iter().filter_map(|case| check(case).err()).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

fn check(case: &Case) -> Result<(), String> {
    let today: Day = case.as_of.as_deref().unwrap_or(TODAY).parse().unwrap();
    let context = format!("{} ({}; {})", case.id, case.why, case.source);
    match (outcome(case, today), case.expect_error.as_deref()) {
        (Outcome::Item(item), None) => {
            let due_on = item.due_on.map(|day| day.month().to_string());
            let wanted = case.expect_due.clone();
            let last = item.due_on.map(|day| day.month().last_day());
            if due_on != wanted || item.due_on != last {
                return Err(format!("{context}: due {due_on:?}, not {wanted:?}; {}", item.because));
            }
            let wanted = match case.expect_status.as_deref() {
                None => return Ok(()),
                Some("in-date") => State::InDate,
                Some("due-this-month") => State::Due,
                Some("overdue") => State::Overdue,
                Some(other) => return Err(format!("{context}: what is {other}?")),
            };
            if item.state(today) == wanted { Ok(()) } else { Err(format!("{context}: is {}", item.state(today))) }
        }
        (Outcome::Item(item), Some(error)) => {
            let said = match error {
                "see-special-permit" => "permit",
                "non-refillable" => "not refillable",
                "unknown-spec" => "specification missing",
                other => return Err(format!("{context}: not refused as {other}: {}", item.because)),
            };
            let undated = item.state(today) == State::Undated && item.because.contains(said);
            if undated { Ok(()) } else { Err(format!("{context}: {:?} {}", item.due_on, item.because)) }
        }
        (Outcome::Refused(Refusal::MarkBeforeMade { .. }), Some("stamp-before-manufacture"))
        | (Outcome::Refused(Refusal::Future { .. }), Some("stamp-in-future" | "manufactured-in-future"))
        | (Outcome::BadDate(_), Some("bad-date")) => Ok(()),
        (Outcome::Refused(refusal), _) => Err(format!("{context}: refused: {refusal}")),
        (Outcome::BadDate(error), _) => Err(format!("{context}: {error}")),
    }
}

fn outcome(case: &Case, today: Day) -> Outcome {
    let made: Option<Dated> = match case.manufactured.as_str() {
        "" => None,
        text => match text.parse() {
            Ok(made) => Some(made),
            Err(error) => return Outcome::BadDate(error),
        },
    };
    let rules = if case.jurisdiction.as_deref() == Some("CA") { PackId::Ca } else { PackId::Us };
    let kind =
        if case.service.as_deref() == Some("fire-extinguisher") { PartKind::Extinguisher } else { PartKind::Cylinder };
    let mut facts: Vec<Fact> = vec![
        Change::Depot(Depot { rules, ..Depot::named_only("YARD".parse().unwrap()) }).into(),
        Change::Unit(unit()).into(),
        Change::Part(Part { spec: case.spec.parse().unwrap(), made, ..part(kind) }).into(),
    ];
    for stamp in &case.stamps {
        let (month, method) = (stamp.date.parse().unwrap(), stamp.method.parse().unwrap());
        facts.push(Change::Mark(Mark { part: "CY-1".parse().unwrap(), month, method, rin: None }).into());
    }
    let mut book = Book::in_memory().unwrap();
    let recording = Recording {
        author: "case".parse().unwrap(),
        at: Instant::from_stored("2026-11-25T00:00:00.000Z".to_owned()),
        today,
    };
    match book.record(&recording, facts, &mut |_| {}) {
        Err(RecordError::Refused(refused)) => Outcome::Refused(refused[0].refusal.clone()),
        Err(error) => panic!("{error}"),
        Ok(_) => {
            let items = book.due_items(&DueFilter::default(), today).unwrap();
            let requalification = |item: &Item| item.rule.as_str().ends_with("requalification");
            Outcome::Item(Box::new(items.into_iter().find(requalification).unwrap()))
        }
    }
}

fn unit() -> Unit {
    Unit {
        unit: "R-1".parse().unwrap(),
        depot: "YARD".parse().unwrap(),
        body: Text::default(),
        vin: None,
        plate: Text::default(),
        model_year: None,
        in_service_on: None,
        retired_on: None,
        note: Text::default(),
    }
}

fn part(kind: PartKind) -> Part {
    Part {
        part: "CY-1".parse().unwrap(),
        unit: Some("R-1".parse().unwrap()),
        kind,
        position: Text::default(),
        spec: Text::default(),
        serial: Text::default(),
        made: None,
        fitted_on: None,
        replace_by: None,
        note: Text::default(),
    }
}
