//! A plan as a week-by-week table, as JSON and as CSV.
//!
//! Owns: columns, sentences for what has no day, and how full each person's week is. Refuses: choosing days.

use super::legible::{counted, guarded};
use super::table::{Column, elastic, fixed, table};
use crate::due::Item;
use crate::model::{Day, PersonCode};
use crate::plan::fleet::Fleet;
use crate::plan::fleet_plan::{FleetPlan, PlannedVisit, PlannedWork, TooFewMinutes, Unplanned};
use crate::plan::visits::UnplacedReason;
use chrono::Datelike;
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt::Write;

/// A plan as `plan --format json` gives it.
#[derive(Serialize)]
pub struct PlanDocument {
    from: Day,
    until: Day,
    visits: Vec<VisitLine>,
    unplanned: Vec<UnplannedLine>,
    lost_hires: Vec<String>,
    broken_promises: Vec<BrokenLine>,
    too_few_minutes: Vec<TooFewLine>,
}

#[derive(Serialize)]
struct VisitLine {
    depot: String,
    unit: String,
    on: Day,
    by: String,
    minutes: u32,
    work: Vec<WorkLine>,
}

#[derive(Serialize)]
struct WorkLine {
    part: Option<String>,
    rule: String,
    what: String,
    by: String,
    minutes: u32,
    due_on: Option<Day>,
    promised_on: Option<Day>,
}

#[derive(Serialize)]
struct UnplannedLine {
    unit: Option<String>,
    part: Option<String>,
    rule: String,
    what: String,
    due_on: Option<Day>,
    reason: UnplacedReason,
    helps: &'static str,
}

#[derive(Serialize)]
struct BrokenLine {
    unit: Option<String>,
    part: Option<String>,
    rule: String,
    promised_on: Day,
}

#[derive(Serialize)]
struct TooFewLine {
    depot: String,
    minutes_short: i64,
    minutes_needed: i64,
    minutes_offered: i64,
    jobs: usize,
    technician_days: Vec<String>,
}

fn text<T: ToString>(code: Option<&T>) -> Option<String> {
    code.map(ToString::to_string)
}

impl PlanDocument {
    /// The document of a plan for a fleet.
    #[must_use]
    pub fn of(plan: &FleetPlan, fleet: &Fleet) -> Self {
        let work = |work: &PlannedWork| WorkLine {
            part: text(work.item.part.as_ref()),
            rule: work.item.rule.to_string(),
            what: work.item.what.clone(),
            by: work.by.to_string(),
            minutes: work.minutes,
            due_on: work.item.due_on,
            promised_on: work.kept_on,
        };
        let visit = |visit: &PlannedVisit| VisitLine {
            depot: visit.depot.to_string(),
            unit: visit.unit.to_string(),
            on: visit.on,
            by: visit.by.to_string(),
            minutes: visit.minutes,
            work: visit.work.iter().map(work).collect(),
        };
        let unplanned = |one: &Unplanned| UnplannedLine {
            unit: text(one.item.unit.as_ref()),
            part: text(one.item.part.as_ref()),
            rule: one.item.rule.to_string(),
            what: one.item.what.clone(),
            due_on: one.item.due_on,
            reason: one.reason,
            helps: helps(one.reason),
        };
        let broken = |(item, promised_on): &(Item, Day)| BrokenLine {
            unit: text(item.unit.as_ref()),
            part: text(item.part.as_ref()),
            rule: item.rule.to_string(),
            promised_on: *promised_on,
        };
        let too_few = |one: &TooFewMinutes| TooFewLine {
            depot: one.depot.to_string(),
            minutes_short: one.short,
            minutes_needed: one.needed,
            minutes_offered: one.offered,
            jobs: one.jobs.len(),
            technician_days: one.days.iter().map(|(person, on, _)| format!("{person} {on}")).collect(),
        };
        Self {
            from: fleet.today,
            until: fleet.until(),
            visits: plan.visits.iter().map(visit).collect(),
            unplanned: plan.unplanned.iter().map(unplanned).collect(),
            lost_hires: plan.lost_hires.clone(),
            broken_promises: plan.broken.iter().map(broken).collect(),
            too_few_minutes: plan.too_few.iter().map(too_few).collect(),
        }
    }
}

fn why(reason: UnplacedReason) -> &'static str {
    match reason {
        UnplacedReason::NoSkill => "nobody at the depot holds the skill",
        UnplacedReason::NoGap => "on no day are the unit, an open depot and a qualified person there together",
        UnplacedReason::NoCapacity => "there are such days, and other work fills them",
    }
}

fn helps(reason: UnplacedReason) -> &'static str {
    match reason {
        UnplacedReason::NoSkill => {
            "have it done elsewhere, or enter who can: pigtail person amend PERSON --skill SKILL"
        }
        UnplacedReason::NoGap => "move a hire, open a day with pigtail depot hours, or give the work to another depot",
        UnplacedReason::NoCapacity => "add minutes with pigtail depot hours, or plan more weeks",
    }
}

const COLUMNS: [Column; 8] = [
    fixed("DAY"),
    fixed("DATE"),
    elastic("DEPOT"),
    elastic("UNIT"),
    elastic("BY"),
    fixed("MIN"),
    fixed("PROMISED"),
    elastic("WORK"),
];

/// The plan for reading: a table for each week, how full everybody's week is, and what has no day.
#[must_use]
pub fn plan_text(plan: &FleetPlan, fleet: &Fleet, width: Option<usize>) -> String {
    let mut weeks: BTreeMap<Day, Vec<&PlannedVisit>> = BTreeMap::new();
    for visit in &plan.visits {
        weeks.entry(monday(visit.on)).or_default().push(visit);
    }
    let mut out = String::new();
    for (monday, mut visits) in weeks {
        visits.sort_by_key(|visit| (visit.on, &visit.depot, &visit.unit));
        let _ = writeln!(out, "week of {monday}");
        let rows: Vec<Vec<String>> = visits.iter().map(|visit| row(visit)).collect();
        out.push_str(&table(&COLUMNS, &rows, width));
        out.push_str(&loads(&visits, fleet, monday));
        out.push('\n');
    }
    without_a_day(plan, &mut out);
    out
}

fn monday(day: Day) -> Day {
    day.plus_days(-i64::from(day.date().weekday().num_days_from_monday()))
}

fn row(visit: &PlannedVisit) -> Vec<String> {
    vec![
        visit.on.date().weekday().to_string().to_lowercase(),
        visit.on.to_string(),
        visit.depot.to_string(),
        visit.unit.to_string(),
        visit.by.to_string(),
        visit.minutes.to_string(),
        promised(visit),
        work_said(visit),
    ]
}

/// How a visit stands to what was promised: the day, another day, part of it, or nothing.
fn promised(visit: &PlannedVisit) -> String {
    let moved = visit.work.iter().filter_map(|work| work.kept_on).find(|on| *on != visit.on);
    match moved {
        Some(on) => format!("was {on}"),
        None if visit.work.iter().all(|work| work.kept_on.is_some()) => "yes".to_owned(),
        None if visit.work.iter().any(|work| work.kept_on.is_some()) => "in part".to_owned(),
        None => String::new(),
    }
}

fn work_said(visit: &PlannedVisit) -> String {
    let said = |work: &PlannedWork| {
        let part = work.item.part.as_ref().map(|part| format!("{part}: ")).unwrap_or_default();
        let by = if work.by == visit.by { String::new() } else { format!(" ({})", work.by) };
        format!("{part}{}{by}", work.item.what)
    };
    visit.work.iter().map(said).collect::<Vec<_>>().join("; ")
}

/// Characters of a bar.
const BAR: u32 = 20;

/// How much of everybody's week is taken, as a bar and in minutes.
fn loads(visits: &[&PlannedVisit], fleet: &Fleet, monday: Day) -> String {
    let mut busy: BTreeMap<&PersonCode, u32> = BTreeMap::new();
    for (person, minutes) in visits.iter().flat_map(|visit| visit.minutes_by()) {
        *busy.entry(person).or_default() += minutes;
    }
    let widest = busy.keys().map(|person| person.as_str().chars().count()).max().unwrap_or(0);
    let mut out = String::new();
    for (person, taken) in busy {
        let offered = fleet.offered(person, monday, monday.plus_days(6));
        let filled = (taken * BAR).checked_div(offered).unwrap_or(BAR).min(BAR);
        let bar = "#".repeat(filled as usize) + &".".repeat((BAR - filled) as usize);
        let person = person.as_str();
        let _ = writeln!(out, "{person:<widest$}  {bar}  {taken} of {offered} min");
    }
    out
}

fn without_a_day(plan: &FleetPlan, out: &mut String) {
    if !plan.unplanned.is_empty() {
        out.push_str("without a day:\n");
    }
    for one in &plan.unplanned {
        let _ = writeln!(out, "  {}: {}; {}", named(&one.item), why(one.reason), helps(one.reason));
    }
    for (item, on) in &plan.broken {
        let _ = writeln!(out, "promised for {on} and no longer possible then: {}", named(item));
    }
    for hire in &plan.lost_hires {
        let _ = writeln!(out, "hire {hire} cannot go out in date");
    }
    for one in &plan.too_few {
        let (jobs, days) = (counted(one.jobs.len(), "job", "jobs"), days(one));
        let _ = writeln!(
            out,
            "depot {} is short of {} min: {jobs} of {} min can be done on time only on {days}, {} min in all",
            one.depot, one.short, one.needed, one.offered
        );
    }
}

/// Days named when there are more.
const MOST_DAYS: usize = 6;

fn days(one: &TooFewMinutes) -> String {
    let mut named: Vec<String> =
        one.days.iter().take(MOST_DAYS).map(|(person, on, minutes)| format!("{on} ({person} {minutes})")).collect();
    if one.days.len() > MOST_DAYS {
        named.push(format!("{} more", one.days.len() - MOST_DAYS));
    }
    if named.is_empty() { "no day".to_owned() } else { named.join(", ") }
}

fn named(item: &Item) -> String {
    let unit = item.unit.as_ref().map(ToString::to_string).unwrap_or_default();
    let part = item.part.as_ref().map(|part| format!(" {part}")).unwrap_or_default();
    format!("{unit}{part}: {}", item.what)
}

/// The plan as CSV (RFC 4180, one header line), a line an item.
#[must_use]
pub fn plan_csv(plan: &FleetPlan) -> String {
    let mut out = String::from("on,depot,unit,part,rule,what,by,due_on,promised_on\r\n");
    for visit in &plan.visits {
        for work in &visit.work {
            let item = &work.item;
            let cells = [
                visit.on.to_string(),
                guarded(visit.depot.as_str()),
                guarded(visit.unit.as_str()),
                guarded(&text(item.part.as_ref()).unwrap_or_default()),
                item.rule.to_string(),
                guarded(&item.what),
                guarded(work.by.as_str()),
                text(item.due_on.as_ref()).unwrap_or_default(),
                text(work.kept_on.as_ref()).unwrap_or_default(),
            ];
            super::digest_csv::push(&mut out, cells.into_iter());
        }
    }
    out
}
