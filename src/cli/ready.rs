//! `pigtail ready UNIT…`: may these units go out, and until when.
//!
//! Owns: the options and the JSON. Refuses: the judgement (`due`).

use super::complaint::{Answer, Complaint};
use super::console::{Console, Format};
use super::session::{Session, known_unit, yes_if};
use crate::book::{Book, DueFilter};
use crate::due::{Away, Block, Readiness, readiness};
use crate::model::{Day, DepotCode, Unit, UnitCode};
use crate::show::legible::one_line;
use crate::show::reasons::standing;
use serde::Serialize;

/// Say whether units may go out until their return day.
#[derive(Debug, clap::Args)]
pub struct ReadyArgs {
    /// Units
    #[arg(required_unless_present = "all")]
    unit: Vec<UnitCode>,
    /// Every unit that is not retired
    #[arg(long, conflicts_with = "unit")]
    all: bool,
    /// With --all: only of this depot
    #[arg(long, requires = "all")]
    depot: Option<DepotCode>,
    /// Day they go out [default: today]
    #[arg(long, value_name = "DATE")]
    out: Option<Day>,
    /// Day they come back [default: the day they go out]
    #[arg(long, value_name = "DATE")]
    back: Option<Day>,
    /// Answer from what had been recorded by the end of this day (UTC), whatever is known now
    #[arg(long, value_name = "DATE")]
    known_on: Option<Day>,
}

#[derive(Serialize)]
struct Document {
    units: Vec<Line>,
}

#[derive(Serialize)]
struct Line {
    unit: UnitCode,
    ready: bool,
    ready_through: Option<Day>,
    blocks: Vec<BlockLine>,
}

#[derive(Serialize)]
struct BlockLine {
    block: &'static str,
    part: Option<String>,
    rule: Option<String>,
    due_on: Option<Day>,
    says: String,
}

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where a unit is unknown or the days are the wrong way round.
pub fn run(args: &ReadyArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    let format = console.format_among(&[Format::Table, Format::Json])?;
    let book = session.book_known_on(args.known_on, console)?;
    let today = session.today(&book)?;
    let out = args.out.unwrap_or(today);
    let away = Away { out, back: args.back.unwrap_or(out) };
    if away.back < away.out {
        let what = format!("back {} is before out {}", away.back, away.out);
        return Err(Complaint::refused(what, "pigtail ready UNIT --out DATE --back DATE"));
    }
    if away.out < today {
        let what = format!("out {} is before today, {today}", away.out);
        return Err(Complaint::refused(what, "for an earlier day give --today DATE too"));
    }
    let units: Vec<Unit> = match args.all {
        true => book.units(args.depot.as_ref())?.into_iter().filter(|unit| unit.retired_on.is_none()).collect(),
        false => args.unit.iter().map(|code| known_unit(&book, code)).collect::<Result<_, _>>()?,
    };
    let mut answers = Vec::with_capacity(units.len());
    for unit in &units {
        answers.push(judged(&book, unit, away, today)?);
    }
    let all_ready = answers.iter().all(Readiness::ready);
    match format {
        Format::Json => {
            console.json(&Document { units: answers.iter().map(|answer| line(answer, away)).collect() })?;
        }
        _ => {
            for answer in &answers {
                say(answer, away, console)?;
            }
        }
    }
    yes_if(all_ready)
}

/// Whether a unit may be away, by everything that is on record about it.
///
/// # Errors
/// [`Complaint`] where the file cannot be read.
pub fn judged(book: &Book, unit: &Unit, away: Away, today: Day) -> Result<Readiness, Complaint> {
    let items = book.due_items(&DueFilter { unit: Some(unit.unit.clone()), ..DueFilter::default() }, today)?;
    let holds: Vec<_> = book.holds(Some(&unit.unit))?.into_iter().map(|placed| placed.hold).collect();
    Ok(readiness(&unit.unit, unit.retired_on, &items, &holds, away))
}

fn line(answer: &Readiness, away: Away) -> Line {
    Line {
        unit: answer.unit.clone(),
        ready: answer.ready(),
        ready_through: answer.ready_through,
        blocks: answer.blocks.iter().map(|block| block_line(block, away)).collect(),
    }
}

fn block_line(block: &Block, away: Away) -> BlockLine {
    let (name, item) = match block {
        Block::Held(_) => ("hold", None),
        Block::Retired { .. } => ("retired", None),
        Block::Undated(item) => ("undated", Some(item)),
        Block::Overdue(item) => ("overdue", Some(item)),
        Block::RunsOut(item) => ("runs-out", Some(item)),
    };
    BlockLine {
        block: name,
        part: item.and_then(|item| item.part.as_ref()).map(ToString::to_string),
        rule: item.map(|item| item.rule.to_string()),
        due_on: item.and_then(|item| item.due_on),
        says: says(block, away),
    }
}

fn says(block: &Block, away: Away) -> String {
    let part = |item: &crate::due::Item| item.part.as_ref().map(|part| format!("{part}: ")).unwrap_or_default();
    match block {
        Block::Held(hold) => format!("held since {}: {}", hold.placed_on, hold.reason),
        Block::Retired { on } => format!("retired {on}"),
        Block::Undated(item) => format!("{}{}: {}", part(item), item.what, item.because),
        Block::Overdue(item) => format!("{}{}: {}", part(item), item.what, standing(item, away.out)),
        Block::RunsOut(item) => format!(
            "{}{}: in date through {} only, back {}",
            part(item),
            item.what,
            item.due_on.map(|day| day.to_string()).unwrap_or_default(),
            away.back
        ),
    }
}

fn say(answer: &Readiness, away: Away, console: &mut Console<'_>) -> Result<(), Complaint> {
    let through = answer.ready_through.map(|day| format!("; in date through {day}")).unwrap_or_default();
    let days =
        if away.out == away.back { format!("on {}", away.out) } else { format!("{} to {}", away.out, away.back) };
    if answer.ready() {
        writeln!(console.out, "{}: ready {days}{through}", answer.unit)?;
        return Ok(());
    }
    writeln!(console.out, "{}: not ready {days}{through}", answer.unit)?;
    for block in &answer.blocks {
        writeln!(console.out, "  {}", one_line(&says(block, away)))?;
    }
    Ok(())
}
