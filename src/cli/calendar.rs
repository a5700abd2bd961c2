//! `pigtail calendar`: last days in date as a calendar file.
//!
//! Owns: the options. Refuses: layout (`show`).

use super::complaint::{Answer, Status};
use super::console::{Console, Format};
use super::digest::laid_out;
use super::session::{Session, known_depot};
use crate::model::DepotCode;

/// Write the last days of what falls due within 30 days as an iCalendar file.
#[derive(Debug, clap::Args)]
pub struct CalendarArgs {
    /// Only of this depot
    #[arg(long)]
    depot: Option<DepotCode>,
}

/// Runs the command.
///
/// # Errors
/// [`super::complaint::Complaint`] where the depot is unknown.
pub fn run(args: &CalendarArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    console.format_among(&[Format::Ics])?;
    let book = session.book()?;
    let depots = match &args.depot {
        Some(wanted) => vec![known_depot(&book, wanted)?],
        None => book.depots()?,
    };
    let mail = laid_out(&book, &depots, session)?;
    console.out.write_all(mail.calendar.as_bytes())?;
    Ok(Status::Done)
}
