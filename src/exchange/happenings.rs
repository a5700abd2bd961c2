//! Rows that say what happened or will: gauge checks, gas tests, checks, bookings, holds, events, working hours.
//!
//! Owns: which cells make which fact, and what two cells of one row may not say together. Refuses: judging tests, and
//! whether what a row refers to exists.

use super::header::Place;
use super::keys::KEY_SEPARATOR;
use super::nouns::ELEVATION_FT;
use super::row::Row;
use super::wrong::CellError;
use crate::journal::{Change, Fact};
use crate::model::{Booking, CalendarLine, Check, Day, DayOrWeekday, Event, GasTest, GaugeCheck, Hold, NameError, Tap};
use std::ops::RangeInclusive;

/// A test orifice may take more than the unit's own appliances do.
const LOAD_PERCENT: RangeInclusive<f64> = 0.0..=1000.0;
/// A week of watching.
const TEST_MINUTES: RangeInclusive<f64> = 0.0..=10_080.0;
/// Air that people test in, with room.
const AIR_F: RangeInclusive<f64> = -100.0..=200.0;
/// One person's day.
const PERSON_MINUTES: RangeInclusive<u32> = 0..=1440;
/// A depot's day, the minutes of a hundred people.
const DEPOT_MINUTES: RangeInclusive<u32> = 0..=144_000;
const WEEKDAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

pub(super) fn gauge_check(row: &mut Row<'_, '_>, places: &[Place; 5]) -> Option<Fact> {
    let [gauge, on, by, reading, reference] = places;
    let gauge = row.required(gauge);
    let on = row.required_day(on);
    let by = row.optional(by);
    let reading = row.required(reading);
    let reference = row.required(reference);
    Some(Fact::Change(Change::GaugeCheck(GaugeCheck {
        gauge: gauge?,
        on: on?,
        by,
        reading: reading?,
        reference: reference?,
    })))
}

pub(super) fn gas_test(row: &mut Row<'_, '_>, places: &[Place; 18]) -> Option<Fact> {
    let [
        unit,
        on,
        by,
        gauge,
        tap,
        lockup,
        flow,
        load,
        drop_start,
        drop_end,
        minutes,
        air_f,
        air_after_f,
        elevation_ft,
        ..,
    ] = places;
    let [.., method, lockup_later, drop_between, vent] = places;
    let unit = row.required(unit);
    let on = row.required_day(on);
    let by = row.optional(by);
    let gauge = row.optional(gauge);
    let tap: Option<Tap> = row.optional(tap);
    let lockup = row.optional(lockup);
    let flow = row.optional(flow);
    let load_percent = row.number(load, &LOAD_PERCENT);
    let drop_start = row.optional(drop_start);
    let drop_end = row.optional(drop_end);
    let minutes = row.number(minutes, &TEST_MINUTES);
    let air_f = row.number(air_f, &AIR_F);
    let air_after_f = row.number(air_after_f, &AIR_F);
    let elevation_ft = row.number(elevation_ft, &ELEVATION_FT);
    let method = row.optional(method);
    let lockup_later = row.list(lockup_later);
    let drop_between = row.list(drop_between);
    let vent = row.optional(vent);
    Some(Fact::Test(GasTest {
        unit: unit?,
        on: on?,
        by,
        gauge,
        tap: tap.unwrap_or_default(),
        lockup,
        lockup_later,
        flow,
        load_percent,
        method,
        drop_start,
        drop_between,
        drop_end,
        minutes,
        air_f,
        air_after_f,
        elevation_ft,
        vent,
    }))
}

pub(super) fn check(row: &mut Row<'_, '_>, places: &[Place; 7]) -> Option<Fact> {
    let [unit, part, on, by, rule, result, note] = places;
    let unit = row.required(unit);
    let part = row.optional(part);
    let on = row.required_day(on);
    let by = row.optional(by);
    let rule = row.required(rule);
    let result = row.required(result);
    let note = row.text(note);
    Some(Fact::Change(Change::Check(Check { unit: unit?, part, on: on?, by, rule: rule?, result: result?, note })))
}

pub(super) fn booking(row: &mut Row<'_, '_>, places: &[Place; 4]) -> Option<Fact> {
    let [booking, unit, out_on, back_on] = places;
    row.unique(booking, row.cell(booking));
    let code = row.required(booking);
    let unit = row.required(unit);
    let out = row.required_day(out_on);
    let back = row.required_day(back_on);
    not_before(row, back_on, back, out_on, out);
    Some(Fact::Change(Change::Booking(Booking { booking: code?, unit: unit?, out_on: out?, back_on: back? })))
}

pub(super) fn hold(row: &mut Row<'_, '_>, places: &[Place; 5]) -> Option<Fact> {
    let [unit, placed_on, reason, lifted_on, lifted_because] = places;
    let unit = row.required(unit);
    let placed = row.required_day(placed_on);
    let reason = row.required_text(reason);
    let lifted = row.day(lifted_on);
    let because = row.text(lifted_because);
    not_before(row, lifted_on, lifted, placed_on, placed);
    if !because.is_blank() && row.cell(lifted_on).is_empty() {
        row.wrong(lifted_because, CellError::Without { other: lifted_on.column.name });
    }
    Some(Fact::Change(Change::Hold(Hold {
        unit: unit?,
        placed_on: placed?,
        reason: reason?,
        lifted_on: lifted,
        lifted_because: because,
    })))
}

fn not_before(row: &mut Row<'_, '_>, place: &Place, day: Option<Day>, earlier: &Place, earlier_day: Option<Day>) {
    if let (Some(day), Some(earlier_day)) = (day, earlier_day)
        && day < earlier_day
    {
        row.wrong(place, CellError::Before { day, earlier_column: earlier.column.name, earlier_day });
    }
}

pub(super) fn event(row: &mut Row<'_, '_>, places: &[Place; 4]) -> Option<Fact> {
    let [unit, on, event, note] = places;
    let unit = row.required(unit);
    let on = row.required_day(on);
    let event = row.required(event);
    let note = row.text(note);
    Some(Fact::Change(Change::Event(Event { unit: unit?, on: on?, event: event?, note })))
}

pub(super) fn calendar_line(row: &mut Row<'_, '_>, places: &[Place; 5]) -> Option<Fact> {
    let [depot, person, weekday, on, minutes] = places;
    let when = when(row, weekday, on);
    if let Some(when) = when {
        let key = format!("{}{KEY_SEPARATOR}{}{KEY_SEPARATOR}{when}", row.cell(depot), row.cell(person));
        row.unique(depot, key.into());
    }
    let depot = row.required(depot);
    let whole_depot = row.cell(person).is_empty();
    let person = row.optional(person);
    let range = if whole_depot { &DEPOT_MINUTES } else { &PERSON_MINUTES };
    let minutes = row.required_whole(minutes, range);
    Some(Fact::Change(Change::Calendar(CalendarLine { depot: depot?, person, when: when?, minutes: minutes? })))
}

/// The weekday or the day of a row; it must have one of them.
fn when(row: &mut Row<'_, '_>, weekday: &Place, on: &Place) -> Option<DayOrWeekday> {
    let (weekday_cell, on_cell) = (row.cell(weekday), row.cell(on));
    match (weekday_cell.is_empty(), on_cell.is_empty()) {
        (true, true) => {
            let (asked, other) = if weekday.position.is_some() { (weekday, on) } else { (on, weekday) };
            if asked.position.is_some() {
                row.wrong(asked, CellError::NeitherNor { other: other.column.name });
            }
            None
        }
        (false, false) => {
            row.wrong(on, CellError::Beside { other: weekday.column.name });
            None
        }
        (true, false) => row.required_day(on).map(DayOrWeekday::Day),
        (false, true) => match weekday_cell.parse() {
            Ok(named @ DayOrWeekday::Weekday(_)) => Some(named),
            Ok(DayOrWeekday::Day(_)) | Err(_) => {
                let text = weekday_cell.chars().take(60).collect();
                row.wrong(weekday, NameError { text, list: "a weekday", known: WEEKDAYS.to_vec() });
                None
            }
        },
    }
}

/// The day a fact is of, by which facts of its file are put in order; none for nouns.
pub(super) fn day_of(fact: &Fact) -> Option<Day> {
    match fact {
        Fact::Test(test) => Some(test.on),
        Fact::Change(change) => match change {
            Change::Mark(mark) => Some(mark.month.first_day()),
            Change::GaugeCheck(check) => Some(check.on),
            Change::Check(check) => Some(check.on),
            Change::Event(event) => Some(event.on),
            Change::Hold(hold) => Some(hold.placed_on),
            Change::Booking(booking) => Some(booking.out_on),
            _ => None,
        },
    }
}
