//! What the book knows, gathered for one recipient's digest.
//!
//! Owns: which items, holds and bookings belong to whom. Refuses: choosing what is told (`digest`).

use super::complaint::Complaint;
use super::keep::hold::standing_holds;
use crate::book::{Book, DueFilter};
use crate::digest::{
    Crossing, DepotFacts, Facts, HORIZON_DAYS, JournalHead, Parcel, Previous, Progress, Undelivered, Week,
};
use crate::due::{Item, ItemKind};
use crate::model::{Booking, Day, Depot, Email, UnitCode};
use std::collections::{BTreeMap, BTreeSet};

/// Everything about `depots` on `today`.
///
/// # Errors
/// [`Complaint`] where the file cannot be read.
pub fn facts(
    book: &Book,
    depots: &[&Depot],
    today: Day,
    since: Option<Previous>,
    undelivered: Vec<Undelivered>,
) -> Result<Facts, Complaint> {
    let until = Some(today.plus_days(HORIZON_DAYS));
    let mut general = Vec::new();
    for kind in [ItemKind::Gauge, ItemKind::Person] {
        general.extend(book.due_items(&DueFilter { until, kind: Some(kind), ..DueFilter::default() }, today)?);
    }
    let holds = standing_holds(book, today)?;
    let bookings: Vec<Booking> = book.bookings(None)?.into_iter().filter(|booking| booking.back_on >= today).collect();
    let mut told = Vec::new();
    for depot in depots {
        let units: BTreeSet<UnitCode> = book.units(Some(&depot.depot))?.into_iter().map(|unit| unit.unit).collect();
        let filter = DueFilter { until, depot: Some(depot.depot.clone()), ..DueFilter::default() };
        let items = book.due_items(&filter, today)?;
        told.push(DepotFacts {
            depot: (*depot).clone(),
            holds: holds.iter().filter(|hold| units.contains(&hold.unit)).cloned().collect(),
            crossings: crossings(book, &bookings, &units, today)?,
            items,
        });
    }
    let head = book.head()?;
    Ok(Facts {
        as_of: today,
        depots: told,
        general,
        planned: book.planned_days()?,
        head: JournalHead { hash: head.hash.0, entries: head.seq },
        since,
        undelivered,
    })
}

/// Bookings of some units that run past a last day, or go out with something undated.
fn crossings(
    book: &Book,
    bookings: &[Booking],
    units: &BTreeSet<UnitCode>,
    today: Day,
) -> Result<Vec<Crossing>, Complaint> {
    let mut items: BTreeMap<UnitCode, Vec<Item>> = BTreeMap::new();
    let mut crossings = Vec::new();
    for booking in bookings.iter().filter(|booking| units.contains(&booking.unit)) {
        if !items.contains_key(&booking.unit) {
            let filter = DueFilter { unit: Some(booking.unit.clone()), ..DueFilter::default() };
            items.insert(booking.unit.clone(), book.due_items(&filter, today)?);
        }
        for item in items.get(&booking.unit).into_iter().flatten() {
            if item.due_on.is_some_and(|due_on| due_on >= booking.back_on) {
                continue;
            }
            crossings.push(Crossing {
                booking: booking.booking.clone(),
                unit: booking.unit.clone(),
                out_on: booking.out_on,
                back_on: booking.back_on,
                part: item.part.clone(),
                what: item.what.clone(),
                due_on: item.due_on,
            });
        }
    }
    Ok(crossings)
}

/// Digests to others that were given up since `to` last got theirs.
///
/// # Errors
/// [`Complaint`] where the file cannot be read.
pub fn undelivered(book: &Book, to: &Email, week: Week) -> Result<Vec<Undelivered>, Complaint> {
    let parcels = book.parcels()?;
    let sent = |parcel: &&Parcel| matches!(parcel.progress, Progress::Sent { .. });
    let theirs = parcels.iter().filter(|parcel| parcel.to == *to && parcel.week < week);
    let last = theirs.filter(sent).map(|parcel| parcel.week).max();
    Ok(parcels
        .into_iter()
        .filter(|parcel| parcel.is_given_up() && parcel.to != *to)
        .filter(|parcel| parcel.week <= week && last.is_none_or(|last| parcel.week >= last))
        .filter_map(|parcel| match parcel.progress {
            Progress::Failed { reason, .. } => Some(Undelivered { to: parcel.to, week: parcel.week, reason }),
            _ => None,
        })
        .collect())
}
