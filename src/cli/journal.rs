//! `pigtail journal`: what was recorded, when, by whom; and whether all of it is still there.
//!
//! Owns: the options. Refuses: editing; an entry is struck by a later one.

use super::complaint::{Answer, Complaint, Status};
use super::console::{Console, Format};
use super::printed_head::PrintedHead;
use super::progress::Bar;
use super::session::{Session, yes_if};
use crate::book::{Book, verify_file};
use crate::journal::{Change, Entry};
use crate::model::Text;
use crate::show::changes::said;
use crate::show::table::{elastic, fixed};
use serde::Serialize;
use std::path::PathBuf;

/// Read the journal, check it, strike an entry.
#[derive(Debug, clap::Subcommand)]
pub enum JournalCommand {
    /// List entries, oldest first, struck ones marked
    List {
        /// Only entries that name this code
        #[arg(long)]
        about: Option<String>,
        /// Only the last so many
        #[arg(long, value_name = "N")]
        last: Option<usize>,
    },
    /// Show one entry whole, with its hashes
    Show {
        /// Its number
        seq: u64,
    },
    /// Recompute the chain, replay it, compare every table
    Verify {
        /// Head printed in an old digest, HASH@N
        #[arg(long, value_name = "HASH@N")]
        against: Option<PrintedHead>,
        /// Check a binder instead of the fleet file
        #[arg(long, value_name = "DIR")]
        binder: Option<PathBuf>,
    },
    /// Strike an entry by a later one that says why
    Void {
        /// Its number
        seq: u64,
        /// Why
        #[arg(long, value_name = "REASON")]
        because: Text,
    },
}

#[derive(Serialize)]
struct Line {
    seq: u64,
    recorded_at: String,
    author: String,
    voided_by: Option<u64>,
    says: String,
    body: serde_json::Value,
    prev_hash: String,
    hash: String,
}

impl Line {
    fn of(entry: &Entry, voided_by: Option<u64>) -> Self {
        let says =
            serde_json::from_str::<Change>(&entry.body).map_or_else(|error| error.to_string(), |change| said(&change));
        Self {
            seq: entry.seq,
            recorded_at: entry.recorded_at.to_string(),
            author: entry.author.clone(),
            voided_by,
            says,
            body: serde_json::from_str(&entry.body).unwrap_or_default(),
            prev_hash: entry.prev_hash.to_string(),
            hash: entry.hash.to_string(),
        }
    }
}

#[derive(Serialize)]
struct Verified {
    ok: bool,
    entries: u64,
    head: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    first_bad: Option<u64>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    faults: Vec<String>,
}

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where an entry is unknown or may not be struck.
pub fn run(command: &JournalCommand, session: &Session, console: &mut Console<'_>) -> Answer {
    match command {
        JournalCommand::Verify { against, binder: Some(dir) } => super::binder::verify(dir, against.as_ref(), console),
        JournalCommand::Verify { against, binder: None } => verify(against.as_ref(), session, console),
        JournalCommand::List { about, last } => {
            let book = session.book()?;
            let mut lines: Vec<Line> =
                book.entries()?.iter().map(|(entry, voided_by)| Line::of(entry, *voided_by)).collect();
            if let Some(about) = about {
                let quoted = format!("\"{about}\"");
                lines.retain(|line| line.body.to_string().contains(&quoted));
            }
            if let Some(last) = last {
                lines.drain(..lines.len().saturating_sub(*last));
            }
            let columns = [fixed("SEQ"), fixed("RECORDED AT"), elastic("BY"), fixed("VOIDED BY"), elastic("SAYS")];
            console.list("entries", &columns, &lines, |line| {
                vec![
                    line.seq.to_string(),
                    line.recorded_at.clone(),
                    line.author.clone(),
                    line.voided_by.map_or_else(String::new, |by| by.to_string()),
                    line.says.clone(),
                ]
            })
        }
        JournalCommand::Show { seq } => {
            let book = session.book()?;
            let Some((entry, voided_by)) = book.entry(*seq)? else {
                let what = format!("entry {seq} is not in the journal; it has {} entries", book.head()?.seq);
                return Err(Complaint::refused(what, "pigtail journal list"));
            };
            let line = Line::of(&entry, voided_by);
            if console.format_among(&[Format::Table, Format::Json])? == Format::Json {
                return console.json(&line);
            }
            writeln!(console.out, "entry {} recorded {} by {}", line.seq, line.recorded_at, line.author)?;
            if let Some(by) = line.voided_by {
                writeln!(console.out, "struck out by entry {by}")?;
            }
            writeln!(console.out, "says {}\nbody {}", line.says, entry.body.escape_debug())?;
            writeln!(console.out, "previous hash {}\nhash          {}", line.prev_hash, line.hash)?;
            Ok(Status::Done)
        }
        JournalCommand::Void { seq, because } => {
            let mut book = session.book()?;
            let change = Change::Void { seq: *seq, because: because.clone() };
            // Every entry is read again twice: to see what rests on this one, and to fill the tables without it.
            let total = book.head()?.seq * 2;
            let bar = Bar::new(console.watched, "reading the journal again");
            let recording = session.recording(&book, None)?;
            let recorded = book.record(&recording, [change.into()], &mut |done| bar.at(done as u64, total));
            bar.done();
            super::keep::say_recorded(&recorded?, console)?;
            Ok(Status::Done)
        }
    }
}

fn verify(against: Option<&PrintedHead>, session: &Session, console: &mut Console<'_>) -> Answer {
    let format = console.format_among(&[Format::Table, Format::Json])?;
    let path = session.db()?;
    let bar = Bar::new(console.watched, "verifying");
    let found = verify_file(&path, &mut |done, total| bar.at(done, total));
    bar.done();
    let found = found?;
    let mut faults: Vec<String> = found.faults.iter().map(|fault| fault.what.clone()).collect();
    let mut first_bad = found.faults.iter().find_map(|fault| fault.seq);
    // Where the file cannot be opened as a book any more, that is fault enough.
    if let Some(against) = against
        && let Ok(book) = Book::open(&path)
    {
        let held = book.entry(against.seq)?.map(|(entry, _)| entry.hash);
        if let Some(what) = against.missing(held) {
            faults.push(what);
            first_bad = first_bad.or(Some(against.seq));
        }
    }
    let ok = faults.is_empty();
    if format == Format::Json {
        let head = found.head.to_string();
        console.json(&Verified { ok, entries: found.entries, head, first_bad, faults })?;
        return yes_if(ok);
    }
    for fault in &faults {
        writeln!(console.out, "{fault}")?;
    }
    if let Some(seq) = first_bad {
        writeln!(console.out, "first bad entry {seq}")?;
    }
    let verdict = if ok { "sound: every entry, the chain and every table" } else { "not sound" };
    writeln!(console.out, "{} entries, head {}\n{verdict}", found.entries, found.head)?;
    yes_if(ok)
}
