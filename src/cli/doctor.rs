//! `pigtail doctor`: the fleet file looked at from every side, and rebuilt from its journal.
//!
//! Owns: the options and how findings are told. Refuses: the checks, which the book makes.

use super::complaint::{Answer, Complaint, Status};
use super::console::{Console, Format};
use super::progress::Bar;
use super::session::{Session, yes_if};
use crate::book::{BookError, Finding, Grade, examine, rebuild};
use serde::Serialize;

/// Look at the fleet file from every side: pages, journal, tables, permissions, clock, leftovers.
#[derive(Debug, clap::Args)]
pub struct DoctorArgs {
    /// Make a new file from the journal, if that is sound; the old file is kept under a dated name
    #[arg(long)]
    rebuild: bool,
}

#[derive(Serialize)]
struct Document {
    ok: bool,
    findings: Vec<Line>,
}

#[derive(Serialize)]
struct Line {
    check: &'static str,
    grade: &'static str,
    says: String,
}

impl From<Finding> for Line {
    fn from(finding: Finding) -> Self {
        let grade = match finding.grade {
            Grade::Sound => "sound",
            Grade::Note => "note",
            Grade::Fault => "fault",
        };
        Self { check: finding.check, grade, says: finding.says }
    }
}

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where the file cannot be opened, or its journal is not sound and a rebuild is asked for.
pub fn run(args: &DoctorArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    let path = session.db()?;
    if args.rebuild {
        let bar = Bar::new(console.watched, "rebuilding");
        let rebuilt = rebuild(&path, session.now, &mut |done, total| bar.at(done, total));
        bar.done();
        let rebuilt = rebuilt.map_err(past_help)?;
        let found = &rebuilt.found;
        writeln!(console.out, "{}: rebuilt from {} entries, head {}", path.display(), found.entries, found.head)?;
        writeln!(console.out, "the damaged file is kept as {}", rebuilt.kept.display())?;
        if !rebuilt.with_outbox {
            writeln!(console.talk, "note: what had become of sent digests could not be read and is forgotten")?;
        }
        return Ok(Status::Done);
    }
    let format = console.format_among(&[Format::Table, Format::Json])?;
    let bar = Bar::new(console.watched, "examining");
    let findings = examine(&path, session.now, &mut |done, total| bar.at(done, total));
    bar.done();
    let findings = findings.map_err(past_help)?;
    let ok = findings.iter().all(|finding| finding.grade != Grade::Fault);
    let faulty = |checks: &[&str]| {
        findings.iter().any(|finding| checks.contains(&finding.check) && finding.grade == Grade::Fault)
    };
    let (of_journal, of_tables) = (faulty(&["journal"]), faulty(&["pages", "tables"]));
    let findings: Vec<Line> = findings.into_iter().map(Line::from).collect();
    if format == Format::Json {
        console.json(&Document { ok, findings })?;
    } else {
        for line in &findings {
            writeln!(console.out, "{:<6} {}: {}", line.grade, line.check, line.says)?;
        }
    }
    if of_journal {
        writeln!(console.talk, "next: put back a backup: pigtail restore BACKUP --force")?;
    } else if of_tables {
        writeln!(console.talk, "next: pigtail doctor --rebuild, which keeps the file as it is now beside the new one")?;
    }
    yes_if(ok)
}

/// The doctor cannot send anybody to the doctor.
fn past_help(error: BookError) -> Complaint {
    let damaged = matches!(error, BookError::Damaged { .. } | BookError::Unsound { .. } | BookError::Database { .. });
    let mut complaint = Complaint::from(error);
    if damaged {
        complaint.hint = "put back a backup: pigtail restore BACKUP --force; nothing was changed".to_owned();
    }
    complaint
}
