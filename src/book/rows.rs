//! Rows of the projection as model types.
//!
//! Owns: one SELECT list and one reader for each table. Refuses: WHERE clauses, which their users write.

use super::columns::{parsed, parsed_if_any, parsed_list};
use crate::model::{
    Appliance, Booking, CalendarLine, Check, Depot, Event, GasTest, Gauge, GaugeCheck, Hold, Mark, Part, Person,
    PersonCode, Text, Unit, Vin,
};
use rusqlite::{Result, Row};

pub(super) const DEPOT: &str = "SELECT depot, name, timezone, elevation_ft, rules, digest_to FROM depots";

pub(super) fn depot(row: &Row<'_>) -> Result<Depot> {
    Ok(Depot {
        depot: parsed(row, 0)?,
        name: parsed(row, 1)?,
        timezone: parsed(row, 2)?,
        elevation_ft: row.get(3)?,
        rules: parsed(row, 4)?,
        digest_to: parsed_list(row, 5)?,
    })
}

pub(super) const UNIT: &str =
    "SELECT unit, depot, body, vin, plate, model_year, in_service_on, retired_on, note FROM units";

pub(super) fn unit(row: &Row<'_>) -> Result<Unit> {
    let vin = row.get::<_, Option<String>>(3)?.map(Vin::from);
    Ok(Unit {
        unit: parsed(row, 0)?,
        depot: parsed(row, 1)?,
        body: parsed(row, 2)?,
        vin,
        plate: parsed(row, 4)?,
        model_year: row.get(5)?,
        in_service_on: parsed_if_any(row, 6)?,
        retired_on: parsed_if_any(row, 7)?,
        note: parsed(row, 8)?,
    })
}

pub(super) const APPLIANCE: &str = "SELECT unit, appliance, btu_h, inlet_min_inwc, inlet_max_inwc FROM appliances";

pub(super) fn appliance(row: &Row<'_>) -> Result<Appliance> {
    Ok(Appliance {
        unit: parsed(row, 0)?,
        appliance: parsed(row, 1)?,
        btu_h: row.get(2)?,
        inlet_min_inwc: row.get(3)?,
        inlet_max_inwc: row.get(4)?,
    })
}

pub(super) const PART: &str =
    "SELECT part, unit, kind, position, spec, serial, made, fitted_on, replace_by, note FROM parts";

pub(super) fn part(row: &Row<'_>) -> Result<Part> {
    Ok(Part {
        part: parsed(row, 0)?,
        unit: parsed_if_any(row, 1)?,
        kind: parsed(row, 2)?,
        position: parsed(row, 3)?,
        spec: parsed(row, 4)?,
        serial: parsed(row, 5)?,
        made: parsed_if_any(row, 6)?,
        fitted_on: parsed_if_any(row, 7)?,
        replace_by: parsed_if_any(row, 8)?,
        note: parsed(row, 9)?,
    })
}

pub(super) const MARK: &str = "SELECT part, month, method, rin FROM marks";

pub(super) fn mark(row: &Row<'_>) -> Result<Mark> {
    Ok(Mark { part: parsed(row, 0)?, month: parsed(row, 1)?, method: parsed(row, 2)?, rin: parsed_if_any(row, 3)? })
}

pub(super) const PERSON: &str = "SELECT person, name, email, skills, rin, credential_until FROM people";

pub(super) fn person(row: &Row<'_>) -> Result<Person> {
    Ok(Person {
        person: parsed(row, 0)?,
        name: parsed(row, 1)?,
        email: parsed_if_any(row, 2)?,
        skills: parsed_list(row, 3)?,
        rin: parsed_if_any(row, 4)?,
        credential_until: parsed_if_any(row, 5)?,
    })
}

pub(super) const GAUGE: &str = "SELECT gauge, kind, resolution_inwc, note FROM gauges";

pub(super) fn gauge(row: &Row<'_>) -> Result<Gauge> {
    Ok(Gauge { gauge: parsed(row, 0)?, kind: parsed(row, 1)?, resolution_inwc: row.get(2)?, note: parsed(row, 3)? })
}

pub(super) const GAUGE_CHECK: &str = "SELECT gauge, on_day, by_person, reading, reference FROM gauge_checks";

pub(super) fn gauge_check(row: &Row<'_>) -> Result<GaugeCheck> {
    Ok(GaugeCheck {
        gauge: parsed(row, 0)?,
        on: parsed(row, 1)?,
        by: parsed_if_any(row, 2)?,
        reading: parsed(row, 3)?,
        reference: parsed(row, 4)?,
    })
}

pub(super) const GAS_TEST: &str =
    "SELECT unit, on_day, by_person, gauge, tap, lockup, lockup_later, flow, load_percent,
    method, drop_start, drop_between, drop_end, minutes, air_f, air_after_f, elevation_ft, vent, verdict, because, seq
    FROM gas_tests";

pub(super) fn gas_test(row: &Row<'_>) -> Result<GasTest> {
    Ok(GasTest {
        unit: parsed(row, 0)?,
        on: parsed(row, 1)?,
        by: parsed_if_any(row, 2)?,
        gauge: parsed_if_any(row, 3)?,
        tap: parsed(row, 4)?,
        lockup: parsed_if_any(row, 5)?,
        lockup_later: parsed_list(row, 6)?,
        flow: parsed_if_any(row, 7)?,
        load_percent: row.get(8)?,
        method: parsed_if_any(row, 9)?,
        drop_start: parsed_if_any(row, 10)?,
        drop_between: parsed_list(row, 11)?,
        drop_end: parsed_if_any(row, 12)?,
        minutes: row.get(13)?,
        air_f: row.get(14)?,
        air_after_f: row.get(15)?,
        elevation_ft: row.get(16)?,
        vent: parsed_if_any(row, 17)?,
    })
}

pub(super) const CHECK: &str = "SELECT unit, part, on_day, by_person, rule, result, note FROM checks";

pub(super) fn check(row: &Row<'_>) -> Result<Check> {
    Ok(Check {
        unit: parsed(row, 0)?,
        part: parsed_if_any(row, 1)?,
        on: parsed(row, 2)?,
        by: parsed_if_any(row, 3)?,
        rule: parsed(row, 4)?,
        result: parsed(row, 5)?,
        note: parsed(row, 6)?,
    })
}

pub(super) const EVENT: &str = "SELECT unit, on_day, event, note FROM events";

pub(super) fn event(row: &Row<'_>) -> Result<Event> {
    Ok(Event { unit: parsed(row, 0)?, on: parsed(row, 1)?, event: parsed(row, 2)?, note: parsed(row, 3)? })
}

pub(super) const HOLD: &str = "SELECT unit, placed_on, reason, lifted_on, lifted_because, seq FROM holds";

pub(super) fn hold(row: &Row<'_>) -> Result<Hold> {
    Ok(Hold {
        unit: parsed(row, 0)?,
        placed_on: parsed(row, 1)?,
        reason: parsed(row, 2)?,
        lifted_on: parsed_if_any(row, 3)?,
        lifted_because: parsed(row, 4)?,
    })
}

pub(super) const BOOKING: &str = "SELECT booking, unit, out_on, back_on FROM bookings";

pub(super) fn booking(row: &Row<'_>) -> Result<Booking> {
    Ok(Booking { booking: parsed(row, 0)?, unit: parsed(row, 1)?, out_on: parsed(row, 2)?, back_on: parsed(row, 3)? })
}

pub(super) const CALENDAR: &str = "SELECT depot, person, day_or_weekday, minutes FROM calendar";

pub(super) fn calendar_line(row: &Row<'_>) -> Result<CalendarLine> {
    let person: Text = parsed(row, 1)?;
    Ok(CalendarLine {
        depot: parsed(row, 0)?,
        person: if person.is_blank() { None } else { Some(parsed::<PersonCode>(row, 1)?) },
        when: parsed(row, 2)?,
        minutes: row.get(3)?,
    })
}
