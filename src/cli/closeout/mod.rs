//! `pigtail closeout UNIT`: one visit to one unit, recorded whole or not at all.
//!
//! Owns: the options, and saying what is next. Refuses: judging readings and dates.

mod options;
mod visit;

pub use options::{CheckOption, CloseoutArgs, MarkOption, OptionError, ReplaceOption};
pub use visit::{Replacement, Visit};

use super::complaint::{Answer, Complaint, Status};
use super::console::{Console, Format};
use super::session::{Session, unknown};
use crate::book::{Book, Codes, DueFilter, Recorded};
use crate::due::{Item, State};
use crate::journal::Change;
use crate::model::{CheckResult, Day, Part, PartKind, Text, Verdict};
use crate::show::changes::said;
use crate::show::due_table::DueLine;
use crate::show::reasons::standing;
use serde::Serialize;

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where anything about the visit is unknown or refused; nothing of it is recorded then.
pub fn run(args: &CloseoutArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    let format = console.format_among(&[Format::Table, Format::Json])?;
    let mut book = session.book()?;
    if book.unit(args.unit())?.is_none() {
        return unknown(&book, Codes::Units, "unit", args.unit().as_str());
    }
    let today = session.today(&book)?;
    let visit = args.visit(&book, today)?;
    let facts = visit.facts(&book, today, console)?;
    let recorded = session.record(&mut book, Some(&visit.by), facts)?;
    let outcome = Outcome::of(&book, &visit, &recorded, today)?;
    if format == Format::Json {
        console.json(&outcome.document(&recorded, today))?
    } else {
        outcome.say(&recorded, today, console)?
    };
    Ok(if outcome.bad { Status::No } else { Status::Done })
}

/// What stands after the visit.
struct Outcome {
    visit: Visit,
    verdict: Option<(Verdict, Vec<Text>)>,
    late: Vec<Item>,
    next: Option<Item>,
    swapped_container: bool,
    bad: bool,
}

#[derive(Serialize)]
struct Document<'a> {
    unit: String,
    on: Day,
    by: String,
    recorded: Vec<Entry>,
    verdict: Option<Verdict>,
    because: &'a [Text],
    overdue: Vec<DueLine<'a>>,
    next: Option<DueLine<'a>>,
}

#[derive(Serialize)]
struct Entry {
    seq: u64,
    says: String,
}

impl Outcome {
    fn of(book: &Book, visit: &Visit, recorded: &Recorded, today: Day) -> Result<Self, Complaint> {
        let items = book.due_items(&DueFilter { unit: Some(visit.unit.clone()), ..DueFilter::default() }, today)?;
        let (late, later): (Vec<Item>, Vec<Item>) =
            items.into_iter().partition(|item| matches!(item.state(today), State::Overdue | State::Undated));
        let verdict = recorded.entries.iter().find_map(|(_, change)| match change {
            Change::GasTest { verdict, because, .. } => Some((*verdict, because.clone())),
            _ => None,
        });
        let failed_check = recorded
            .entries
            .iter()
            .any(|(_, change)| matches!(change, Change::Check(check) if check.result == CheckResult::Fail));
        let swapped_container = recorded
            .entries
            .iter()
            .any(|(_, change)| matches!(change, Change::Part(Part { kind: PartKind::Cylinder | PartKind::Tank, .. })));
        let bad = failed_check || verdict.as_ref().is_some_and(|(verdict, _)| *verdict != Verdict::Pass);
        Ok(Self { visit: visit.clone(), verdict, late, next: later.into_iter().next(), swapped_container, bad })
    }

    fn document(&self, recorded: &Recorded, today: Day) -> Document<'_> {
        let entry = |(seq, change): &(u64, Change)| Entry { seq: *seq, says: said(change) };
        Document {
            unit: self.visit.unit.to_string(),
            on: self.visit.on,
            by: self.visit.by.to_string(),
            recorded: recorded.entries.iter().map(entry).collect(),
            verdict: self.verdict.as_ref().map(|(verdict, _)| *verdict),
            because: self.verdict.as_ref().map_or(&[], |(_, because)| because.as_slice()),
            overdue: self.late.iter().map(|item| DueLine::on(item, today, None)).collect(),
            next: self.next.as_ref().map(|item| DueLine::on(item, today, None)),
        }
    }

    fn say(&self, recorded: &Recorded, today: Day, console: &mut Console<'_>) -> Answer {
        super::keep::say_recorded(recorded, console)?;
        let unit = &self.visit.unit;
        if let Some((verdict, because)) = &self.verdict {
            writeln!(console.out, "\ngas test: {verdict}")?;
            for sentence in because {
                let mut text = String::new();
                crate::show::reasons::line(&mut text, "", sentence.as_str(), console.width.unwrap_or(PLAIN_WIDTH));
                console.out.write_all(text.as_bytes())?;
            }
            match verdict {
                Verdict::Pass => {}
                Verdict::Fail => writeln!(console.out, "unit {unit} is held off rent until a later gas test passes")?,
                Verdict::Inconclusive => {
                    writeln!(console.out, "this test settles nothing; test again before relying on the unit")?;
                }
            }
        }
        if self.swapped_container {
            writeln!(
                console.talk,
                "caution: a container was connected; a leak check by a qualified person comes before use"
            )?;
        }
        writeln!(console.out)?;
        if self.late.is_empty() {
            writeln!(console.out, "nothing on {unit} is overdue or undated")?;
        } else {
            writeln!(console.out, "still overdue or undated on {unit}:")?;
            for item in &self.late {
                writeln!(console.out, "  {}", one_line(item, today))?;
            }
        }
        match &self.next {
            Some(item) => writeln!(console.out, "next due: {}", one_line(item, today))?,
            None if self.late.is_empty() => writeln!(console.out, "nothing else is dated on {unit}")?,
            None => {}
        }
        Ok(Status::Done)
    }
}

/// Width of text where nobody looks at a terminal.
const PLAIN_WIDTH: usize = 100;

fn one_line(item: &Item, today: Day) -> String {
    let part = item.part.as_ref().map(|part| format!("{part}: ")).unwrap_or_default();
    format!("{part}{}: {}", item.what, standing(item, today))
}
