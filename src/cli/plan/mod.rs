//! `pigtail plan`: inspections fitted between hires.
//!
//! Owns: the options and who answers. Refuses: the plan itself (`plan`) and its layout (`show`).

mod keep;
mod question;
mod solve;
mod what_if;
mod why;

use super::complaint::{Answer, Complaint};
use super::console::{Console, Format};
use super::session::{Session, known_person, yes_if};
use crate::model::{Day, DepotCode, PersonCode, UnitCode};
use crate::plan::fleet::{Fleet, FleetError};
use crate::plan::fleet_plan::FleetPlan;
use crate::show::plan::{PlanDocument, plan_csv, plan_text};
use crate::show::plan_calendar::plan_calendar;
use std::num::NonZeroUsize;
use std::path::PathBuf;

/// Propose visits that keep every unit in date between its hires (--format ics: one person's calendar)
#[derive(Debug, clap::Args)]
#[command(args_conflicts_with_subcommands = true)]
pub struct PlanArgs {
    #[command(subcommand)]
    then: Option<PlanCommand>,
    #[command(flatten)]
    asked: Asked,
    /// Only visits on which this person works
    #[arg(long, value_name = "PERSON")]
    person: Option<PersonCode>,
    #[command(flatten)]
    what_if: what_if::WhatIf,
    /// Solve a planning question written as JSON and print the plan as JSON; needs no fleet file
    #[arg(long, visible_alias = "instance", value_name = "FILE",
        conflicts_with_all = ["depot", "person", "without", "add_day", "as_if"])]
    solve: Option<PathBuf>,
}

/// What can be done with a plan.
#[derive(Debug, clap::Subcommand)]
enum PlanCommand {
    /// Promise the visits of the next days: later plans leave them where they are if they can
    Keep {
        #[command(flatten)]
        asked: Asked,
        /// Days from today whose visits are promised; what was promised before is carried along
        #[arg(long, value_name = "DAYS", default_value_t = PINNED_DAYS, value_parser = clap::value_parser!(u32).range(1..=730))]
        days: u32,
    },
    /// Take back the promised visits of a unit
    Drop {
        /// The unit
        unit: UnitCode,
        /// Only the visit on this day
        #[arg(long, value_name = "DATE")]
        on: Option<Day>,
    },
    /// Say for each item of a unit why it is on its day, and why not later
    Why {
        /// The unit
        unit: UnitCode,
        #[command(flatten)]
        asked: Asked,
    },
}

/// What every plan is asked for.
#[derive(Debug, clap::Args)]
struct Asked {
    /// Weeks planned
    #[arg(long, default_value_t = 4, value_parser = clap::value_parser!(u32).range(1..=104))]
    weeks: u32,
    /// Only this depot
    #[arg(long)]
    depot: Option<DepotCode>,
    /// Days by which work is wanted before its last day, where that can be had
    #[arg(long, value_name = "DAYS", default_value_t = 7, value_parser = clap::value_parser!(u32).range(0..=365))]
    buffer: u32,
}

/// Days from today within which a promised visit is not moved.
const PINNED_DAYS: u32 = 14;

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where a code is unknown or a question cannot be read.
pub fn run(args: &PlanArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    match &args.then {
        Some(PlanCommand::Keep { asked, days }) => return keep::keep(asked, *days, session, console),
        Some(PlanCommand::Drop { unit, on }) => return keep::take_back(unit, *on, session, console),
        Some(PlanCommand::Why { unit, asked }) => return why::run(unit, asked, session, console),
        None => {}
    }
    if let Some(file) = &args.solve {
        return solve::run(file, console);
    }
    let format = console.format_among(&[Format::Table, Format::Json, Format::Csv, Format::Ics])?;
    let book = session.book()?;
    let fleet = question::gather(&book, &args.asked, session.today(&book)?)?;
    let mut plan = planned(&fleet)?;
    if !args.what_if.is_empty() {
        return args.what_if.compare(&book, &fleet, &plan, console);
    }
    let complete = plan.unplanned.is_empty();
    if let Some(person) = &args.person {
        known_person(&book, person)?;
        plan.visits.retain(|visit| visit.by == *person || visit.work.iter().any(|work| work.by == *person));
    }
    match format {
        Format::Json => console.json(&PlanDocument::of(&plan, &fleet)).map(|_| ())?,
        Format::Csv => console.out.write_all(plan_csv(&plan).as_bytes())?,
        Format::Ics => console.out.write_all(plan_calendar(&plan, args.person.as_ref(), session.now).as_bytes())?,
        _ => say(&plan, &fleet, console)?,
    }
    yes_if(complete)
}

/// As many threads as the machine has; the plan does not depend on it.
fn threads() -> NonZeroUsize {
    std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN)
}

fn planned(fleet: &Fleet) -> Result<FleetPlan, Complaint> {
    fleet.plan(threads()).map_err(unplannable)
}

fn unplannable(error: FleetError) -> Complaint {
    match error {
        FleetError::Question(_) => Complaint::refused(error, "mend that record and plan again"),
        FleetError::Unsound(_) => Complaint::fault(error),
    }
}

fn say(plan: &FleetPlan, fleet: &Fleet, console: &mut Console<'_>) -> Result<(), Complaint> {
    console.out.write_all(plan_text(plan, fleet, console.width).as_bytes())?;
    writeln!(
        console.talk,
        "{} visits in {} weeks from {}, {} items without a day; nothing is recorded by planning",
        plan.visits.len(),
        fleet.weeks,
        fleet.today,
        plan.sum.unplanned
    )?;
    if fleet.kept.is_empty() && !plan.visits.is_empty() {
        writeln!(console.talk, "to promise the visits of the next {PINNED_DAYS} days: pigtail plan keep")?;
    }
    Ok(())
}
