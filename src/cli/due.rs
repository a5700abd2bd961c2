//! `pigtail due`: what is due, by when.
//!
//! Owns: the filters and how the answer is written out as it is read. Refuses: dates and states, which are kept.

use super::complaint::{Answer, Complaint};
use super::console::{Console, Format};
use super::session::{Session, known_depot, known_unit, yes_if};
use crate::book::{Book, Counts, DueFilter};
use crate::due::{Item, ItemKind, PlannedDays, State};
use crate::model::{Booking, Day, DepotCode, Span, UnitCode};
use crate::show::due_table::{DUE_CSV_HEADER, DueLine, due_csv, due_table};
use crate::show::json::write_json;
use std::collections::BTreeMap;

/// List what is due: units, parts, gauges and credentials.
#[derive(Debug, clap::Args)]
pub struct DueArgs {
    /// Items whose last day is within this span from today [default: 60d]
    #[arg(long, value_name = "SPAN", conflicts_with_all = ["until", "all"])]
    within: Option<Span>,
    /// Items whose last day is on or before this day
    #[arg(long, value_name = "DATE", conflicts_with = "all")]
    until: Option<Day>,
    /// Every item, however far away
    #[arg(long)]
    all: bool,
    /// Only of this depot
    #[arg(long)]
    depot: Option<DepotCode>,
    /// Only of this unit
    #[arg(long)]
    unit: Option<UnitCode>,
    /// Only about such things: cylinder, hose, unit, gauge, person …
    #[arg(long)]
    kind: Option<ItemKind>,
    /// Only in this state: overdue, undated, due, in-date
    #[arg(long)]
    state: Option<State>,
    /// End with status 1 if anything listed is overdue or undated
    #[arg(long)]
    check: bool,
    /// Answer from what had been recorded by the end of this day (UTC), whatever is known now
    #[arg(long, value_name = "DATE")]
    known_on: Option<Day>,
}

/// How far `due` looks when nobody says.
const USUAL_DAYS: i64 = 60;

/// Lines laid out as one table; longer lists get a new heading.
const PAGE: usize = 4000;

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where a code is unknown or the file cannot be read.
pub fn run(args: &DueArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    let format = console.format_among(&[Format::Table, Format::Json, Format::Csv])?;
    let book = session.book_known_on(args.known_on, console)?;
    let today = session.today(&book)?;
    args.depot.as_ref().map(|depot| known_depot(&book, depot)).transpose()?;
    args.unit.as_ref().map(|unit| known_unit(&book, unit)).transpose()?;
    let until = match (args.all, args.until, args.within) {
        (true, _, _) => None,
        (_, Some(until), _) => Some(until),
        (_, _, Some(span)) => Some(crate::model::Dated::Day(today).plus(span).last_day()),
        _ => Some(today.plus_days(USUAL_DAYS)),
    };
    let filter = DueFilter {
        until,
        depot: args.depot.clone(),
        unit: args.unit.clone(),
        part: None,
        kind: args.kind,
        state: args.state,
    };
    let counts = book.due_counts(&filter, today)?;
    let list =
        List { book: &book, filter, today, until, counts, hires: hires(&book, today)?, planned: book.planned_days()? };
    match format {
        Format::Json => list.json(console)?,
        Format::Csv => list.csv(console)?,
        _ => list.table(console)?,
    }
    yes_if(!(args.check && counts.late()))
}

/// Bookings not yet over, by unit.
fn hires(book: &Book, today: Day) -> Result<BTreeMap<UnitCode, Vec<Booking>>, Complaint> {
    let mut hires: BTreeMap<UnitCode, Vec<Booking>> = BTreeMap::new();
    for booking in book.bookings(None)?.into_iter().filter(|booking| booking.back_on >= today) {
        hires.entry(booking.unit.clone()).or_default().push(booking);
    }
    Ok(hires)
}

struct List<'a> {
    book: &'a Book,
    filter: DueFilter,
    today: Day,
    until: Option<Day>,
    counts: Counts,
    hires: BTreeMap<UnitCode, Vec<Booking>>,
    planned: PlannedDays,
}

impl List<'_> {
    fn crosses(&self, item: &Item) -> Option<String> {
        let due_on = item.due_on?;
        let hires = self.hires.get(item.unit.as_ref()?)?;
        hires.iter().find(|hire| hire.out_on <= due_on && due_on < hire.back_on).map(|hire| hire.booking.to_string())
    }

    fn line<'i>(&self, item: &'i Item) -> DueLine<'i> {
        DueLine::on(item, self.today).between(self.crosses(item), self.planned.of(item))
    }

    fn json(&self, console: &mut Console<'_>) -> Result<(), Complaint> {
        let counts = self.counts;
        let until = self.until.map_or("null".to_owned(), |day| format!("\"{day}\""));
        write!(
            console.out,
            "{{\"as_of\":\"{}\",\"until\":{until},\"counts\":{{\"overdue\":{},\"due\":{},\"in-date\":{},\"undated\":{}}},\"items\":[",
            self.today, counts.overdue, counts.due, counts.in_date, counts.undated
        )?;
        let mut between = "";
        self.book.due(&self.filter, self.today, |item| {
            console.out.write_all(between.as_bytes())?;
            between = ",";
            let line = self.line(&item);
            write_json(console.out, &line)?;
            Ok::<(), Complaint>(())
        })?;
        writeln!(console.out, "]}}")?;
        Ok(())
    }

    fn csv(&self, console: &mut Console<'_>) -> Result<(), Complaint> {
        let mut writer = csv::Writer::from_writer(&mut *console.out);
        let unwritten = |error: csv::Error| Complaint::from(std::io::Error::from(error));
        writer.write_record(DUE_CSV_HEADER).map_err(unwritten)?;
        self.book.due(&self.filter, self.today, |item| {
            // No column says which hire it runs out on.
            let line = DueLine::on(&item, self.today).between(None, self.planned.of(&item));
            writer.write_record(due_csv(&line)).map_err(unwritten)
        })?;
        writer.flush()?;
        Ok(())
    }

    fn table(&self, console: &mut Console<'_>) -> Result<(), Complaint> {
        let counts = self.counts;
        let mut page: Vec<Item> = Vec::new();
        let width = console.width;
        self.book.due(&self.filter, self.today, |item| {
            page.push(item);
            if page.len() == PAGE {
                self.page(&page, width, console)?;
                page.clear();
            }
            Ok::<(), Complaint>(())
        })?;
        if !page.is_empty() {
            self.page(&page, width, console)?;
        }
        let until = self.until.map(|day| format!(", falling due by {day}")).unwrap_or_default();
        writeln!(
            console.talk,
            "as of {}{until}: {} undated, {} overdue, {} due, {} still in date",
            self.today, counts.undated, counts.overdue, counts.due, counts.in_date
        )?;
        if counts.late() {
            writeln!(console.talk, "for the reason behind a date: pigtail why UNIT or PART")?;
        }
        Ok(())
    }

    fn page(&self, items: &[Item], width: Option<usize>, console: &mut Console<'_>) -> Result<(), Complaint> {
        let lines: Vec<DueLine<'_>> = items.iter().map(|item| self.line(item)).collect();
        console.table(&due_table(&lines, width))?;
        Ok(())
    }
}
