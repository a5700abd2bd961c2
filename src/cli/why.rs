//! `pigtail why UNIT|PART`: the chain from fact to date, with source and caution.
//!
//! Owns: finding what a code stands for. Refuses: reasons of its own.

use super::complaint::{Answer, Complaint, Status};
use super::console::{Console, Format};
use super::session::{Session, unknown};
use crate::book::{Book, Codes, DueFilter};
use crate::due::{Item, ItemKind};
use crate::model::{Day, Depot, PackId, Part, PartCode, Unit, UnitCode};
use crate::rules::Rule;
use crate::show::due_table::DueLine;
use crate::show::legible::one_line;
use crate::show::reasons::{line, reasons};
use serde::Serialize;

/// Say why something is due: fact, rule, arithmetic, date, source.
#[derive(Debug, clap::Args)]
pub struct WhyArgs {
    /// Code of a unit, part, gauge or person
    #[arg(value_name = "UNIT|PART")]
    code: String,
    /// Answer from what had been recorded by the end of this day (UTC), whatever is known now
    #[arg(long, value_name = "DATE")]
    known_on: Option<Day>,
}

/// Width of text where nobody looks at a terminal.
const PLAIN_WIDTH: usize = 100;

#[derive(Serialize)]
struct Answered<'a> {
    as_of: Day,
    items: Vec<Reasoned<'a>>,
}

#[derive(Serialize)]
struct Reasoned<'a> {
    #[serde(flatten)]
    line: DueLine<'a>,
    facts: Vec<String>,
    note: Option<&'a str>,
    caution: Option<&'a str>,
}

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where the code stands for nothing.
pub fn run(args: &WhyArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    let format = console.format_among(&[Format::Table, Format::Json])?;
    let book = session.book_known_on(args.known_on, console)?;
    let today = session.today(&book)?;
    let items = items(&book, args, today)?;
    let depots = book.depots()?;
    if format == Format::Json {
        let mut reasoned = Vec::new();
        for item in &items {
            let rule = rule_of(&book, &depots, item);
            reasoned.push(Reasoned {
                line: DueLine::on(item, today),
                facts: facts(&book, item)?,
                note: rule.and_then(|rule| rule.note.as_deref()),
                caution: rule.and_then(|rule| rule.caution.as_deref()),
            });
        }
        return console.json(&Answered { as_of: today, items: reasoned });
    }
    let width = console.width.unwrap_or(PLAIN_WIDTH);
    let mut about: Option<String> = None;
    for item in &items {
        let heading = one_line(&heading(&book, item)?);
        if about.as_ref() != Some(&heading) {
            writeln!(console.out, "{}{heading}", if about.is_some() { "\n" } else { "" })?;
            let mut text = String::new();
            for fact in facts(&book, item)? {
                line(&mut text, "recorded", &fact, width);
            }
            console.out.write_all(text.as_bytes())?;
            about = Some(heading);
        }
        writeln!(console.out)?;
        console.table(&reasons(item, rule_of(&book, &depots, item), today, width))?;
    }
    if items.is_empty() {
        writeln!(console.talk, "{}: no rule asks anything of it", args.code)?;
    }
    Ok(Status::Done)
}

fn items(book: &Book, args: &WhyArgs, today: Day) -> Result<Vec<Item>, Complaint> {
    let mut items = Vec::new();
    let mut known = false;
    if let Ok(unit) = args.code.parse::<UnitCode>()
        && book.unit(&unit)?.is_some()
    {
        known = true;
        items.extend(book.due_items(&DueFilter { unit: Some(unit), ..DueFilter::default() }, today)?);
    }
    let Ok(code) = args.code.parse::<PartCode>() else {
        return unknown(book, Codes::Units, "unit", &args.code);
    };
    let as_part = book.due_items(&DueFilter { part: Some(code.clone()), ..DueFilter::default() }, today)?;
    known = known || !as_part.is_empty() || book.part(&code)?.is_some();
    items.extend(as_part);
    if !known {
        let codes = if book.nearest_code(Codes::Units, &args.code)?.is_some() { Codes::Units } else { Codes::Parts };
        return unknown(book, codes, if codes == Codes::Units { "unit" } else { "part" }, &args.code);
    }
    items.sort_by(|a, b| (&a.part, &a.rule).cmp(&(&b.part, &b.rule)));
    items.dedup();
    Ok(items)
}

fn rule_of<'b>(book: &'b Book, depots: &[Depot], item: &Item) -> Option<&'b Rule> {
    let pack = depots
        .iter()
        .find(|depot| Some(&depot.depot) == item.depot.as_ref())
        .map_or(PackId::default(), |depot| depot.rules);
    book.rules().pack(pack).rule(&item.rule)
}

fn heading(book: &Book, item: &Item) -> Result<String, Complaint> {
    let unit: Option<Unit> = item.unit.as_ref().map_or(Ok(None), |unit| book.unit(unit))?;
    let Some(code) = &item.part else {
        return Ok(
            unit.map_or_else(String::new, |unit| format!("unit {} at depot {} {}", unit.unit, unit.depot, unit.body))
        );
    };
    let Some((part, _)) = book.part(code)?.filter(|_| !matches!(item.kind, ItemKind::Gauge | ItemKind::Person)) else {
        return Ok(format!("{} {code}", item.kind));
    };
    Ok(part_heading(&part))
}

fn part_heading(part: &Part) -> String {
    let place = match (&part.unit, part.position.is_blank()) {
        (Some(unit), true) => format!("on unit {unit}"),
        (Some(unit), false) => format!("on unit {unit}, {}", part.position),
        (None, _) => "on the shelf".to_owned(),
    };
    let spec = if part.spec.is_blank() { String::new() } else { format!(", {}", part.spec) };
    format!("{} {} {place}{spec}", part.kind, part.part)
}

fn facts(book: &Book, item: &Item) -> Result<Vec<String>, Complaint> {
    let mut facts = Vec::new();
    if let Some(code) = &item.part
        && let Some((part, _)) = book.part(code)?
        && !matches!(item.kind, ItemKind::Gauge | ItemKind::Person)
    {
        facts.push(part.made.map_or_else(|| "make date not known".to_owned(), |made| format!("made {made}")));
        facts.extend(part.fitted_on.map(|on| format!("fitted {on}")));
        facts.extend(part.replace_by.map(|by| format!("replace-by date {by} printed on it")));
        for mark in book.marks(code)? {
            let rin = mark.rin.map(|rin| format!(" by {rin}")).unwrap_or_default();
            facts.push(format!("mark {} {}{rin}", mark.month, mark.method));
        }
        for check in book.checks_of_part(code)? {
            facts.push(format!("{} {} {}", check.rule, check.result, check.on));
        }
    }
    if let Some(unit) = &item.unit {
        if item.part.is_none() {
            for test in book.gas_tests(unit)? {
                facts.push(format!("gas test {} {}", test.test.on, test.verdict));
            }
        }
        for event in book.events(unit)? {
            facts.push(format!("{} {}", event.event, event.on));
        }
    }
    Ok(facts)
}
