//! `pigtail gauge`: what pressures are read with, and the checks that show it reads true.
//!
//! Owns: its options, and naming the units whose tests a bad gauge leaves in doubt. Refuses: how long a check lasts.

use super::{say_recorded, taken};
use crate::book::{Book, Codes, DueFilter, RecordedTest};
use crate::cli::complaint::{Answer, Complaint, Status};
use crate::cli::console::{Console, Format};
use crate::cli::session::{Session, unknown};
use crate::journal::Change;
use crate::model::{Day, Gauge, GaugeCheck, GaugeCode, GaugeKind, PersonCode, Pressure, Reading, Text};
use crate::show::reasons::standing;
use crate::show::table::{elastic, fixed};
use serde::Serialize;
use std::collections::BTreeMap;

/// Keep gauges: enter, check against a water column.
#[derive(Debug, clap::Subcommand)]
pub enum GaugeCommand {
    /// Enter a gauge
    Add {
        /// Its code
        gauge: GaugeCode,
        /// u-tube, dial or digital
        #[arg(long)]
        kind: GaugeKind,
        /// Smallest step it can be read to, as 0.1inwc
        #[arg(long, value_name = "READING")]
        resolution: Option<Pressure>,
        /// Anything else
        #[arg(long, default_value = "")]
        note: Text,
    },
    /// Record a check against a water column
    Check {
        /// Its code
        gauge: GaugeCode,
        /// What it read
        #[arg(long)]
        reading: Reading,
        /// What the water column read
        #[arg(long)]
        reference: Reading,
        /// By whom
        #[arg(long)]
        by: Option<PersonCode>,
        /// When [default: today]
        #[arg(long)]
        on: Option<Day>,
    },
    /// List gauges
    List,
    /// Show one gauge with its checks
    Show {
        /// Its code
        gauge: GaugeCode,
    },
}

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where a code is taken, unknown or refused.
pub fn run(command: &GaugeCommand, session: &Session, console: &mut Console<'_>) -> Answer {
    let mut book = session.book()?;
    match command {
        GaugeCommand::Add { gauge, kind, resolution, note } => {
            if book.gauge(gauge)?.is_some() {
                return Err(taken("gauge", gauge.as_str()));
            }
            let gauge = Gauge {
                gauge: gauge.clone(),
                kind: *kind,
                resolution_inwc: resolution.map(Pressure::inwc),
                note: note.clone(),
            };
            let recorded = session.record(&mut book, None, [Change::Gauge(gauge).into()])?;
            say_recorded(&recorded, console)?;
            Ok(Status::Done)
        }
        GaugeCommand::Check { gauge, reading, reference, by, on } => {
            let found = known(&book, gauge)?;
            let check = GaugeCheck {
                gauge: gauge.clone(),
                on: on.map_or_else(|| session.today(&book), Ok)?,
                by: by.clone(),
                reading: reading.clone(),
                reference: reference.clone(),
            };
            check_gauge(session, &mut book, &found, &check, console)
        }
        GaugeCommand::List => list(&book.gauges()?, &book, session, console),
        GaugeCommand::Show { gauge } => show(&book, &known(&book, gauge)?, session, console),
    }
}

/// Records a check. Where it does not agree, names the units whose last passing test rests on the gauge; the due
/// engine has opened those tests again.
fn check_gauge(
    session: &Session,
    book: &mut Book,
    gauge: &Gauge,
    check: &GaugeCheck,
    console: &mut Console<'_>,
) -> Answer {
    let recorded = session.record(book, check.by.as_ref(), [Change::GaugeCheck(check.clone()).into()])?;
    say_recorded(&recorded, console)?;
    if check.agrees(gauge) {
        return Ok(Status::Done);
    }
    writeln!(
        console.out,
        "gauge {} does not agree with the water column: {} against {}; take it out of use until it does",
        gauge.gauge, check.reading, check.reference
    )?;
    for test in doubtful(book, gauge, check)? {
        writeln!(
            console.out,
            "unit {}: gas test of {} rested on it; test again before the unit goes out",
            test.test.unit, test.test.on
        )?;
    }
    Ok(Status::No)
}

/// The last passing test of each unit that was made with the gauge since its last good check.
fn doubtful(book: &Book, gauge: &Gauge, found_out: &GaugeCheck) -> Result<Vec<RecordedTest>, Complaint> {
    let good = book.gauge_checks(&gauge.gauge)?;
    let since = good.iter().filter(|check| check.agrees(gauge) && check.on < found_out.on).map(|check| check.on).max();
    let mut last = BTreeMap::new();
    for test in book.gas_tests_with(&gauge.gauge, since)? {
        if test.test.on <= found_out.on {
            last.insert(test.test.unit.clone(), test);
        }
    }
    let mut doubtful = Vec::new();
    for (unit, test) in last {
        let newest = book.gas_tests(&unit)?.into_iter().rfind(|known| known.verdict == crate::model::Verdict::Pass);
        if newest.is_some_and(|newest| newest.seq == test.seq) {
            doubtful.push(test);
        }
    }
    Ok(doubtful)
}

fn known(book: &Book, gauge: &GaugeCode) -> Result<Gauge, Complaint> {
    match book.gauge(gauge)? {
        Some(found) => Ok(found),
        None => unknown(book, Codes::Gauges, "gauge", gauge.as_str()),
    }
}

fn list(gauges: &[Gauge], book: &Book, session: &Session, console: &mut Console<'_>) -> Answer {
    let today = session.today(book)?;
    let mut standings = BTreeMap::new();
    for gauge in gauges {
        standings.insert(gauge.gauge.clone(), gauge_standing(book, gauge, today)?);
    }
    let columns = [fixed("GAUGE"), fixed("KIND"), fixed("RESOLUTION INWC"), elastic("CHECK"), elastic("NOTE")];
    console.list("gauges", &columns, gauges, |gauge| {
        vec![
            gauge.gauge.to_string(),
            gauge.kind.to_string(),
            gauge.resolution_inwc.map_or_else(String::new, |step| step.to_string()),
            standings.get(&gauge.gauge).cloned().unwrap_or_default(),
            gauge.note.to_string(),
        ]
    })
}

fn gauge_standing(book: &Book, gauge: &Gauge, today: Day) -> Result<String, Complaint> {
    let Ok(part) = gauge.gauge.as_str().parse() else { return Ok(String::new()) };
    let filter = DueFilter { part: Some(part), kind: Some(crate::due::ItemKind::Gauge), ..DueFilter::default() };
    let items = book.due_items(&filter, today)?;
    Ok(items.first().map_or_else(|| "needs none".to_owned(), |item| standing(item, today)))
}

#[derive(Serialize)]
struct Shown<'a> {
    gauge: &'a Gauge,
    checks: &'a [GaugeCheck],
}

fn show(book: &Book, gauge: &Gauge, session: &Session, console: &mut Console<'_>) -> Answer {
    let checks = book.gauge_checks(&gauge.gauge)?;
    if console.format_among(&[Format::Table, Format::Json])? == Format::Json {
        return console.json(&Shown { gauge, checks: &checks });
    }
    list(std::slice::from_ref(gauge), book, session, console)?;
    for check in &checks {
        let agrees = if check.agrees(gauge) { "agrees" } else { "does not agree" };
        writeln!(console.out, "{}: read {} against {}: {agrees}", check.on, check.reading, check.reference)?;
    }
    Ok(Status::Done)
}
