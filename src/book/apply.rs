//! One journal entry applied to the tables.
//!
//! Owns: what each change does to the projection. Refuses: judging it; what stands in the journal was admitted.

use super::columns::{joined, text_of};
use crate::journal::Change;
use crate::model::{KeptVisit, Named, PartCode, Reading, Rin, Text, Unit, UnitCode};
use rusqlite::{Connection, params};

/// Applies `change`, which is entry `seq`. The same sequence of changes always gives the same tables.
pub(super) fn apply(conn: &Connection, seq: u64, change: &Change) -> rusqlite::Result<()> {
    let seq = seq.cast_signed();
    match change {
        Change::Depot(depot) => run(
            conn,
            "INSERT INTO depots VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7) ON CONFLICT DO UPDATE SET name = ?2, timezone = ?3,
             elevation_ft = ?4, rules = ?5, digest_to = ?6, seq = ?7",
            params![
                depot.depot.as_str(),
                depot.name.as_str(),
                depot.timezone.name(),
                depot.elevation_ft,
                depot.rules.name(),
                joined(&depot.digest_to),
                seq
            ],
        ),
        Change::Unit(unit) => apply_unit(conn, seq, unit),
        Change::Appliance(appliance) => run(
            conn,
            "INSERT INTO appliances VALUES (?1, ?2, ?3, ?4, ?5, ?6) ON CONFLICT DO UPDATE SET btu_h = ?3,
             inlet_min_inwc = ?4, inlet_max_inwc = ?5, seq = ?6",
            params![
                appliance.unit.as_str(),
                appliance.appliance.as_str(),
                appliance.btu_h,
                appliance.inlet_min_inwc,
                appliance.inlet_max_inwc,
                seq
            ],
        ),
        Change::Part(part) => state(
            conn,
            "INSERT INTO parts VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, NULL, NULL, ?11) ON CONFLICT DO NOTHING",
            "UPDATE parts SET unit = ?2, kind = ?3, position = ?4, spec = ?5, serial = ?6, made = ?7, fitted_on = ?8,
             replace_by = ?9, note = ?10, scrapped_on = NULL, scrapped_because = NULL, seq = ?11 WHERE part = ?1",
            params![
                part.part.as_str(),
                part.unit.as_ref().map(UnitCode::as_str),
                part.kind.name(),
                part.position.as_str(),
                part.spec.as_str(),
                part.serial.as_str(),
                text_of(part.made.as_ref()),
                text_of(part.fitted_on.as_ref()),
                text_of(part.replace_by.as_ref()),
                part.note.as_str(),
                seq
            ],
        ),
        Change::Person(person) => run(
            conn,
            "INSERT INTO people VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7) ON CONFLICT DO UPDATE SET name = ?2, email = ?3,
             skills = ?4, rin = ?5, credential_until = ?6, seq = ?7",
            params![
                person.person.as_str(),
                person.name.as_str(),
                text_of(person.email.as_ref()),
                joined(&person.skills),
                text_of(person.rin.as_ref()),
                text_of(person.credential_until.as_ref()),
                seq
            ],
        ),
        Change::Gauge(gauge) => run(
            conn,
            "INSERT INTO gauges VALUES (?1, ?2, ?3, ?4, ?5) ON CONFLICT DO UPDATE SET kind = ?2, resolution_inwc = ?3,
             note = ?4, seq = ?5",
            params![gauge.gauge.as_str(), gauge.kind.name(), gauge.resolution_inwc, gauge.note.as_str(), seq],
        ),
        Change::Calendar(line) => run(
            conn,
            "INSERT INTO calendar VALUES (?1, ?2, ?3, ?4, ?5) ON CONFLICT DO UPDATE SET minutes = ?4, seq = ?5",
            params![
                line.depot.as_str(),
                line.person.as_ref().map_or("", |person| person.as_str()),
                line.when.to_string(),
                line.minutes,
                seq
            ],
        ),
        Change::HouseRules { pack, toml } => run(
            conn,
            "INSERT INTO house_rules VALUES (?1, ?2, ?3) ON CONFLICT DO UPDATE SET toml = ?2, seq = ?3",
            params![pack.name(), toml, seq],
        ),
        Change::Void { seq: voided, because } => {
            run(conn, "INSERT INTO voids VALUES (?1, ?2, ?3)", params![voided.cast_signed(), seq, because.as_str()])
        }
        found => apply_found(conn, seq, found),
    }
}

/// What was found or done, as against what things are.
fn apply_found(conn: &Connection, seq: i64, change: &Change) -> rusqlite::Result<()> {
    match change {
        Change::Mark(mark) => run(
            conn,
            "INSERT INTO marks VALUES (?, ?, ?, ?, ?)",
            params![
                seq,
                mark.part.as_str(),
                mark.month.to_string(),
                mark.method.name(),
                mark.rin.as_ref().map(Rin::as_str)
            ],
        ),
        Change::GaugeCheck(check) => run(
            conn,
            "INSERT INTO gauge_checks VALUES (?, ?, ?, ?, ?, ?)",
            params![
                seq,
                check.gauge.as_str(),
                check.on.to_string(),
                text_of(check.by.as_ref()),
                check.reading.as_str(),
                check.reference.as_str()
            ],
        ),
        Change::GasTest { test, verdict, because } => run(
            conn,
            "INSERT INTO gas_tests VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            params![
                seq,
                test.unit.as_str(),
                test.on.to_string(),
                text_of(test.by.as_ref()),
                text_of(test.gauge.as_ref()),
                test.tap.name(),
                test.lockup.as_ref().map(Reading::as_str),
                joined(&test.lockup_later),
                test.flow.as_ref().map(Reading::as_str),
                test.load_percent,
                text_of(test.method.as_ref()),
                test.drop_start.as_ref().map(Reading::as_str),
                joined(&test.drop_between),
                test.drop_end.as_ref().map(Reading::as_str),
                test.minutes,
                test.air_f,
                test.air_after_f,
                test.elevation_ft,
                text_of(test.vent.as_ref()),
                verdict.name(),
                because.iter().map(Text::as_str).collect::<Vec<_>>().join("\n")
            ],
        ),
        Change::Check(check) => run(
            conn,
            "INSERT INTO checks VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            params![
                seq,
                check.unit.as_str(),
                text_of(check.part.as_ref()),
                check.on.to_string(),
                text_of(check.by.as_ref()),
                check.rule.as_str(),
                check.result.name(),
                check.note.as_str()
            ],
        ),
        Change::Event(event) => run(
            conn,
            "INSERT INTO events VALUES (?, ?, ?, ?, ?)",
            params![seq, event.unit.as_str(), event.on.to_string(), event.event.name(), event.note.as_str()],
        ),
        Change::Hold(hold) => run(
            conn,
            "INSERT INTO holds VALUES (?, ?, ?, ?, ?, ?)",
            params![
                seq,
                hold.unit.as_str(),
                hold.placed_on.to_string(),
                hold.reason.as_str(),
                text_of(hold.lifted_on.as_ref()),
                hold.lifted_because.as_str()
            ],
        ),
        Change::HoldLifted { unit, hold, on, because } => run(
            conn,
            "UPDATE holds SET lifted_on = ?, lifted_because = ? WHERE seq = ? AND unit = ?",
            params![on.to_string(), because.as_str(), hold.cast_signed(), unit.as_str()],
        ),
        Change::Booking(booking) => run(
            conn,
            "INSERT INTO bookings VALUES (?1, ?2, ?3, ?4, ?5) ON CONFLICT DO UPDATE SET unit = ?2, out_on = ?3,
             back_on = ?4, seq = ?5",
            params![
                booking.booking.as_str(),
                booking.unit.as_str(),
                booking.out_on.to_string(),
                booking.back_on.to_string(),
                seq
            ],
        ),
        Change::BookingCancelled { booking } => {
            run(conn, "DELETE FROM bookings WHERE booking = ?", params![booking.as_str()])
        }
        Change::PartFitted { part, unit, position, on } => run(
            conn,
            "UPDATE parts SET unit = ?2, position = ?3, fitted_on = ?4, seq = ?5 WHERE part = ?1",
            params![part.as_str(), unit.as_str(), position.as_str(), on.to_string(), seq],
        ),
        Change::PartPulled { part, .. } => run(
            conn,
            "UPDATE parts SET unit = NULL, position = '', fitted_on = NULL, seq = ?2 WHERE part = ?1",
            params![part.as_str(), seq],
        ),
        Change::PartScrapped { part, on, because } => run(
            conn,
            "UPDATE parts SET unit = NULL, position = '', scrapped_on = ?2, scrapped_because = ?3, seq = ?4
             WHERE part = ?1",
            params![part.as_str(), on.to_string(), because.as_str(), seq],
        ),
        Change::UnitMoved { unit, depot, .. } => run(
            conn,
            "UPDATE units SET depot = ?2, seq = ?3 WHERE unit = ?1",
            params![unit.as_str(), depot.as_str(), seq],
        ),
        Change::UnitRetired { unit, on, .. } => run(
            conn,
            "UPDATE units SET retired_on = ?2, seq = ?3 WHERE unit = ?1",
            params![unit.as_str(), on.to_string(), seq],
        ),
        Change::VisitClosed { unit, on, by, note } => {
            // Whoever closed out was there: what had been promised until then is fulfilled, or must be promised anew.
            run(conn, "DELETE FROM kept_work WHERE unit = ? AND on_day <= ?", params![unit.as_str(), on.to_string()])?;
            run(
                conn,
                "INSERT INTO visits VALUES (?, ?, ?, ?, ?)",
                params![seq, unit.as_str(), on.to_string(), by.as_str(), note.as_str()],
            )
        }
        Change::VisitsKept { unit, visits } => keep(conn, seq, unit, visits),
        Change::Depot(_)
        | Change::Unit(_)
        | Change::Appliance(_)
        | Change::Part(_)
        | Change::Person(_)
        | Change::Gauge(_)
        | Change::Calendar(_)
        | Change::HouseRules { .. }
        | Change::Void { .. } => Ok(()),
    }
}

fn apply_unit(conn: &Connection, seq: i64, unit: &Unit) -> rusqlite::Result<()> {
    state(
        conn,
        "INSERT INTO units VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10) ON CONFLICT DO NOTHING",
        "UPDATE units SET depot = ?2, body = ?3, vin = ?4, plate = ?5, model_year = ?6, in_service_on = ?7,
         retired_on = ?8, note = ?9, seq = ?10 WHERE unit = ?1",
        params![
            unit.unit.as_str(),
            unit.depot.as_str(),
            unit.body.as_str(),
            text_of(unit.vin.as_ref()),
            unit.plate.as_str(),
            unit.model_year,
            text_of(unit.in_service_on.as_ref()),
            text_of(unit.retired_on.as_ref()),
            unit.note.as_str(),
            seq
        ],
    )
}

/// Inserts what is new, updates what is known: two statements, because one that may do either keeps a copy of every page
/// it touches in case it fails half-way.
fn state(conn: &Connection, insert: &str, update: &str, params: impl rusqlite::Params + Copy) -> rusqlite::Result<()> {
    if conn.prepare_cached(insert)?.execute(params)? == 0 {
        run(conn, update, params)?;
    }
    Ok(())
}

fn run(conn: &Connection, sql: &str, params: impl rusqlite::Params) -> rusqlite::Result<()> {
    conn.prepare_cached(sql)?.execute(params)?;
    Ok(())
}

fn keep(conn: &Connection, seq: i64, unit: &UnitCode, visits: &[KeptVisit]) -> rusqlite::Result<()> {
    run(conn, "DELETE FROM kept_work WHERE unit = ?", params![unit.as_str()])?;
    for visit in visits {
        for work in &visit.work {
            run(
                conn,
                "INSERT OR REPLACE INTO kept_work VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                params![
                    unit.as_str(),
                    work.part.as_ref().map_or("", PartCode::as_str),
                    work.rule.as_str(),
                    visit.on.to_string(),
                    visit.by.as_str(),
                    work.by.as_str(),
                    text_of(work.due_on.as_ref()),
                    seq
                ],
            )?;
        }
    }
    Ok(())
}
