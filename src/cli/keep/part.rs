//! `pigtail part`: cylinders, tanks, regulators, hoses, alarms, extinguishers.
//!
//! Owns: its options. Refuses: how long a part lasts, which rules say.

use super::{say_recorded, set, set_some, taken};
use crate::book::{Book, Codes, DueFilter};
use crate::cli::complaint::{Answer, Complaint, Status};
use crate::cli::console::{Console, Format};
use crate::cli::session::{Session, unknown};
use crate::journal::Change;
use crate::model::{Dated, Day, Mark, Part, PartCode, PartKind, Stamp, Text, UnitCode};
use crate::show::reasons::standing;
use crate::show::table::{elastic, fixed};
use serde::Serialize;

/// Keep parts: enter, fit, pull, scrap.
#[derive(Debug, clap::Subcommand)]
pub enum PartCommand {
    /// Enter a part
    Add(PartArgs),
    /// Change what is on record; options left out stay as they are
    Amend(PartArgs),
    /// List parts
    List {
        /// Only on this unit
        #[arg(long, conflicts_with = "shelf")]
        unit: Option<UnitCode>,
        /// Only those on no unit
        #[arg(long)]
        shelf: bool,
        /// Only of this kind
        #[arg(long)]
        kind: Option<PartKind>,
    },
    /// Show one part with its marks and what is due
    Show {
        /// Its code
        part: PartCode,
    },
    /// Put a part from the shelf on a unit
    Fit {
        /// Its code
        part: PartCode,
        /// The unit
        unit: UnitCode,
        /// Where on it
        #[arg(long, default_value = "")]
        position: Text,
        /// When [default: today]
        #[arg(long)]
        on: Option<Day>,
    },
    /// Take a part off its unit and put it on the shelf
    Pull {
        /// Its code
        part: PartCode,
        /// When [default: today]
        #[arg(long)]
        on: Option<Day>,
    },
    /// Take a part out of use for good
    Scrap {
        /// Its code
        part: PartCode,
        /// Why
        #[arg(long, value_name = "REASON")]
        because: Text,
        /// When [default: today]
        #[arg(long)]
        on: Option<Day>,
    },
    /// Enter a requalification mark as read off the collar
    Mark {
        /// The cylinder's code
        part: PartCode,
        /// The stamp, as "11 A123 21 E"
        stamp: String,
    },
}

/// A part's fields.
#[derive(Debug, clap::Args)]
pub struct PartArgs {
    /// Its code
    part: PartCode,
    /// What it is: cylinder, tank, regulator, hose, lp-detector …
    #[arg(long)]
    kind: Option<PartKind>,
    /// Unit it is on
    #[arg(long)]
    unit: Option<UnitCode>,
    /// Where on the unit
    #[arg(long)]
    position: Option<Text>,
    /// Specification, as DOT-4BA240
    #[arg(long)]
    spec: Option<Text>,
    /// Serial number
    #[arg(long)]
    serial: Option<Text>,
    /// Make date, YYYY-MM or YYYY-MM-DD
    #[arg(long, value_name = "DATE")]
    made: Option<Dated>,
    /// Day it was fitted
    #[arg(long, value_name = "DATE")]
    fitted_on: Option<Day>,
    /// Replace-by date printed on it
    #[arg(long, value_name = "DATE")]
    replace_by: Option<Dated>,
    /// Anything else
    #[arg(long)]
    note: Option<Text>,
}

impl PartArgs {
    fn onto(&self, mut part: Part) -> Part {
        set(&mut part.kind, self.kind.as_ref());
        set_some(&mut part.unit, self.unit.as_ref());
        set(&mut part.position, self.position.as_ref());
        set(&mut part.spec, self.spec.as_ref());
        set(&mut part.serial, self.serial.as_ref());
        set_some(&mut part.made, self.made.as_ref());
        set_some(&mut part.fitted_on, self.fitted_on.as_ref());
        set_some(&mut part.replace_by, self.replace_by.as_ref());
        set(&mut part.note, self.note.as_ref());
        part
    }
}

/// A part of which nothing but its kind is known.
#[must_use]
pub fn new_part(part: PartCode, kind: PartKind) -> Part {
    Part {
        part,
        unit: None,
        kind,
        position: Text::default(),
        spec: Text::default(),
        serial: Text::default(),
        made: None,
        fitted_on: None,
        replace_by: None,
        note: Text::default(),
    }
}

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where a code is taken, unknown or refused.
pub fn run(command: &PartCommand, session: &Session, console: &mut Console<'_>) -> Answer {
    let mut book = session.book()?;
    let day = |on: &Option<Day>, book: &Book| on.map_or_else(|| session.today(book), Ok);
    let change = match command {
        PartCommand::Add(args) => {
            if book.part(&args.part)?.is_some() {
                return Err(taken("part", args.part.as_str()));
            }
            let Some(kind) = args.kind else {
                let hint = format!("pigtail part add {} --kind cylinder", args.part);
                return Err(Complaint::refused(format!("part {} needs a kind", args.part), hint));
            };
            Change::Part(args.onto(new_part(args.part.clone(), kind)))
        }
        PartCommand::Amend(args) => Change::Part(args.onto(known(&book, &args.part)?)),
        PartCommand::List { unit, shelf, kind } => {
            let mut parts = match unit {
                Some(unit) => book.parts_on(unit)?,
                None if *shelf => book.parts_on_shelf()?,
                None => book.parts()?,
            };
            parts.retain(|part| kind.is_none_or(|kind| part.kind == kind));
            return list(&parts, console);
        }
        PartCommand::Show { part } => return show(&book, &known(&book, part)?, session, console),
        PartCommand::Fit { part, unit, position, on } => Change::PartFitted {
            part: part.clone(),
            unit: unit.clone(),
            position: position.clone(),
            on: day(on, &book)?,
        },
        PartCommand::Pull { part, on } => Change::PartPulled { part: part.clone(), on: day(on, &book)? },
        PartCommand::Scrap { part, because, on } => {
            Change::PartScrapped { part: part.clone(), on: day(on, &book)?, because: because.clone() }
        }
        PartCommand::Mark { part, stamp } => Change::Mark(mark(&book, part, stamp, session.today(&book)?, console)?),
    };
    let recorded = session.record(&mut book, None, [change.into()])?;
    say_recorded(&recorded, console)?;
    Ok(Status::Done)
}

/// A stamp read off a part's collar, as a mark. A stamp without letter or identification number could be a make date;
/// taken as a mark it is a volumetric one, and that is said.
///
/// # Errors
/// [`Complaint`] naming what of the stamp cannot be read.
pub fn mark(
    book: &Book,
    part: &PartCode,
    stamp: &str,
    today: Day,
    console: &mut Console<'_>,
) -> Result<Mark, Complaint> {
    let made = known(book, part)?.made.map(Dated::month);
    let read = Stamp::read(stamp, today, made).map_err(|error| {
        Complaint::refused(
            format!("part {part}: stamp `{}` {error}", stamp.escape_debug()),
            "give it as read off the collar, as \"11 A123 21 E\"; try it with pigtail calc stamp",
        )
    })?;
    if read.method.is_none() {
        writeln!(
            console.talk,
            "note: `{}` on {part} has no letter and no identification number; taken as a volumetric mark of {}. \
             If it is the make date, void it and amend the part",
            stamp.escape_debug(),
            read.month
        )?;
    }
    Ok(read.into_mark(part.clone()))
}

/// A part that is in use.
///
/// # Errors
/// [`Complaint`] naming the nearest code where there is no such part.
pub fn known(book: &Book, part: &PartCode) -> Result<Part, Complaint> {
    match book.part(part)? {
        Some((found, None)) => Ok(found),
        Some((_, Some(on))) => {
            Err(Complaint::refused(format!("part {part} was scrapped {on}"), "enter the part that replaced it"))
        }
        None => unknown(book, Codes::Parts, "part", part.as_str()),
    }
}

/// Lists parts.
///
/// # Errors
/// [`Complaint`] where the list cannot be written.
pub fn list(parts: &[Part], console: &mut Console<'_>) -> Answer {
    let columns = [
        fixed("PART"),
        fixed("UNIT"),
        fixed("KIND"),
        elastic("POSITION"),
        fixed("SPEC"),
        fixed("MADE"),
        fixed("FITTED ON"),
        fixed("REPLACE BY"),
        elastic("SERIAL"),
        elastic("NOTE"),
    ];
    console.list("parts", &columns, parts, |part| {
        let text = |date: Option<String>| date.unwrap_or_default();
        vec![
            part.part.to_string(),
            part.unit.as_ref().map_or_else(|| "shelf".to_owned(), ToString::to_string),
            part.kind.to_string(),
            part.position.to_string(),
            part.spec.to_string(),
            text(part.made.map(|made| made.to_string())),
            text(part.fitted_on.map(|on| on.to_string())),
            text(part.replace_by.map(|by| by.to_string())),
            part.serial.to_string(),
            part.note.to_string(),
        ]
    })
}

#[derive(Serialize)]
struct Shown<'a> {
    part: &'a Part,
    marks: &'a [Mark],
}

fn show(book: &Book, part: &Part, session: &Session, console: &mut Console<'_>) -> Answer {
    let marks = book.marks(&part.part)?;
    if console.format_among(&[Format::Table, Format::Json])? == Format::Json {
        return console.json(&Shown { part, marks: &marks });
    }
    list(std::slice::from_ref(part), console)?;
    for mark in &marks {
        let rin = mark.rin.as_ref().map(|rin| format!(" by {rin}")).unwrap_or_default();
        writeln!(console.out, "mark {} {}{rin}", mark.month, mark.method)?;
    }
    let today = session.today(book)?;
    let filter = DueFilter { part: Some(part.part.clone()), ..DueFilter::default() };
    for item in book.due_items(&filter, today)? {
        writeln!(console.out, "{}: {}", item.what, standing(&item, today))?;
    }
    Ok(Status::Done)
}
