//! Facts into rows.
//!
//! Owns: the order of rows and cells, how each value is written, and the apostrophe that keeps a spreadsheet from
//! running a cell. Refuses: files.

use super::column::Column;
use super::row::needs_guard;
use super::table;
use super::table::FolderFile;
use crate::model::Fleet;
use crate::model::{
    Appliance, Booking, CalendarLine, Check, Day, DayOrWeekday, Depot, Email, Event, GasTest, Gauge, GaugeCheck,
    GaugeCode, Hold, Mark, Named, Part, PartCode, Person, PersonCode, Reading, Rin, TimedReading, Unit, UnitCode, Vin,
};
use std::borrow::Cow;
use std::fmt::Display;
use std::io::{self, Write};

/// A cell: text as it is kept, or another value as it is shown.
type Cell<'a> = Cow<'a, str>;

/// Writes the header and every row of `file`.
pub(super) fn rows_of<W: Write>(file: FolderFile, fleet: &Fleet, to: &mut csv::Writer<W>) -> io::Result<()> {
    match file {
        FolderFile::Depots => rows(to, &table::DEPOTS, &fleet.depots, |d| &d.depot, depot),
        FolderFile::Units => rows(to, &table::UNITS, &fleet.units, |u| &u.unit, unit),
        FolderFile::Appliances => {
            rows(to, &table::APPLIANCES, &fleet.appliances, |a| (&a.unit, &a.appliance), appliance)
        }
        FolderFile::Parts => rows(to, &table::PARTS, &fleet.parts, |p| &p.part, part),
        FolderFile::Marks => rows(to, &table::MARKS_WRITTEN, &fleet.marks, |m| (&m.part, m.month), mark),
        FolderFile::People => rows(to, &table::PEOPLE, &fleet.people, |p| &p.person, person),
        FolderFile::Gauges => rows(to, &table::GAUGES, &fleet.gauges, |g| &g.gauge, gauge),
        FolderFile::GaugeChecks => {
            rows(to, &table::GAUGE_CHECKS, &fleet.gauge_checks, |c| (&c.gauge, c.on), gauge_check)
        }
        FolderFile::GasTests if fleet.gas_tests.iter().any(goes_beyond_the_plain) => {
            rows(to, &table::GAS_TESTS, &fleet.gas_tests, |t| (&t.unit, t.on), gas_test)
        }
        FolderFile::GasTests => rows(to, &table::GAS_TESTS_PLAIN, &fleet.gas_tests, |t| (&t.unit, t.on), plain_test),
        FolderFile::Checks => rows(to, &table::CHECKS, &fleet.checks, |c| (&c.unit, c.on), check),
        FolderFile::Bookings => rows(to, &table::BOOKINGS, &fleet.bookings, |b| &b.booking, booking),
        FolderFile::Holds => rows(to, &table::HOLDS, &fleet.holds, |h| (&h.unit, h.placed_on), hold),
        FolderFile::Events => rows(to, &table::EVENTS, &fleet.events, |e| (&e.unit, e.on), event),
        FolderFile::Calendar => {
            rows(to, &table::CALENDAR, &fleet.calendar, |c| (&c.depot, &c.person, in_week(c.when)), calendar_line)
        }
    }
}

/// Writes a header, then `list` in the order of `key`; what has the same key stays in the order given.
fn rows<'a, T, K: Ord, W: Write, const N: usize>(
    to: &mut csv::Writer<W>,
    columns: &[Column; N],
    list: &'a [T],
    key: impl Fn(&'a T) -> K,
    cells: impl Fn(&'a T) -> [Cell<'a>; N],
) -> io::Result<()> {
    to.write_record(columns.iter().map(|column| column.name))?;
    let mut sorted: Vec<&T> = list.iter().collect();
    sorted.sort_by_key(|item| key(item));
    for item in sorted {
        for cell in cells(item) {
            if needs_guard(&cell) {
                to.write_field(format!("'{cell}"))?;
            } else {
                to.write_field(&*cell)?;
            }
        }
        to.write_record(None::<&[u8]>)?;
    }
    Ok(())
}

/// Weekdays from Monday, then days.
fn in_week(when: DayOrWeekday) -> (u32, Option<Day>) {
    match when {
        DayOrWeekday::Weekday(weekday) => (weekday.num_days_from_monday(), None),
        DayOrWeekday::Day(day) => (7, Some(day)),
    }
}

const BLANK: Cell<'static> = Cow::Borrowed("");

fn text(text: &str) -> Cell<'_> {
    Cow::Borrowed(text)
}

/// A value as it is shown; blank where there is none.
fn shown<'a>(value: Option<impl Display>) -> Cell<'a> {
    value.map_or(BLANK, |value| Cow::Owned(value.to_string()))
}

/// A code where there is one.
fn code<'a, T>(value: &'a Option<T>, as_str: impl FnOnce(&'a T) -> &'a str) -> Cell<'a> {
    value.as_ref().map_or(BLANK, |value| text(as_str(value)))
}

fn list<'a>(items: impl Iterator<Item = &'a str>) -> Cell<'a> {
    Cow::Owned(items.collect::<Vec<_>>().join(";"))
}

fn depot(depot: &Depot) -> [Cell<'_>; 6] {
    [
        text(depot.depot.as_str()),
        text(depot.name.as_str()),
        text(depot.timezone.name()),
        shown(depot.elevation_ft),
        text(depot.rules.name()),
        list(depot.digest_to.iter().map(Email::as_str)),
    ]
}

fn unit(unit: &Unit) -> [Cell<'_>; 9] {
    [
        text(unit.unit.as_str()),
        text(unit.depot.as_str()),
        text(unit.body.as_str()),
        code(&unit.vin, Vin::as_str),
        text(unit.plate.as_str()),
        shown(unit.model_year),
        shown(unit.in_service_on),
        shown(unit.retired_on),
        text(unit.note.as_str()),
    ]
}

fn appliance(appliance: &Appliance) -> [Cell<'_>; 5] {
    [
        text(appliance.unit.as_str()),
        text(appliance.appliance.as_str()),
        shown(Some(appliance.btu_h)),
        shown(appliance.inlet_min_inwc),
        shown(appliance.inlet_max_inwc),
    ]
}

fn part(part: &Part) -> [Cell<'_>; 10] {
    [
        text(part.part.as_str()),
        code(&part.unit, UnitCode::as_str),
        text(part.kind.name()),
        text(part.position.as_str()),
        text(part.spec.as_str()),
        text(part.serial.as_str()),
        shown(part.made),
        shown(part.fitted_on),
        shown(part.replace_by),
        text(part.note.as_str()),
    ]
}

fn mark(mark: &Mark) -> [Cell<'_>; 4] {
    [text(mark.part.as_str()), shown(Some(mark.month)), text(mark.method.name()), code(&mark.rin, Rin::as_str)]
}

fn person(person: &Person) -> [Cell<'_>; 6] {
    [
        text(person.person.as_str()),
        text(person.name.as_str()),
        code(&person.email, Email::as_str),
        list(person.skills.iter().map(|skill| skill.name())),
        code(&person.rin, Rin::as_str),
        shown(person.credential_until),
    ]
}

fn gauge(gauge: &Gauge) -> [Cell<'_>; 4] {
    [text(gauge.gauge.as_str()), text(gauge.kind.name()), shown(gauge.resolution_inwc), text(gauge.note.as_str())]
}

fn gauge_check(check: &GaugeCheck) -> [Cell<'_>; 5] {
    [
        text(check.gauge.as_str()),
        shown(Some(check.on)),
        code(&check.by, PersonCode::as_str),
        text(check.reading.as_str()),
        text(check.reference.as_str()),
    ]
}

/// True for a test with a value in one of the last four columns.
fn goes_beyond_the_plain(test: &GasTest) -> bool {
    test.method.is_some() || test.vent.is_some() || !test.lockup_later.is_empty() || !test.drop_between.is_empty()
}

fn gas_test(test: &GasTest) -> [Cell<'_>; 18] {
    let timed =
        |readings: &[TimedReading]| Cow::Owned(readings.iter().map(ToString::to_string).collect::<Vec<_>>().join(";"));
    let more = [shown(test.method), timed(&test.lockup_later), timed(&test.drop_between), shown(test.vent)];
    let mut cells = plain_test(test).into_iter().chain(more);
    std::array::from_fn(|_| cells.next().unwrap_or(BLANK))
}

fn plain_test(test: &GasTest) -> [Cell<'_>; 14] {
    [
        text(test.unit.as_str()),
        shown(Some(test.on)),
        code(&test.by, PersonCode::as_str),
        code(&test.gauge, GaugeCode::as_str),
        text(test.tap.name()),
        code(&test.lockup, Reading::as_str),
        code(&test.flow, Reading::as_str),
        shown(test.load_percent),
        code(&test.drop_start, Reading::as_str),
        code(&test.drop_end, Reading::as_str),
        shown(test.minutes),
        shown(test.air_f),
        shown(test.air_after_f),
        shown(test.elevation_ft),
    ]
}

fn check(check: &Check) -> [Cell<'_>; 7] {
    [
        text(check.unit.as_str()),
        code(&check.part, PartCode::as_str),
        shown(Some(check.on)),
        code(&check.by, PersonCode::as_str),
        text(check.rule.as_str()),
        text(check.result.name()),
        text(check.note.as_str()),
    ]
}

fn booking(booking: &Booking) -> [Cell<'_>; 4] {
    [
        text(booking.booking.as_str()),
        text(booking.unit.as_str()),
        shown(Some(booking.out_on)),
        shown(Some(booking.back_on)),
    ]
}

fn hold(hold: &Hold) -> [Cell<'_>; 5] {
    [
        text(hold.unit.as_str()),
        shown(Some(hold.placed_on)),
        text(hold.reason.as_str()),
        shown(hold.lifted_on),
        text(hold.lifted_because.as_str()),
    ]
}

fn event(event: &Event) -> [Cell<'_>; 4] {
    [text(event.unit.as_str()), shown(Some(event.on)), text(event.event.name()), text(event.note.as_str())]
}

fn calendar_line(line: &CalendarLine) -> [Cell<'_>; 5] {
    let (weekday, on) = match line.when {
        DayOrWeekday::Weekday(_) => (shown(Some(line.when)), BLANK),
        DayOrWeekday::Day(day) => (BLANK, shown(Some(day))),
    };
    [text(line.depot.as_str()), code(&line.person, PersonCode::as_str), weekday, on, shown(Some(line.minutes))]
}
