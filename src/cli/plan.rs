//! `pigtail plan`: inspections fitted between hires.
//!
//! Owns: gathering the question, and the forms of the answer. Refuses: the plan itself (`plan`).

use super::complaint::{Answer, Complaint, Status};
use super::console::{Console, Format};
use super::session::{Session, unknown, yes_if};
use crate::book::{Book, Codes, DueFilter};
use crate::model::{Day, DepotCode, PersonCode};
use crate::plan::fleet::{Fleet, FleetPlan, PlannedVisit, Unplanned, Work};
use crate::plan::instance::Instance;
use crate::plan::visits::UnplacedReason;
use crate::plan::{Effort, solve};
use crate::show::table::{elastic, fixed, table};
use chrono::Datelike;
use serde::Serialize;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};

/// Propose visits that keep every unit in date between its hires.
#[derive(Debug, clap::Args)]
pub struct PlanArgs {
    /// Weeks planned
    #[arg(long, default_value_t = 4, value_parser = clap::value_parser!(u32).range(1..=104))]
    weeks: u32,
    /// Only this depot
    #[arg(long)]
    depot: Option<DepotCode>,
    /// Days by which work is wanted before its last day, where that can be had
    #[arg(long, value_name = "DAYS", default_value_t = 7, value_parser = clap::value_parser!(u32).range(0..=365))]
    buffer: u32,
    /// As if this person were away, to compare
    #[arg(long, value_name = "PERSON")]
    without: Option<PersonCode>,
    /// Solve a planning question written as JSON and print the plan as JSON; needs no fleet file
    #[arg(long, visible_alias = "instance", value_name = "FILE", conflicts_with_all = ["depot", "without"])]
    solve: Option<PathBuf>,
}

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where a code is unknown or a question cannot be read.
pub fn run(args: &PlanArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    if let Some(file) = &args.solve {
        return solve_file(file, console);
    }
    let format = console.format_among(&[Format::Table, Format::Json, Format::Csv])?;
    let book = session.book()?;
    let today = session.today(&book)?;
    if let Some(depot) = args.depot.as_ref()
        && book.depot(depot)?.is_none()
    {
        return unknown(&book, Codes::Depots, "depot", depot.as_str());
    }
    let fleet = gather(&book, args, today)?;
    let plan = planned(&fleet)?;
    if let Some(person) = &args.without {
        if book.person(person)?.is_none() {
            return unknown(&book, Codes::People, "person", person.as_str());
        }
        let mut fewer = fleet.clone();
        fewer.people.retain(|known| known.person != *person);
        return compare(&plan, &planned(&fewer)?, person, console);
    }
    match format {
        Format::Json => console.json(&Document::of(&plan, &fleet)).map(|_| ())?,
        Format::Csv => csv(&plan, console)?,
        _ => say(&plan, &fleet, console)?,
    }
    yes_if(plan.unplanned.is_empty())
}

/// As many threads as the machine has; the plan does not depend on it.
fn threads() -> NonZeroUsize {
    std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN)
}

fn planned(fleet: &Fleet) -> Result<FleetPlan, Complaint> {
    fleet.plan(threads()).map_err(|error| Complaint::refused(error, "mend that record and plan again"))
}

/// Largest question read.
const MAX_QUESTION_BYTES: u64 = 256 * 1024 * 1024;

fn solve_file(file: &Path, console: &mut Console<'_>) -> Answer {
    console.format_among(&[Format::Json])?;
    let unreadable = |error: std::io::Error| {
        Complaint::refused(format!("{}: {error}", file.display()), "name a file with a planning question in JSON")
    };
    if std::fs::metadata(file).map_err(unreadable)?.len() > MAX_QUESTION_BYTES {
        return Err(Complaint::refused(format!("{} is over 256 MiB", file.display()), "plan fewer units at a time"));
    }
    let text = std::fs::read_to_string(file).map_err(unreadable)?;
    let instance = Instance::from_json(&text).map_err(|error| {
        Complaint::refused(format!("{}: {error}", file.display()), "mend that record and solve again")
    })?;
    let plan = solve(&instance, Effort::usual(&instance), threads());
    console.json(&plan)?;
    yes_if(plan.unplaced.is_empty())
}

fn gather(book: &Book, args: &PlanArgs, today: Day) -> Result<Fleet, Complaint> {
    let mut depots = book.depots()?;
    depots.retain(|depot| args.depot.as_ref().is_none_or(|wanted| *wanted == depot.depot));
    let mut units = Vec::new();
    let mut items = Vec::new();
    let until = Some(today.plus_days(i64::from(args.weeks) * 7));
    for depot in &depots {
        for unit in book.units(Some(&depot.depot))?.into_iter().filter(|unit| unit.retired_on.is_none()) {
            units.push((unit.unit, depot.depot.clone()));
        }
        let filter = DueFilter { until, depot: Some(depot.depot.clone()), ..DueFilter::default() };
        for item in book.due_items(&filter, today)? {
            let rule = book.rules().pack(depot.rules).rule(&item.rule);
            let Some(rule) = rule.filter(|_| item.unit.is_some()) else { continue };
            let work = Work { minutes: rule.minutes, skills: rule.skills.clone(), earliest: rule.earliest };
            items.push((item, work));
        }
    }
    Ok(Fleet {
        today,
        weeks: args.weeks,
        buffer: args.buffer,
        units,
        items,
        bookings: book.bookings(None)?,
        people: book.people()?,
        calendar: book.calendar()?,
    })
}

#[derive(Serialize)]
struct Document {
    from: Day,
    until: Day,
    visits: Vec<VisitLine>,
    unplanned: Vec<UnplannedLine>,
    lost_hires: Vec<String>,
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
    due_on: Option<Day>,
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

impl Document {
    fn of(plan: &FleetPlan, fleet: &Fleet) -> Self {
        let work = |(item, by): &(crate::due::Item, PersonCode)| WorkLine {
            part: item.part.as_ref().map(ToString::to_string),
            rule: item.rule.to_string(),
            what: item.what.clone(),
            by: by.to_string(),
            due_on: item.due_on,
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
            unit: one.item.unit.as_ref().map(ToString::to_string),
            part: one.item.part.as_ref().map(ToString::to_string),
            rule: one.item.rule.to_string(),
            what: one.item.what.clone(),
            due_on: one.item.due_on,
            reason: one.reason,
            helps: helps(one.reason),
        };
        Self {
            from: fleet.today,
            until: fleet.today.plus_days(i64::from(fleet.weeks) * 7 - 1),
            visits: plan.visits.iter().map(visit).collect(),
            unplanned: plan.unplanned.iter().map(unplanned).collect(),
            lost_hires: plan.lost_hires.clone(),
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
        UnplacedReason::NoGap => "move a hire, open a day in calendar.csv, or give the work to another depot",
        UnplacedReason::NoCapacity => "add minutes in calendar.csv, or plan more weeks",
    }
}

fn work_said(visit: &PlannedVisit) -> String {
    let said = |(item, by): &(crate::due::Item, PersonCode)| {
        let part = item.part.as_ref().map(|part| format!("{part}: ")).unwrap_or_default();
        let by = if *by == visit.by { String::new() } else { format!(" ({by})") };
        format!("{part}{}{by}", item.what)
    };
    visit.work.iter().map(said).collect::<Vec<_>>().join("; ")
}

fn say(plan: &FleetPlan, fleet: &Fleet, console: &mut Console<'_>) -> Result<(), Complaint> {
    let columns =
        [fixed("DAY"), fixed("DATE"), elastic("DEPOT"), elastic("UNIT"), elastic("BY"), fixed("MIN"), elastic("WORK")];
    let mut week = None;
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut by_day: Vec<&PlannedVisit> = plan.visits.iter().collect();
    by_day.sort_by_key(|visit| (visit.on, &visit.depot, &visit.unit));
    for visit in by_day {
        let of = visit.on.date().iso_week();
        if week.is_some_and(|known| known != of) {
            console.table(&table(&columns, &rows, console.width))?;
            writeln!(console.out)?;
            rows.clear();
        }
        week = Some(of);
        rows.push(vec![
            visit.on.date().weekday().to_string().to_lowercase(),
            visit.on.to_string(),
            visit.depot.to_string(),
            visit.unit.to_string(),
            visit.by.to_string(),
            visit.minutes.to_string(),
            work_said(visit),
        ]);
    }
    if !rows.is_empty() {
        console.table(&table(&columns, &rows, console.width))?;
    }
    if !plan.unplanned.is_empty() {
        writeln!(console.out, "\nwithout a day:")?;
    }
    for one in &plan.unplanned {
        let unit = one.item.unit.as_ref().map(ToString::to_string).unwrap_or_default();
        let part = one.item.part.as_ref().map(|part| format!(" {part}")).unwrap_or_default();
        writeln!(console.out, "  {unit}{part}: {}: {}; {}", one.item.what, why(one.reason), helps(one.reason))?;
    }
    for hire in &plan.lost_hires {
        writeln!(console.out, "hire {hire} cannot go out in date")?;
    }
    writeln!(
        console.talk,
        "{} visits in {} weeks from {}, {} items without a day; nothing is recorded by planning",
        plan.visits.len(),
        fleet.weeks,
        fleet.today,
        plan.unplanned.len()
    )?;
    Ok(())
}

fn csv(plan: &FleetPlan, console: &mut Console<'_>) -> Result<(), Complaint> {
    let mut writer = csv::Writer::from_writer(&mut *console.out);
    let unwritten = |error: csv::Error| Complaint::from(std::io::Error::from(error));
    writer.write_record(["on", "depot", "unit", "part", "rule", "what", "by", "due_on"]).map_err(unwritten)?;
    for visit in &plan.visits {
        for (item, by) in &visit.work {
            let part = item.part.as_ref().map(ToString::to_string).unwrap_or_default();
            let due_on = item.due_on.map(|day| day.to_string()).unwrap_or_default();
            let row = [
                visit.on.to_string(),
                visit.depot.to_string(),
                visit.unit.to_string(),
                part,
                item.rule.to_string(),
                item.what.clone(),
                by.to_string(),
                due_on,
            ];
            writer.write_record(row).map_err(unwritten)?;
        }
    }
    writer.flush()?;
    Ok(())
}

#[derive(Serialize)]
struct Figures {
    visits: usize,
    without_a_day: usize,
    overdue_days_weighted: i64,
    lost_hires: usize,
}

impl Figures {
    fn of(plan: &FleetPlan) -> Self {
        Self {
            visits: plan.visits.len(),
            without_a_day: plan.unplanned.len(),
            overdue_days_weighted: plan.overdue,
            lost_hires: plan.lost_hires.len(),
        }
    }

    fn row(&self, name: String) -> Vec<String> {
        let figures = [self.visits, self.without_a_day, self.lost_hires].map(|figure| figure.to_string());
        let [visits, without, lost] = figures;
        vec![name, visits, without, self.overdue_days_weighted.to_string(), lost]
    }
}

/// Two plans beside each other. Nothing is changed by asking.
fn compare(now: &FleetPlan, then: &FleetPlan, person: &PersonCode, console: &mut Console<'_>) -> Answer {
    #[derive(Serialize)]
    struct Compared {
        as_is: Figures,
        without: Figures,
    }
    let compared = Compared { as_is: Figures::of(now), without: Figures::of(then) };
    if console.format_among(&[Format::Table, Format::Json])? == Format::Json {
        return console.json(&compared);
    }
    let columns =
        [fixed("PLAN"), fixed("VISITS"), fixed("WITHOUT A DAY"), fixed("OVERDUE DAYS (WEIGHTED)"), fixed("LOST HIRES")];
    let rows = [compared.as_is.row("as it is".to_owned()), compared.without.row(format!("without {person}"))];
    console.table(&table(&columns, &rows, console.width))?;
    Ok(Status::Done)
}
