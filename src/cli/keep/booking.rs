//! `pigtail booking`: hires that work has to fit between.
//!
//! Owns: its options. Refuses: taking orders; bookings come from wherever the fleet takes them.

use super::{say_recorded, taken};
use crate::book::{Book, Codes};
use crate::cli::complaint::{Answer, Complaint, Status};
use crate::cli::console::{Console, Format};
use crate::cli::session::{Session, unknown};
use crate::journal::Change;
use crate::model::{Booking, BookingCode, Day, UnitCode};
use crate::show::table::fixed;

/// Keep bookings: when units are away.
#[derive(Debug, clap::Subcommand)]
pub enum BookingCommand {
    /// Enter a booking
    Add(BookingArgs),
    /// Change a booking's unit or days
    Amend(BookingArgs),
    /// Cancel a booking
    Cancel {
        /// Its code
        booking: BookingCode,
    },
    /// List bookings
    List {
        /// Only of this unit
        #[arg(long)]
        unit: Option<UnitCode>,
    },
    /// Show one booking
    Show {
        /// Its code
        booking: BookingCode,
    },
}

/// A booking's fields.
#[derive(Debug, clap::Args)]
pub struct BookingArgs {
    /// Its code
    booking: BookingCode,
    /// The unit
    unit: UnitCode,
    /// Day it goes out
    #[arg(long, value_name = "DATE")]
    out: Day,
    /// Day it comes back
    #[arg(long, value_name = "DATE")]
    back: Day,
}

impl From<&BookingArgs> for Booking {
    fn from(args: &BookingArgs) -> Self {
        Self { booking: args.booking.clone(), unit: args.unit.clone(), out_on: args.out, back_on: args.back }
    }
}

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where a code is taken, unknown or refused.
pub fn run(command: &BookingCommand, session: &Session, console: &mut Console<'_>) -> Answer {
    let mut book = session.book()?;
    let bookings = book.bookings(None)?;
    let known = |code: &BookingCode| bookings.iter().find(|booking| booking.booking == *code);
    let change = match command {
        BookingCommand::Add(args) if known(&args.booking).is_some() => {
            return Err(taken("booking", args.booking.as_str()));
        }
        BookingCommand::Amend(args) if known(&args.booking).is_none() => {
            return unknown(&book, Codes::Bookings, "booking", args.booking.as_str());
        }
        BookingCommand::Add(args) | BookingCommand::Amend(args) => Change::Booking(args.into()),
        BookingCommand::Cancel { booking } => Change::BookingCancelled { booking: booking.clone() },
        BookingCommand::List { unit } => return list(&book.bookings(unit.as_ref())?, console),
        BookingCommand::Show { booking } => {
            return match known(booking) {
                None => unknown(&book, Codes::Bookings, "booking", booking.as_str()),
                Some(found) if console.format_among(&[Format::Table, Format::Json])? == Format::Json => {
                    console.json(found)
                }
                Some(found) => list(std::slice::from_ref(found), console),
            };
        }
    };
    let hire = match &change {
        Change::Booking(booking) => Some(booking.clone()),
        _ => None,
    };
    let recorded = session.record(&mut book, None, [change.into()])?;
    say_recorded(&recorded, console)?;
    if let Some(hire) = hire {
        caution(&hire, &book, console)?;
    }
    Ok(Status::Done)
}

/// Says where a hire takes away a unit that is promised a day in the workshop.
fn caution(hire: &Booking, book: &Book, console: &mut Console<'_>) -> Result<(), Complaint> {
    for (unit, visit) in book.kept_visits(Some(&hire.unit))? {
        if (hire.out_on..hire.back_on).contains(&visit.on) {
            writeln!(
                console.talk,
                "caution: unit {unit} is planned for the workshop on {}, when it is out; plan again: pigtail plan",
                visit.on
            )?;
        }
    }
    Ok(())
}

fn list(bookings: &[Booking], console: &mut Console<'_>) -> Answer {
    let columns = [fixed("BOOKING"), fixed("UNIT"), fixed("OUT ON"), fixed("BACK ON")];
    console.list("bookings", &columns, bookings, |booking| {
        vec![
            booking.booking.to_string(),
            booking.unit.to_string(),
            booking.out_on.to_string(),
            booking.back_on.to_string(),
        ]
    })
}
