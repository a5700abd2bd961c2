//! `pigtail closeout UNIT`: one visit to one unit, recorded whole or not at all.
//!
//! Owns: the options, and saying what is next. Refuses: judging readings and dates.

mod answer;
mod answers;
mod draft;
mod file;
mod lines;
mod options;
mod question;
mod scene;
mod template;
mod timer;
mod visit;
mod walk;
mod wording;
mod written;

pub use answers::{Answers, CheckAnswer, EventAnswer, TestAnswers};
pub use file::{VisitFile, read as read_visit_file};
pub use options::{CheckOption, CloseoutArgs, MarkOption, OptionError, ReplaceOption};
pub use visit::{Replacement, Visit};
pub use written::written;

use super::complaint::{Answer, Complaint, Status};
use super::console::{Console, Format};
use super::session::{Session, known_unit};
use crate::book::{Book, DueFilter, Recorded};
use crate::due::{Item, State};
use crate::journal::Change;
use crate::model::{CheckResult, Day, Part, PartKind, Text, UnitCode, Verdict};
use crate::show::changes::said;
use crate::show::due_table::DueLine;
use crate::show::reasons::standing;
use draft::Draft;
use scene::Scene;
use serde::Serialize;
use std::collections::BTreeSet;
use std::io::IsTerminal;
use walk::{Confirmed, walk};

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where anything about the visit is unknown or refused; nothing of it is recorded then.
pub fn run(args: &CloseoutArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    let format = console.format_among(&[Format::Table, Format::Json])?;
    let mut book = session.book()?;
    let answers = told(args)?;
    let unit = known_unit(&book, &answers.unit)?;
    let today = session.today(&book)?;
    if args.wants_template() {
        let text = template::template(&Scene::of(&book, unit, today)?);
        console.out.write_all(text.as_bytes())?;
        return Ok(Status::Done);
    }
    let draft = Draft::beside(&session.db()?, &unit.unit);
    let asking = args.from().is_none() && !answers.tell_work() && console.watched && std::io::stdin().is_terminal();
    let Confirmed { visit, facts } = if asking {
        match walk(answers, unit, &draft, &mut book, session, console)? {
            Some(confirmed) => confirmed,
            None => return Ok(Status::No),
        }
    } else {
        let visit = answers.visit(&book, today)?;
        let facts = visit.facts(&book, today, console)?;
        Confirmed { visit, facts }
    };
    let promised = promised_days(&book, &visit.unit)?;
    let recorded = session.record(&mut book, Some(&visit.by), facts)?;
    if asking || args.from() == Some(draft.path()) {
        draft.remove()?;
    }
    let outcome = Outcome::of(&book, &visit, &promised, &recorded, today).map_err(though_recorded)?;
    if format == Format::Json {
        console.json(&outcome.document(&recorded, today))?
    } else {
        outcome.say(&recorded, today, console)?
    };
    Ok(if outcome.bad { Status::No } else { Status::Done })
}

/// What options or a visit file tell.
fn told(args: &CloseoutArgs) -> Result<Answers, Complaint> {
    match (args.from(), args.unit()) {
        (None, Some(unit)) => Ok(args.answers(unit.clone())),
        (None, None) => Err(Complaint::refused("no unit is named", "pigtail closeout UNIT, or --from visit.toml")),
        (Some(path), unit) => {
            let answers = file::whole_visit(path)?;
            match unit.filter(|unit| **unit != answers.unit) {
                None => Ok(answers),
                Some(unit) => Err(Complaint::refused(
                    format!("visit file `{}` is of unit {}, not {unit}", path.display(), answers.unit),
                    format!("pigtail closeout --from {}", path.display()),
                )),
            }
        }
    }
}

/// Days for which visits to a unit are promised.
fn promised_days(book: &Book, unit: &UnitCode) -> Result<BTreeSet<Day>, Complaint> {
    Ok(book.kept_visits(Some(unit))?.into_iter().map(|(_, visit)| visit.on).collect())
}

/// What stands after the visit.
struct Outcome {
    visit: Visit,
    verdict: Option<(Verdict, Vec<Text>)>,
    late: Vec<Item>,
    next: Option<Item>,
    swapped_container: bool,
    fulfilled: Vec<Day>,
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
    fulfilled: &'a [Day],
    overdue: Vec<DueLine<'a>>,
    next: Option<DueLine<'a>>,
}

#[derive(Serialize)]
struct Entry {
    seq: u64,
    says: String,
}

/// Reading the outcome back failed; nobody should close the visit out a second time for that.
fn though_recorded(complaint: Complaint) -> Complaint {
    Complaint { hint: "the visit is recorded; check the disk, then pigtail doctor".to_owned(), ..complaint }
}

impl Outcome {
    /// `promised` are the days that were promised before the visit.
    fn of(
        book: &Book,
        visit: &Visit,
        promised: &BTreeSet<Day>,
        recorded: &Recorded,
        today: Day,
    ) -> Result<Self, Complaint> {
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
        let still = promised_days(book, &visit.unit)?;
        let fulfilled: Vec<Day> = promised.difference(&still).copied().collect();
        let bad = failed_check || verdict.as_ref().is_some_and(|(verdict, _)| *verdict != Verdict::Pass);
        Ok(Self {
            visit: visit.clone(),
            verdict,
            late,
            next: later.into_iter().next(),
            swapped_container,
            fulfilled,
            bad,
        })
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
            fulfilled: &self.fulfilled,
            overdue: self.late.iter().map(|item| DueLine::on(item, today)).collect(),
            next: self.next.as_ref().map(|item| DueLine::on(item, today)),
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
        for day in &self.fulfilled {
            writeln!(console.out, "the visit planned for {day} is fulfilled")?;
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
