//! `pigtail plan keep` and `pigtail plan drop`: promising visits, and taking promises back.
//!
//! Owns: which proposed visits become promises. Refuses: moving anything by itself; the plan says what moves.

use super::super::complaint::{Answer, Complaint, Status};
use super::super::console::Console;
use super::super::session::{Session, known_unit};
use super::{Asked, planned, question};
use crate::journal::Change;
use crate::model::{Day, KeptVisit, KeptWork, UnitCode};
use crate::plan::fleet::Fleet;
use crate::plan::fleet_plan::FleetPlan;
use crate::show::legible::counted;
use std::collections::{BTreeMap, BTreeSet};

type Promises = BTreeMap<UnitCode, Vec<KeptVisit>>;

pub(super) fn keep(asked: &Asked, days: u32, session: &Session, console: &mut Console<'_>) -> Answer {
    let mut book = session.book()?;
    let today = session.today(&book)?;
    let fleet = question::gather(&book, asked, today)?;
    let plan = planned(&fleet)?;
    let before = by_unit(fleet.kept.iter().cloned());
    let after = promises(&fleet, &plan, today.plus_days(i64::from(days)));
    let units: BTreeSet<&UnitCode> = before.keys().chain(after.keys()).collect();
    let mut changes = Vec::new();
    for unit in units {
        let (was, is) = (before.get(unit), after.get(unit));
        if was != is {
            let visits = is.cloned().unwrap_or_default();
            changes.push(Change::VisitsKept { unit: unit.clone(), visits }.into());
        }
    }
    let said = difference(&before, &after);
    if changes.is_empty() {
        writeln!(
            console.out,
            "every visit was promised as it is already: {}",
            counted(said.visits, "visit", "visits")
        )?;
        return Ok(Status::Done);
    }
    session.record(&mut book, None, changes)?;
    writeln!(
        console.out,
        "promised {}: {} new, {} on another day than before; {} taken back",
        counted(said.visits, "visit", "visits"),
        counted(said.new, "item", "items"),
        counted(said.moved, "item", "items"),
        counted(said.gone, "item", "items"),
    )?;
    if !plan.unplanned.is_empty() {
        writeln!(
            console.talk,
            "{} without a day: pigtail plan",
            counted(plan.unplanned.len(), "item is", "items are")
        )?;
    }
    writeln!(console.talk, "next: pigtail plan --person PERSON --format ics; pigtail closeout UNIT fulfils a visit")?;
    Ok(Status::Done)
}

pub(super) fn take_back(unit: &UnitCode, on: Option<Day>, session: &Session, console: &mut Console<'_>) -> Answer {
    let mut book = session.book()?;
    known_unit(&book, unit)?;
    let today = session.today(&book)?;
    let kept: Vec<KeptVisit> = book.kept_visits(Some(unit))?.into_iter().map(|(_, visit)| visit).collect();
    let (gone, stay): (Vec<_>, Vec<_>) = kept.into_iter().partition(|visit| on.is_none_or(|on| visit.on == on));
    if gone.is_empty() {
        let day = on.map(|on| format!(" for {on}")).unwrap_or_default();
        let what = format!("unit {unit} has no visit planned{day}");
        return Err(Complaint::refused(what, "pigtail plan shows what is planned"));
    }
    let visits = stay.into_iter().filter(|visit| visit.on >= today).collect();
    session.record(&mut book, None, [Change::VisitsKept { unit: unit.clone(), visits }.into()])?;
    for visit in gone {
        writeln!(console.out, "unit {unit}: the visit planned for {} is taken back", visit.on)?;
    }
    writeln!(console.talk, "next: pigtail plan")?;
    Ok(Status::Done)
}

/// What is promised from now on: proposed visits before `end`, and wherever the plan now has what was promised before.
/// Promises about work that this plan did not look at stay as they are.
fn promises(fleet: &Fleet, plan: &FleetPlan, end: Day) -> Promises {
    let looked_at: BTreeSet<_> = fleet
        .items
        .iter()
        .filter_map(|(item, _)| Some((item.unit.as_ref()?, item.part.as_ref(), &item.rule)))
        .collect();
    let mut all: Vec<(UnitCode, KeptVisit)> = plan
        .visits
        .iter()
        .filter(|visit| visit.on < end || visit.work.iter().any(|work| work.kept_on.is_some()))
        .map(|visit| (visit.unit.clone(), visit.as_kept()))
        .collect();
    for (unit, visit) in fleet.kept.iter().filter(|(_, visit)| visit.on >= fleet.today) {
        let aside = |work: &&KeptWork| !looked_at.contains(&(unit, work.part.as_ref(), &work.rule));
        let work: Vec<KeptWork> = visit.work.iter().filter(aside).cloned().collect();
        if !work.is_empty() {
            all.push((unit.clone(), KeptVisit { work, ..visit.clone() }));
        }
    }
    by_unit(all)
}

/// Visits of each unit by day, those of one day as one, and work in one order, so that equal promises compare equal.
fn by_unit(all: impl IntoIterator<Item = (UnitCode, KeptVisit)>) -> Promises {
    let mut promises = Promises::new();
    for (unit, visit) in all {
        let visits = promises.entry(unit).or_default();
        match visits.iter_mut().find(|known: &&mut KeptVisit| known.on == visit.on) {
            Some(known) => known.work.extend(visit.work),
            None => visits.push(visit),
        }
    }
    for visits in promises.values_mut() {
        visits.sort_by_key(|visit| visit.on);
        for visit in visits {
            visit.work.sort_by(|a, b| (&a.part, &a.rule).cmp(&(&b.part, &b.rule)));
        }
    }
    promises
}

struct Difference {
    visits: usize,
    new: usize,
    moved: usize,
    gone: usize,
}

fn difference(before: &Promises, after: &Promises) -> Difference {
    let days = |promises: &Promises| {
        let mut days = BTreeMap::new();
        for (unit, visits) in promises {
            for visit in visits {
                days.extend(
                    visit.work.iter().map(|work| ((unit.clone(), work.part.clone(), work.rule.clone()), visit.on)),
                );
            }
        }
        days
    };
    let (was, is) = (days(before), days(after));
    Difference {
        visits: after.values().map(Vec::len).sum(),
        new: is.keys().filter(|work| !was.contains_key(*work)).count(),
        moved: is.iter().filter(|(work, on)| was.get(*work).is_some_and(|before| before != *on)).count(),
        gone: was.keys().filter(|work| !is.contains_key(*work)).count(),
    }
}
