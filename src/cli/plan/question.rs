//! What the book knows, gathered for the planner.
//!
//! Owns: which units and items are planned. Refuses: days and people, which the planner chooses.

use super::super::complaint::Complaint;
use super::super::session::known_depot;
use super::{Asked, PINNED_DAYS};
use crate::book::{Book, DueFilter};
use crate::model::Day;
use crate::plan::fleet::{Fleet, Work};

pub(super) fn gather(book: &Book, asked: &Asked, today: Day) -> Result<Fleet, Complaint> {
    let depots = match &asked.depot {
        Some(wanted) => vec![known_depot(book, wanted)?],
        None => book.depots()?,
    };
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
