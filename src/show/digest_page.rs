//! A digest as a page of headings, cards and numbers, before it is text or HTML.
//!
//! Owns: every sentence of the digest, so that its text and its HTML say the same. Refuses: layout.

use super::legible::{counted, short};
use crate::digest::{Changes, Counts, Crossing, DepotDigest, Digest, Group, HORIZON_DAYS, Held, Line, Promise};
use crate::due::{Late, State};
use crate::model::{Day, DepotCode};
use chrono::Datelike;
use serde::Serialize;
use std::collections::BTreeMap;

/// Most cards under one heading; beyond them the reader is sent to the attached file.
const MOST_CARDS: usize = 40;

/// Most cards under all headings of one kind: mail programs cut long messages off (one of them after 102 kB).
const MOST_CARDS_OF_A_KIND: usize = 120;

/// Fewest cards under one heading, however many depots there are.
const FEWEST_CARDS: usize = 4;

/// Most closed-out items that are named.
const MOST_CLOSED: usize = 12;

/// A whole digest.
#[derive(Debug, Clone, Serialize)]
pub struct Page {
    /// The day, in words.
    pub day: String,
    /// How many of each, in phrases best not broken; the first thing said.
    pub numbers: Vec<String>,
    /// What changed since the last digest, one sentence a line.
    pub changes: Vec<String>,
    /// Depots, worst first.
    pub depots: Vec<DepotPage>,
    /// Sections of no depot.
    pub general: Vec<Section>,
    /// The next days.
    pub month: Month,
    /// What the reader must be told beside any date.
    pub cautions: Vec<&'static str>,
    /// What pins the history.
    pub journal: String,
    /// The journal's head hash alone.
    pub head: String,
}

/// One depot.
#[derive(Debug, Clone, Serialize)]
pub struct DepotPage {
    /// Code and name.
    pub title: String,
    /// How many of each, in phrases best not broken.
    pub numbers: Vec<String>,
    /// What is said of it.
    pub sections: Vec<Section>,
}

/// Cards under one heading.
#[derive(Debug, Clone, Serialize)]
pub struct Section {
    /// What they have in common, with how many.
    pub title: String,
    /// What that means; may be empty.
    pub note: &'static str,
    /// How grave it is: `late`, `missing`, `soon` or `plain`.
    pub tone: &'static str,
    /// The cards.
    pub cards: Vec<Card>,
    /// Where the rest is, if not all are shown.
    pub more: Option<String>,
}

/// One thing to act on.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Card {
    /// What it is about.
    pub head: String,
    /// True where it is new since the last digest.
    pub fresh: bool,
    /// How grave it is: `late`, `missing`, `soon` or `plain`.
    pub tone: &'static str,
    /// How it stands, with days and date, in phrases best not broken.
    pub when: Vec<String>,
    /// What is to be done, and on whose word.
    pub what: String,
    /// Why; may be empty.
    pub because: String,
    /// What to type, word by word; empty where nothing is.
    pub command: Vec<String>,
}

/// The next days as weeks of seven days from Monday.
#[derive(Debug, Clone, Serialize)]
pub struct Month {
    /// What it shows.
    pub title: String,
    /// The weeks.
    pub weeks: Vec<Vec<Cell>>,
}

/// One day of the calendar.
#[derive(Debug, Clone, Serialize)]
pub struct Cell {
    /// Day of the month, with the month's name on the first shown and on the first of a month.
    pub label: String,
    /// How many items have their last good day then.
    pub due: usize,
    /// True for days outside the horizon.
    pub outside: bool,
    /// True for the day of the digest.
    pub today: bool,
}

const CAUTIONS: [&str; 3] = [
    "Nothing overdue or undated goes out.",
    "Dates follow the rules in use here; where local code, the authority having jurisdiction or a part's maker asks \
     for more, that governs.",
    "Work on gas systems and requalification of cylinders are for those licensed or approved to do it.",
];

impl Page {
    /// The page of a digest.
    #[must_use]
    pub fn of(digest: &Digest) -> Self {
        let mut general = Vec::new();
        if !digest.general.is_empty() {
            let note = "A test read with a gauge out of date proves nothing.";
            general.push(section("Gauges and credentials", note, "soon", &digest.general, MOST_CARDS, |line| {
                card(line, None)
            }));
        }
        if !digest.undelivered.is_empty() {
            let note = "These people did not get their digest; tell them, and correct the address.";
            let cards = |lost: &crate::digest::Undelivered| Card {
                head: short(lost.to.as_str()),
                tone: "missing",
                when: vec![format!("digest for {} not delivered", lost.week)],
                what: short(&lost.reason),
                ..Card::default()
            };
            general.push(section(
                "Digests that did not arrive",
                note,
                "missing",
                &digest.undelivered,
                MOST_CARDS,
                cards,
            ));
        }
        Self {
            day: long_day(digest.as_of),
            numbers: numbers(&digest.counts, digest.until),
            changes: digest.changes.as_ref().map(changes).unwrap_or_default(),
            depots: digest.depots.iter().map(|depot| depot_page(depot, digest)).collect(),
            general,
            month: month(digest),
            cautions: CAUTIONS.to_vec(),
            journal: format!("journal: {}, head", counted_u64(digest.head.entries)),
            head: digest.head.to_string(),
        }
    }
}

/// The subject: numbers first, then where and when.
#[must_use]
pub fn subject(digest: &Digest) -> String {
    let Counts { overdue, undated, due, .. } = digest.counts;
    let place = match &digest.depots[..] {
        [] => "no depot".to_owned(),
        [only] => short(only.depot.as_str()),
        many => format!("{} depots", many.len()),
    };
    let numbers = if digest.counts == Counts::default() {
        format!("0 overdue, 0 undated, 0 due in {HORIZON_DAYS} days")
    } else {
        format!("{overdue} overdue, {undated} undated, {due} due by {}", short_day(digest.until))
    };
    format!("{numbers} - {place}, {}", digest.as_of)
}

fn counted_u64(count: u64) -> String {
    format!("{count} {}", if count == 1 { "entry" } else { "entries" })
}

fn long_day(day: Day) -> String {
    day.date().format("%A, %-d %B %Y").to_string()
}

fn short_day(day: Day) -> String {
    day.date().format("%-d %b").to_string()
}

fn numbers(counts: &Counts, until: Day) -> Vec<String> {
    let mut parts = vec![
        format!("{} overdue", counts.overdue),
        format!("{} undated", counts.undated),
        format!("{} due by {until}", counts.due),
    ];
    if counts.held > 0 {
        parts.push(format!("{} on hold", counted(counts.held, "unit", "units")));
    }
    if counts.crossing > 0 {
        parts.push(counted(counts.crossing, "booking crosses a due date", "bookings cross a due date"));
    }
    let last = parts.len() - 1;
    parts.iter_mut().take(last).for_each(|part| part.push(','));
    if counts.units > 0 {
        parts.push(format!("({} affected now)", counted(counts.units, "unit", "units")));
    }
    parts
}

fn changes(changes: &Changes) -> Vec<String> {
    let mut said = vec![format!(
        "Since {}: {} newly overdue, {} newly undated, {} newly due, {} closed out.",
        changes.since,
        changes.newly_overdue,
        changes.newly_undated,
        changes.newly_due,
        changes.closed_out.len()
    )];
    if !changes.closed_out.is_empty() {
        let named: Vec<String> = changes
            .closed_out
            .iter()
            .take(MOST_CLOSED)
            .map(|key| format!("{} {} ({})", key.kind, short(&key.code), key.rule))
            .collect();
        let rest = match changes.closed_out.len().saturating_sub(MOST_CLOSED) {
            0 => String::new(),
            count => format!(" and {count} more"),
        };
        said.push(format!("Closed out or gone: {}{rest}.", named.join("; ")));
    }
    said
}

fn depot_page(depot: &DepotDigest, digest: &Digest) -> DepotPage {
    let most = (MOST_CARDS_OF_A_KIND / digest.depots.len().max(1)).clamp(FEWEST_CARDS, MOST_CARDS);
    let mut sections = Vec::new();
    let of_lines = |title: &str, note, tone, lines: &[Line]| {
        section(title, note, tone, lines, most, |line| card(line, Some(&depot.depot)))
    };
    for Group { late, lines } in &depot.overdue {
        let (title, note) = match late {
            Late::OffRent => ("Overdue: keep off rent", "These units stay off rent until the work is closed out."),
            Late::NotToBeRefilled => (
                "Overdue: not to be refilled",
                "What was filled before its date may be used until empty, but the unit is not ready to rent.",
            ),
            Late::Advise => ("Overdue: see to it", ""),
        };
        sections.push(of_lines(title, note, "late", lines));
    }
    if !depot.undated.is_empty() {
        let note = "A fact is missing, so these count as overdue. Find the date, or do the work.";
        sections.push(of_lines("Undated: find the fact", note, "missing", &depot.undated));
    }
    if !depot.holds.is_empty() {
        sections.push(section("On hold", "", "late", &depot.holds, most, held));
    }
    if !depot.crossings.is_empty() {
        let note = "The unit would be out with something past its last good day.";
        sections.push(section("Bookings that cross a due date", note, "soon", &depot.crossings, most, |crossed| {
            crossing(crossed, digest.as_of)
        }));
    }
    if !depot.coming.is_empty() {
        let title = format!("Due within {HORIZON_DAYS} days");
        sections.push(of_lines(&title, "", "soon", &depot.coming));
    }
    let name = short(depot.name.as_str());
    let code = short(depot.depot.as_str());
    let title = if name.is_empty() { code } else { format!("{code}: {name}") };
    let quiet = depot.counts == Counts::default();
    let numbers = if quiet {
        vec![format!("Nothing overdue, undated or due by {}.", digest.until)]
    } else {
        numbers(&depot.counts, digest.until)
    };
    DepotPage { title, numbers, sections }
}

fn section<T>(
    title: &str,
    note: &'static str,
    tone: &'static str,
    all: &[T],
    most: usize,
    card: impl Fn(&T) -> Card,
) -> Section {
    let more = all.len().checked_sub(most).filter(|rest| *rest > 0);
    Section {
        title: format!("{title} ({})", all.len()),
        note,
        tone,
        cards: all.iter().take(most).map(card).collect(),
        more: more.map(|rest| format!("{rest} more; all of them stand in items.csv, attached.")),
    }
}

fn card(line: &Line, depot: Option<&DepotCode>) -> Card {
    let item = &line.item;
    let mut head = Vec::new();
    if let Some(unit) = &item.unit {
        head.push(short(unit.as_str()));
    }
    let part = item.part.as_ref().map(|part| short(part.as_str()));
    let position = short(&item.position);
    head.push(match (part, position.is_empty()) {
        (None, _) if item.unit.is_some() => "whole unit".to_owned(),
        (None, _) => item.kind.to_string(),
        (Some(part), true) => format!("{} {part}", item.kind),
        (Some(part), false) => format!("{} {part}, {position}", item.kind),
    });
    if let (None, Some(depot)) = (depot, &item.depot) {
        head.push(short(depot.as_str()));
    }
    // What is still in date needs no argument; the reasons stand in the file sent along.
    let argued = !line.is_coming();
    let cite = if argued { short(&item.cite) } else { String::new() };
    let authority = if cite.is_empty() { item.authority.to_string() } else { format!("{}, {cite}", item.authority) };
    Card {
        head: head.join(" / "),
        fresh: line.fresh,
        tone: match line.state {
            State::Overdue => "late",
            State::Undated => "missing",
            State::Due | State::InDate => "soon",
        },
        when: when(line),
        what: format!("{} ({authority})", short(&item.what)),
        because: if argued { short(&item.because) } else { String::new() },
        command: line.command.iter().map(|word| super::legible::one_line(word)).collect(),
    }
}

fn when(line: &Line) -> Vec<String> {
    let planned = line.planned.map(|promise| match promise {
        Promise { on, missed: true } => format!("planned for {on} and not recorded as done"),
        Promise { on, missed: false } => format!("planned for {on}"),
    });
    let mut phrases = standing(line);
    if let (Some(planned), Some(last)) = (planned, phrases.last_mut()) {
        last.push(';');
        phrases.push(planned);
    }
    phrases
}

fn standing(line: &Line) -> Vec<String> {
    match (line.state, line.days, line.item.due_on) {
        (State::Overdue, Some(days), Some(due_on)) => {
            vec![format!("OVERDUE by {}:", counted_days(-days)), format!("last good day was {due_on}")]
        }
        (_, Some(0), Some(due_on)) => vec!["due TODAY:".to_owned(), format!("last good day is {due_on}")],
        (_, Some(days), Some(due_on)) => {
            vec![format!("due in {}:", counted_days(days)), format!("last good day is {due_on}")]
        }
        _ => vec!["UNDATED: counts as overdue".to_owned()],
    }
}

fn held(held: &Held) -> Card {
    let unit = short(held.hold.unit.as_str());
    let reason = short(held.hold.reason.as_str());
    Card {
        head: unit,
        tone: "late",
        when: vec![format!("ON HOLD for {}", counted_days(held.days)), format!("since {}", held.hold.placed_on)],
        what: if reason.is_empty() { "no reason given".to_owned() } else { reason },
        ..Card::default()
    }
}

fn counted_days(days: i64) -> String {
    format!("{days} day{}", if days == 1 { "" } else { "s" })
}

fn crossing(crossing: &Crossing, as_of: Day) -> Card {
    let part = crossing.part.as_ref().map(|part| format!(" / {}", short(part.as_str()))).unwrap_or_default();
    Card {
        head: format!("{}{part}", short(crossing.unit.as_str())),
        tone: "soon",
        when: vec![
            format!("out {} to {},", crossing.out_on, crossing.back_on),
            format!("booking {}", short(crossing.booking.as_str())),
        ],
        what: match crossing.due_on {
            Some(due_on) => {
                let verb = if due_on < as_of { "was" } else { "is" };
                format!("{}: last good day {verb} {due_on}", short(&crossing.what))
            }
            None => format!("{}: undated", short(&crossing.what)),
        },
        ..Card::default()
    }
}

fn month(digest: &Digest) -> Month {
    let mut due: BTreeMap<Day, usize> = BTreeMap::new();
    for due_on in digest.lines().filter(|line| line.is_coming()).filter_map(|line| line.item.due_on) {
        *due.entry(due_on).or_default() += 1;
    }
    let back = i64::from(digest.as_of.date().weekday().num_days_from_monday());
    let monday = digest.as_of.plus_days(-back);
    let weeks = (monday.days_until(digest.until) + 7) / 7;
    let cell = |offset: i64| {
        let day = monday.plus_days(offset);
        let named = offset == 0 || day.date().day() == 1;
        Cell {
            label: day.date().format(if named { "%-d %b" } else { "%-d" }).to_string(),
            due: due.get(&day).copied().unwrap_or_default(),
            outside: day < digest.as_of || day > digest.until,
            today: day == digest.as_of,
        }
    };
    Month {
        title: format!("Next {HORIZON_DAYS} days: how many items have their last good day when"),
        weeks: (0..weeks).map(|week| (0..7).map(|weekday| cell(week * 7 + weekday)).collect()).collect(),
    }
}
