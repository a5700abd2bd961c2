//! A unit's whole record on one sheet, before it is text or a page.
//!
//! Owns: every sentence of the sheet, so that its text and its page say the same. Refuses: layout, and judging again: a
//! verdict stands as it was given when the test was recorded.

use super::legible::one_line;
use super::reasons::standing;
use crate::due::{Block, Item, Readiness, State, stands};
use crate::journal::Hash;
use crate::model::{
    Appliance, Day, Depot, GasTest, Hold, Mark, Part, Reading, Temperature, Text, TimedReading, Unit, Verdict, rounded,
};
use crate::rules::Rule;
use serde::Serialize;

/// A gas test with the verdict it was given.
#[derive(Debug, Clone, Copy)]
pub struct JudgedTest<'a> {
    /// Its number in the journal.
    pub seq: u64,
    /// Readings.
    pub test: &'a GasTest,
    /// Verdict.
    pub verdict: Verdict,
    /// Everything found that was not a plain pass, one sentence each.
    pub because: &'a [String],
}

/// Everything on record that a sheet is made of.
#[derive(Debug, Clone)]
pub struct SheetFacts<'a> {
    /// The unit.
    pub unit: &'a Unit,
    /// Its depot, where that is known.
    pub depot: Option<&'a Depot>,
    /// Its appliances.
    pub appliances: &'a [Appliance],
    /// Parts on it, each with its marks, oldest first.
    pub parts: &'a [(Part, Vec<Mark>)],
    /// The last gas test, whatever came of it.
    pub test: Option<JudgedTest<'a>>,
    /// Holds, lifted ones too.
    pub holds: &'a [Hold],
    /// Due items, each with its rule where that is still in force.
    pub items: &'a [(Item, Option<&'a Rule>)],
    /// Whether the unit may go out today.
    pub readiness: &'a Readiness,
    /// Today.
    pub today: Day,
    /// Entries in the journal.
    pub entries: u64,
    /// Hash of the last.
    pub head: Hash,
}

/// A sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sheet {
    /// The unit's code.
    pub unit: String,
    /// Day it is of.
    pub as_of: String,
    /// Whether the unit may go out, in a sentence.
    pub ready: String,
    /// How that is: `good` or `late`.
    pub tone: &'static str,
    /// What stands in the way.
    pub blocks: Vec<String>,
    /// What the unit is.
    pub identity: Vec<Named>,
    /// What burns gas in it.
    pub appliances: Vec<String>,
    /// What carries dates on it.
    pub parts: Vec<PartLine>,
    /// The last gas test.
    pub test: Option<TestPart>,
    /// Holds, one sentence each.
    pub holds: Vec<String>,
    /// What falls due when.
    pub due: Vec<DueLine>,
    /// What the reader must be told.
    pub cautions: Vec<String>,
    /// What pins the history.
    pub journal: String,
    /// The journal's head hash.
    pub head: String,
}

/// A word and what stands behind it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Named {
    /// The word.
    pub name: &'static str,
    /// What stands behind it.
    pub value: String,
}

/// One part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PartLine {
    /// Its code.
    pub part: String,
    /// What it is.
    pub kind: String,
    /// Where on the unit.
    pub position: String,
    /// Specification.
    pub spec: String,
    /// Serial number.
    pub serial: String,
    /// Make date, or that it is not known.
    pub made: String,
    /// Day it was fitted; blank where that is not known.
    pub fitted: String,
    /// Replace-by date printed on it; blank where there is none.
    pub replace_by: String,
    /// Marks on its collar, oldest first.
    pub marks: Vec<String>,
}

/// The last gas test.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TestPart {
    /// When, by whom, in which entry.
    pub made: String,
    /// Its verdict.
    pub verdict: String,
    /// How that is: `good`, `missing` or `late`.
    pub tone: &'static str,
    /// What was read.
    pub readings: Vec<Named>,
    /// What was found that is not a plain pass.
    pub findings: Vec<String>,
}

/// One due item.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DueLine {
    /// How it stands.
    pub state: String,
    /// How that is: `good`, `soon`, `missing` or `late`.
    pub tone: &'static str,
    /// What it is about.
    pub about: String,
    /// What is to be done.
    pub what: String,
    /// Last day in date, or that it is not known.
    pub last_day: String,
    /// How it stands today, in words.
    pub standing: String,
    /// Rule.
    pub rule: String,
    /// On whose word.
    pub authority: String,
    /// Where that stands.
    pub cite: String,
    /// Fact and arithmetic.
    pub because: String,
}

const CAUTIONS: [&str; 3] = [
    "This sheet keeps dates and readings; it does not make a gas system safe. A passed test shows how the system was on \
     that day.",
    "Where local code, the authority having jurisdiction or a part's maker asks for more, that governs.",
    "Work on gas systems, and requalification of cylinders, are for people licensed or approved to do it.",
];

impl Sheet {
    /// The sheet of these facts.
    #[must_use]
    pub fn of(facts: &SheetFacts<'_>) -> Self {
        let today = facts.today;
        Self {
            unit: one_line(facts.unit.unit.as_str()),
            as_of: today.to_string(),
            ready: ready(facts.readiness, today),
            tone: if facts.readiness.ready() { "good" } else { "late" },
            blocks: facts.readiness.blocks.iter().map(|block| blocked(block, today)).collect(),
            identity: identity(facts),
            appliances: facts.appliances.iter().map(appliance).collect(),
            parts: facts.parts.iter().map(|(part, marks)| part_line(part, marks)).collect(),
            test: facts.test.map(test_part),
            holds: facts.holds.iter().map(|hold| held(hold, today)).collect(),
            due: facts.items.iter().map(|(item, _)| due_line(item, today)).collect(),
            cautions: cautions(facts.items),
            journal: format!(
                "journal: {} {}, head",
                facts.entries,
                if facts.entries == 1 { "entry" } else { "entries" }
            ),
            head: facts.head.to_string(),
        }
    }
}

fn ready(readiness: &Readiness, today: Day) -> String {
    match (readiness.ready(), readiness.ready_through) {
        (true, Some(through)) => format!("ready to go out on {today}; in date through {through}"),
        (true, None) => format!("ready to go out on {today}"),
        (false, _) => format!("not ready to go out on {today}"),
    }
}

fn blocked(block: &Block, today: Day) -> String {
    match block {
        Block::Held(hold) => one_line(&format!("held since {}: {}", hold.placed_on, hold.reason)),
        Block::Retired { on } => format!("left the fleet on {on}"),
        Block::Undated(item) | Block::Overdue(item) | Block::RunsOut(item) => {
            let part = item.part.as_ref().map(|part| format!("{part}: ")).unwrap_or_default();
            one_line(&format!("{part}{}: {}", item.what, standing(item, today)))
        }
    }
}

fn identity(facts: &SheetFacts<'_>) -> Vec<Named> {
    let unit = facts.unit;
    let depot = match facts.depot.filter(|depot| !depot.name.is_blank()) {
        Some(depot) => format!("{} ({})", unit.depot, depot.name),
        None => unit.depot.to_string(),
    };
    let text = |text: &Text| Some(text.to_string()).filter(|text| !text.is_empty());
    let rules = facts.depot.map(|depot| depot.rules.to_string());
    [
        ("unit", Some(unit.unit.to_string())),
        ("depot", Some(depot)),
        ("body", text(&unit.body)),
        ("VIN", unit.vin.as_ref().map(ToString::to_string)),
        ("plate", text(&unit.plate)),
        ("year", unit.model_year.map(|year| year.to_string())),
        ("on rent", unit.in_service_on.map(|on| on.to_string())),
        ("retired", unit.retired_on.map(|on| on.to_string())),
        ("rule pack", rules),
        ("note", text(&unit.note)),
    ]
    .into_iter()
    .filter_map(named)
    .collect()
}

fn named((name, value): (&'static str, Option<String>)) -> Option<Named> {
    value.map(|value| Named { name, value: one_line(&value) })
}

fn appliance(appliance: &Appliance) -> String {
    let inlet = match (appliance.inlet_min_inwc, appliance.inlet_max_inwc) {
        (None, None) => String::new(),
        (Some(least), Some(most)) => format!(", inlet {} to {} in. w.c.", rounded(least, 2), rounded(most, 2)),
        (Some(least), None) => format!(", inlet {} in. w.c. or more", rounded(least, 2)),
        (None, Some(most)) => format!(", inlet {} in. w.c. or less", rounded(most, 2)),
    };
    one_line(&format!("{}, {} Btu/h{inlet}", appliance.appliance, rounded(appliance.btu_h, 0)))
}

fn part_line(part: &Part, marks: &[Mark]) -> PartLine {
    let mark = |mark: &Mark| {
        let rin = mark.rin.as_ref().map(|rin| format!(" by {rin}")).unwrap_or_default();
        format!("{} {}{rin}", mark.month, mark.method)
    };
    PartLine {
        part: one_line(part.part.as_str()),
        kind: part.kind.to_string(),
        position: one_line(part.position.as_str()),
        spec: one_line(part.spec.as_str()),
        serial: one_line(part.serial.as_str()),
        made: part.made.map_or_else(|| "not known".to_owned(), |made| made.to_string()),
        fitted: part.fitted_on.map(|on| on.to_string()).unwrap_or_default(),
        replace_by: part.replace_by.map(|by| by.to_string()).unwrap_or_default(),
        marks: marks.iter().map(mark).collect(),
    }
}

fn test_part(judged: JudgedTest<'_>) -> TestPart {
    let test = judged.test;
    let by = test.by.as_ref().map(|by| format!(" by {by}")).unwrap_or_default();
    let timed = |timed: &[TimedReading]| {
        let words: Vec<String> = timed.iter().map(ToString::to_string).collect();
        (!words.is_empty()).then(|| words.join(", "))
    };
    let air = |air: Option<f64>| air.and_then(Temperature::from_fahrenheit).map(|air| air.to_string());
    let readings = [
        ("gauge", test.gauge.as_ref().map(ToString::to_string)),
        ("tap", Some(test.tap.to_string())),
        ("lock-up", test.lockup.as_ref().map(reading)),
        ("watched", timed(&test.lockup_later)),
        ("flow", test.flow.as_ref().map(reading)),
        ("load", test.load_percent.map(|load| format!("{} %", rounded(load, 1)))),
        ("method", test.method.map(|method| method.to_string())),
        ("drop from", test.drop_start.as_ref().map(reading)),
        ("between", timed(&test.drop_between)),
        ("drop to", test.drop_end.as_ref().map(reading)),
        ("minutes", test.minutes.map(|minutes| rounded(minutes, 2).to_string())),
        ("air", air(test.air_f)),
        ("air after", air(test.air_after_f)),
        ("elevation", test.elevation_ft.map(|feet| format!("{} ft", rounded(feet, 0)))),
        ("vent", test.vent.map(|vent| vent.to_string())),
    ];
    TestPart {
        made: one_line(&format!("{}{by}, journal entry {}", test.on, judged.seq)),
        verdict: judged.verdict.to_string(),
        tone: match judged.verdict {
            Verdict::Pass => "good",
            Verdict::Inconclusive => "missing",
            Verdict::Fail => "late",
        },
        readings: readings.into_iter().filter_map(named).collect(),
        findings: judged.because.iter().map(|sentence| one_line(sentence)).collect(),
    }
}

/// In inches of water, behind the technician's own words where they are others.
fn reading(reading: &Reading) -> String {
    let inwc = reading.pressure().to_string();
    if reading.as_str().parse::<f64>().is_ok() { inwc } else { format!("{reading} = {inwc}") }
}

fn held(hold: &Hold, today: Day) -> String {
    let end = match hold.lifted_on {
        Some(on) => format!("; lifted {on}: {}", hold.lifted_because),
        None => String::new(),
    };
    let stands = if stands(hold, today) { "STANDS" } else { "over" };
    one_line(&format!("{stands}: placed {}: {}{end}", hold.placed_on, hold.reason))
}

fn due_line(item: &Item, today: Day) -> DueLine {
    let state = item.state(today);
    let part = item.part.as_ref().map_or_else(|| "whole unit".to_owned(), ToString::to_string);
    DueLine {
        state: state.to_string(),
        tone: match state {
            State::Overdue => "late",
            State::Undated => "missing",
            State::Due => "soon",
            State::InDate => "good",
        },
        about: one_line(&part),
        what: one_line(&item.what),
        last_day: item.due_on.map_or_else(|| "not known".to_owned(), |day| day.to_string()),
        standing: standing(item, today),
        rule: item.rule.to_string(),
        authority: item.authority.to_string(),
        cite: one_line(&item.cite),
        because: one_line(&item.because),
    }
}

/// What is always said, then what the unit's own rules say, each once with all the work it goes for.
fn cautions(items: &[(Item, Option<&Rule>)]) -> Vec<String> {
    let mut of_rules: Vec<(&str, Vec<&str>)> = Vec::new();
    for rule in items.iter().filter_map(|(_, rule)| *rule) {
        let Some(caution) = rule.caution.as_deref() else { continue };
        match of_rules.iter_mut().find(|(known, _)| *known == caution) {
            Some((_, works)) if works.contains(&rule.what.as_str()) => {}
            Some((_, works)) => works.push(&rule.what),
            None => of_rules.push((caution, vec![&rule.what])),
        }
    }
    let of_rules = of_rules.iter().map(|(caution, works)| one_line(&format!("{}: {caution}", works.join("; "))));
    CAUTIONS.iter().map(|caution| (*caution).to_owned()).chain(of_rules).collect()
}
