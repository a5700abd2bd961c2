//! `pigtail depot`: places that units belong to.
//!
//! Owns: its options. Refuses: moving units, which `unit move` does.

use super::hours::{self, HoursArgs};
use super::{say_recorded, set, set_some, taken};
use crate::book::{Book, Codes};
use crate::cli::complaint::Answer;
use crate::cli::console::{Console, Format};
use crate::cli::session::{Session, unknown};
use crate::journal::Change;
use crate::model::{Depot, DepotCode, Email, PackId, Text};
use crate::show::table::{elastic, fixed};

/// Keep depots: time zone, elevation, rule pack, digest addresses.
#[derive(Debug, clap::Subcommand)]
pub enum DepotCommand {
    /// Enter a depot
    Add(DepotArgs),
    /// Change what is on record; options left out stay as they are
    Amend(DepotArgs),
    /// Enter who works when, and when the depot is closed; without --on, list it
    Hours(HoursArgs),
    /// List depots
    List,
    /// Show one depot
    Show {
        /// Its code
        depot: DepotCode,
    },
}

/// A depot's fields.
#[derive(Debug, clap::Args)]
pub struct DepotArgs {
    /// Its code
    depot: DepotCode,
    /// Name
    #[arg(long)]
    name: Option<Text>,
    /// Time zone, as America/Denver [default: UTC]
    #[arg(long, value_name = "ZONE")]
    timezone: Option<chrono_tz::Tz>,
    /// Elevation above sea level, feet
    #[arg(long, value_name = "FEET", allow_negative_numbers = true)]
    elevation: Option<f64>,
    /// Rule pack: us, ca or de [default: us]
    #[arg(long, value_name = "PACK")]
    rules: Option<PackId>,
    /// Address that the digest goes to; give it again for more
    #[arg(long, value_name = "ADDRESS")]
    digest_to: Vec<Email>,
}

impl DepotArgs {
    fn onto(&self, mut depot: Depot) -> Depot {
        set(&mut depot.name, self.name.as_ref());
        set(&mut depot.timezone, self.timezone.as_ref());
        set_some(&mut depot.elevation_ft, self.elevation.as_ref());
        set(&mut depot.rules, self.rules.as_ref());
        if !self.digest_to.is_empty() {
            depot.digest_to.clone_from(&self.digest_to);
        }
        depot
    }
}

/// Runs the command.
///
/// # Errors
/// [`crate::cli::complaint::Complaint`] where a code is taken, unknown or refused.
pub fn run(command: &DepotCommand, session: &Session, console: &mut Console<'_>) -> Answer {
    let mut book = session.book()?;
    match command {
        DepotCommand::Add(args) => {
            if book.depot(&args.depot)?.is_some() {
                return Err(taken("depot", args.depot.as_str()));
            }
            let depot = args.onto(Depot::named_only(args.depot.clone()));
            enter(session, &mut book, depot, console)
        }
        DepotCommand::Amend(args) => match book.depot(&args.depot)? {
            Some(depot) => enter(session, &mut book, args.onto(depot), console),
            None => unknown(&book, Codes::Depots, "depot", args.depot.as_str()),
        },
        DepotCommand::Hours(args) => hours::run(args, session, &mut book, console),
        DepotCommand::List => list(&book.depots()?, console),
        DepotCommand::Show { depot } => match book.depot(depot)? {
            None => unknown(&book, Codes::Depots, "depot", depot.as_str()),
            Some(found) if console.format_among(&[Format::Table, Format::Json])? == Format::Json => {
                console.json(&found)
            }
            Some(found) => {
                list(std::slice::from_ref(&found), console)?;
                let units = book.units(Some(depot))?.iter().filter(|unit| unit.retired_on.is_none()).count();
                writeln!(console.out, "{units} units")?;
                Ok(crate::cli::complaint::Status::Done)
            }
        },
    }
}

fn enter(session: &Session, book: &mut Book, depot: Depot, console: &mut Console<'_>) -> Answer {
    let recorded = session.record(book, None, [Change::Depot(depot).into()])?;
    say_recorded(&recorded, console)?;
    Ok(crate::cli::complaint::Status::Done)
}

fn list(depots: &[Depot], console: &mut Console<'_>) -> Answer {
    let columns = [
        fixed("DEPOT"),
        elastic("NAME"),
        fixed("TIMEZONE"),
        fixed("ELEVATION FT"),
        fixed("RULES"),
        elastic("DIGEST TO"),
    ];
    console.list("depots", &columns, depots, |depot| {
        vec![
            depot.depot.to_string(),
            depot.name.to_string(),
            depot.timezone.to_string(),
            depot.elevation_ft.map_or_else(String::new, |feet| feet.to_string()),
            depot.rules.to_string(),
            depot.digest_to.iter().map(ToString::to_string).collect::<Vec<_>>().join(" "),
        ]
    })
}
