//! `pigtail depot hours`: who works when, and when a depot is closed.
//!
//! Owns: its options. Refuses: planning; `plan` reads what stands here.

use super::say_recorded;
use crate::book::Book;
use crate::cli::complaint::{Answer, Complaint, Status};
use crate::cli::console::Console;
use crate::cli::session::{Session, known_depot, known_person};
use crate::journal::Change;
use crate::model::{CalendarLine, DayOrWeekday, DepotCode, PersonCode};
use crate::show::table::fixed;

/// What is entered, or listed where no minutes are given.
#[derive(Debug, clap::Args)]
pub struct HoursArgs {
    /// The depot
    depot: DepotCode,
    /// The person; left out, the whole depot
    #[arg(long, value_name = "PERSON")]
    person: Option<PersonCode>,
    /// Every such weekday, or one day; give it again for more
    #[arg(long, value_name = "WEEKDAY|DATE", requires = "minutes")]
    on: Vec<DayOrWeekday>,
    /// Minutes of work; 0 is off, or closed
    #[arg(long, requires = "on")]
    minutes: Option<u32>,
}

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where a code is unknown or the minutes are refused.
pub fn run(args: &HoursArgs, session: &Session, book: &mut Book, console: &mut Console<'_>) -> Answer {
    known_depot(book, &args.depot)?;
    args.person.as_ref().map(|person| known_person(book, person)).transpose()?;
    let Some(minutes) = args.minutes else { return list(args, book, console) };
    let line = |when: &DayOrWeekday| CalendarLine {
        depot: args.depot.clone(),
        person: args.person.clone(),
        when: *when,
        minutes,
    };
    let recorded = session.record(book, None, args.on.iter().map(|when| Change::Calendar(line(when)).into()))?;
    say_recorded(&recorded, console)?;
    Ok(Status::Done)
}

fn list(args: &HoursArgs, book: &Book, console: &mut Console<'_>) -> Result<Status, Complaint> {
    let mut lines = book.calendar()?;
    lines.retain(|line| line.depot == args.depot && (args.person.is_none() || line.person == args.person));
    let columns = [fixed("DEPOT"), fixed("PERSON"), fixed("ON"), fixed("MINUTES")];
    console.list("hours", &columns, &lines, |line| {
        vec![
            line.depot.to_string(),
            line.person.as_ref().map_or_else(|| "everybody".to_owned(), ToString::to_string),
            line.when.to_string(),
            line.minutes.to_string(),
        ]
    })
}
