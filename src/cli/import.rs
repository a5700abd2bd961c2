//! `pigtail import PATH`: a fleet folder into the book, all or nothing.
//!
//! Owns: progress, and joining what the reader and the book refuse into one list. Refuses: deciding either.

use super::complaint::{Answer, Complaint, Status};
use super::console::Console;
use super::progress::Bar;
use super::session::Session;
use crate::book::{Book, Draft, RecordError, Recorded, Refusal, Refused};
use crate::exchange::{FolderError, FolderFile, Import, read_folder};
use crate::show::legible::counted;
use std::path::{Path, PathBuf};

/// Read a fleet folder (CSV files) into the fleet file: all of it or nothing.
#[derive(Debug, clap::Args)]
pub struct ImportArgs {
    /// Folder with parts.csv, units.csv and so on, or one such file
    path: PathBuf,
    /// Read and check everything, change nothing
    #[arg(long)]
    check: bool,
}

/// Refused rows listed; more would scroll away what matters.
const MOST_LISTED: usize = 200;

/// Runs the command.
///
/// # Errors
/// [`Complaint`] with every bad cell, or what the disk says.
pub fn run(args: &ImportArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    let path = session.db()?;
    let read = match (path.exists(), args.check) {
        (true, check) => import(&args.path, check, session, &mut session.book()?, console)?,
        (false, true) => import(&args.path, true, session, &mut Book::in_memory()?, console)?,
        (false, false) => {
            // A refused or broken import leaves nothing behind, not even an empty file.
            let mut draft = Draft::beside(&path)?;
            let read = import(&args.path, false, session, draft.book(), console)?;
            draft.publish()?;
            read
        }
    };
    let verb = if args.check { "would record" } else { "recorded" };
    writeln!(console.out, "read {}", if read.rows.is_empty() { "nothing".to_owned() } else { read.rows.join(", ") })?;
    writeln!(console.out, "{verb} {} facts; {} were on record already", read.recorded.added, read.recorded.known)?;
    if !args.check {
        writeln!(console.talk, "next: pigtail due")?;
    }
    Ok(Status::Done)
}

/// What an import came to.
struct Imported {
    /// Rows of each file.
    rows: Vec<String>,
    recorded: Recorded,
}

fn import(
    path: &Path,
    check: bool,
    session: &Session,
    book: &mut Book,
    console: &mut Console<'_>,
) -> Result<Imported, Complaint> {
    let today = session.today(book)?;
    let known: std::collections::BTreeSet<_> = book.depots()?.into_iter().map(|depot| depot.depot).collect();
    let bar = Bar::new(console.watched, "reading");
    let read = read_folder(path, today, &|depot| known.contains(depot), &mut |progress| {
        bar.at(progress.done, progress.total);
    });
    bar.done();
    let mut import = read?;
    for note in &import.notes {
        writeln!(console.talk, "note: {note}")?;
    }
    let recording = session.recording(book, None)?;
    let facts = std::mem::take(&mut import.facts);
    let total = facts.len() as u64;
    let origins: Vec<(FolderFile, u32)> = facts.iter().map(|fact| (fact.file, fact.line)).collect();
    let bar = Bar::new(console.watched, "recording");
    let mut report = |done: usize| bar.at(done as u64, total);
    let facts = facts.into_iter().map(|located| located.fact);
    let recorded =
        if check { book.rehearse(&recording, facts, &mut report) } else { book.record(&recording, facts, &mut report) };
    bar.done();
    let recorded = recorded.map_err(|error| match error {
        RecordError::Refused(refused) => refused_rows(&import, &origins, &refused),
        RecordError::Book(error) => error.into(),
    })?;
    Ok(Imported { rows: import.rows.iter().map(|(file, rows)| format!("{file} {rows}")).collect(), recorded })
}

/// What the book refuses, said as the reader says it: `file:line: column: what is wrong`, in the order of the files.
fn refused_rows(import: &Import, origins: &[(FolderFile, u32)], refused: &[Refused]) -> Complaint {
    let mut rows: Vec<(FolderFile, u32, &Refusal)> = refused
        .iter()
        .filter_map(|one| origins.get(one.index).map(|(file, line)| (*file, *line, &one.refusal)))
        .collect();
    rows.sort_by_key(|(file, line, _)| (*file, *line));
    let places = rows
        .iter()
        .take(MOST_LISTED)
        .map(|(file, line, refusal)| {
            format!("{}:{line}: {}: {refusal}", import.file_name(*file), column(*file, refusal))
        })
        .collect();
    nothing_imported(places, refused.len())
}

/// The column of a file in which what the book refuses stands.
fn column(file: FolderFile, refusal: &Refusal) -> &'static str {
    if let Refusal::Future { what, .. } | Refusal::Before { what, .. } = refusal
        && what.ends_with("fitted")
    {
        return "fitted_on";
    }
    match (file, refusal.column()) {
        (FolderFile::Calendar, "person") => "person",
        (_, "person") => "by",
        (FolderFile::Parts, "date") => "made",
        (FolderFile::Marks, "date") => "month",
        (FolderFile::Units, "date") => "retired_on",
        (FolderFile::Bookings, "date") => "back_on",
        (FolderFile::Holds, "date") => "lifted_on",
        (_, "date") => "on",
        (_, column) => column,
    }
}

fn nothing_imported(mut places: Vec<String>, count: usize) -> Complaint {
    if count > places.len() {
        places.push(format!("and {} more, not listed", count - places.len()));
    }
    let faults = counted(count, "fault", "faults");
    Complaint { places, ..Complaint::refused(format!("nothing was imported: {faults} found"), MEND) }
}

const MEND: &str = "mend what is listed above and import again; the fleet file was not changed";

impl From<FolderError> for Complaint {
    fn from(error: FolderError) -> Self {
        match error {
            FolderError::Absent { .. } => Self::refused(error, "name a folder with units.csv and parts.csv in it"),
            FolderError::Refused(problems) => {
                let places = problems.shown().iter().map(ToString::to_string).collect();
                nothing_imported(places, problems.count())
            }
            FolderError::Unreadable { .. } => Self::outside(error, "check the permissions of the folder and its files"),
        }
    }
}
