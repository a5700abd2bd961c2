//! What the book knows, gathered for the planner.
//!
//! Owns: which units and items are planned. Refuses: days and people, which the planner chooses.

use super::super::complaint::Complaint;
use super::super::session::unknown;
use super::{Asked, PINNED_DAYS};
use crate::book::{Book, Codes, DueFilter};
use crate::model::{Day, PersonCode};
use crate::plan::fleet::{Fleet, Work};

pub(super) fn gather(book: &Book, asked: &Asked, today: Day) -> Result<Fleet, Complaint> {
    let mut depots = book.depots()?;
    if let Some(wanted) = &asked.depot {
        depots.retain(|depot| depot.depot == *wanted);
        if depots.is_empty() {
            return unknown(book, Codes::Depots, "depot", wanted.as_str());
        }
    }
    let mut units = Vec::new();
    let mut items = Vec::new();
    let until = Some(today.plus_days(i64::from(asked.weeks) * 7));
    for depot in &depots {
        for unit in book.units(Some(&depot.depot))?.into_iter().filter(|unit| unit.retired_on.is_none()) {
            units.push((unit.unit, depot.depot.clone()));
        }
        let filter = DueFilter { until, depot: Some(depot.depot.clone()), ..DueFilter::default() };
        for item in book.due_items(&filter, today)? {
            let rule = book.rules().pack(depot.rules).rule(&item.rule);
            let Some(rule) = rule.filter(|_| item.unit.is_some()) else { continue };
            let work = Work { minutes: rule.minutes, skills: rule.skills.clone(), earliest: rule.earliest };
            items.push((item, work));
        }
    }
    Ok(Fleet {
        today,
        weeks: asked.weeks,
        buffer: asked.buffer,
        units,
        items,
        bookings: book.bookings(None)?,
        people: book.people()?,
        calendar: book.calendar()?,
        kept: book.kept_visits(None)?,
        pinned: PINNED_DAYS,
        before: Vec::new(),
    })
}

pub(super) fn known_person(book: &Book, person: &PersonCode) -> Result<(), Complaint> {
    if book.person(person)?.is_none() {
        return unknown(book, Codes::People, "person", person.as_str());
    }
    Ok(())
}
