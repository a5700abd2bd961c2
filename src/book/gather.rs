//! What the tables know of one thing, as the due engine wants it.
//!
//! Owns: reading the facts of a unit, part, gauge or person. Refuses: judging them (`due`), and writing.

use super::columns::{parsed, parsed_if_any};
use super::rows;
use crate::due::{EventFact, MarkFact, Outcome, Subject};
use crate::model::{
    Dated, Day, DepotCode, Gauge, GaugeCheck, GaugeCode, PackId, PartCode, PartKind, PersonCode, RuleId, UnitCode,
};
use crate::rules::{ItemKind, gauge_spec};
use rusqlite::{Connection, OptionalExtension, Result, Row, params};

/// One thing with its facts.
pub(super) struct Facts {
    /// `unit:CODE`, `part:CODE`, `gauge:CODE` or `person:CODE`.
    pub key: String,
    /// The pack of its depot; none where it belongs to no depot.
    pub pack: Option<PackId>,
    depot: Option<DepotCode>,
    unit: Option<UnitCode>,
    /// Code of the part, gauge or person.
    part: Option<PartCode>,
    kind: ItemKind,
    position: String,
    spec: String,
    made: Option<Dated>,
    fitted_on: Option<Day>,
    in_service_on: Option<Day>,
    replace_by: Option<Dated>,
    credential_until: Option<Day>,
    marks: Vec<MarkFact>,
    outcomes: Vec<Outcome>,
    events: Vec<EventFact>,
}

impl Facts {
    /// A thing of which nothing is known yet.
    fn of(key: String, kind: ItemKind) -> Self {
        Self {
            key,
            pack: None,
            depot: None,
            unit: None,
            part: None,
            kind,
            position: String::new(),
            spec: String::new(),
            made: None,
            fitted_on: None,
            in_service_on: None,
            replace_by: None,
            credential_until: None,
            marks: Vec::new(),
            outcomes: Vec::new(),
            events: Vec::new(),
        }
    }

    /// As the due engine takes it.
    pub(super) fn subject(&self) -> Subject<'_> {
        Subject {
            depot: self.depot.as_ref(),
            unit: self.unit.as_ref(),
            part: self.part.as_ref(),
            kind: self.kind,
            position: &self.position,
            spec: &self.spec,
            made: self.made,
            fitted_on: self.fitted_on,
            in_service_on: self.in_service_on,
            replace_by: self.replace_by,
            credential_until: self.credential_until,
            marks: &self.marks,
            outcomes: &self.outcomes,
            events: &self.events,
        }
    }
}

/// The tables facts are read from.
#[derive(Clone, Copy)]
pub(super) struct Gathering<'a> {
    conn: &'a Connection,
    // Tables that hold nothing are not asked about every single thing.
    any_tests: bool,
    any_checks: bool,
    any_marks: bool,
    any_events: bool,
}

/// Units, to be followed by a clause and read by [`Gathering::unit`].
pub(super) const UNIT: &str = "SELECT u.unit, u.depot, d.rules, u.in_service_on, u.retired_on IS NOT NULL
    FROM units u JOIN depots d USING (depot)";

/// Parts, to be followed by a clause and read by [`Gathering::part`].
pub(super) const PART: &str = "SELECT p.part, p.unit, u.depot, d.rules,
    p.scrapped_on IS NOT NULL OR u.retired_on IS NOT NULL,
    p.kind, p.position, p.spec, p.made, p.fitted_on, u.in_service_on, p.replace_by
    FROM parts p LEFT JOIN units u USING (unit) LEFT JOIN depots d USING (depot)";

impl<'a> Gathering<'a> {
    pub(super) fn from(conn: &'a Connection) -> Result<Self> {
        let any = |table: &str| conn.query_row(&format!("SELECT EXISTS (SELECT 1 FROM {table})"), [], |row| row.get(0));
        Ok(Self {
            conn,
            any_tests: any("gas_tests")?,
            any_checks: any("checks")?,
            any_marks: any("marks")?,
            any_events: any("events")?,
        })
    }

    /// The unit in a row of [`UNIT`]; none where it is retired and nothing of it can be due.
    pub(super) fn unit(&self, row: &Row<'_>) -> Result<Option<Facts>> {
        if row.get(4)? {
            return Ok(None);
        }
        let unit: UnitCode = parsed(row, 0)?;
        let mut outcomes = self.gas_tests(&unit)?;
        outcomes.extend(self.checks(
            "SELECT rule, on_day, seq, result = 'pass' FROM checks WHERE unit = ? AND part IS NULL",
            unit.as_str(),
        )?);
        Ok(Some(Facts {
            pack: Some(parsed(row, 2)?),
            depot: Some(parsed(row, 1)?),
            in_service_on: parsed_if_any(row, 3)?,
            outcomes,
            events: self.events(&unit)?,
            unit: Some(unit.clone()),
            ..Facts::of(key("unit", unit.as_str()), ItemKind::Unit)
        }))
    }

    /// The part in a row of [`PART`]; none where it is scrapped or its unit retired.
    pub(super) fn part(&self, row: &Row<'_>) -> Result<Option<Facts>> {
        if row.get(4)? {
            return Ok(None);
        }
        let part: PartCode = parsed(row, 0)?;
        let unit: Option<UnitCode> = parsed_if_any(row, 1)?;
        let kind: PartKind = parsed(row, 5)?;
        let outcomes =
            self.checks("SELECT rule, on_day, seq, result = 'pass' FROM checks WHERE part = ?", part.as_str())?;
        let events = unit.as_ref().map_or(Ok(Vec::new()), |unit| self.events(unit))?;
        Ok(Some(Facts {
            pack: parsed_if_any(row, 3)?,
            depot: parsed_if_any(row, 2)?,
            unit,
            position: row.get(6)?,
            spec: row.get(7)?,
            made: parsed_if_any(row, 8)?,
            fitted_on: parsed_if_any(row, 9)?,
            in_service_on: parsed_if_any(row, 10)?,
            replace_by: parsed_if_any(row, 11)?,
            marks: if kind.takes_marks() { self.marks(&part)? } else { Vec::new() },
            outcomes,
            events,
            part: Some(part.clone()),
            ..Facts::of(key("part", part.as_str()), kind.into())
        }))
    }

    /// A gauge, if there is one of that code.
    pub(super) fn gauge(&self, code: &GaugeCode) -> Result<Option<Facts>> {
        let mut statement = self.conn.prepare_cached(&format!("{} WHERE gauge = ?", rows::GAUGE))?;
        let Some(gauge): Option<Gauge> = statement.query_row([code.as_str()], rows::gauge).optional()? else {
            return Ok(None);
        };
        let mut statement = self.conn.prepare_cached(
            "SELECT gauge, on_day, by_person, reading, reference, seq FROM gauge_checks WHERE gauge = ?",
        )?;
        let outcomes = statement
            .query_map([code.as_str()], |row| {
                let check: GaugeCheck = rows::gauge_check(row)?;
                let passed = check.agrees(&gauge);
                Ok(Outcome { rule: RuleId::gauge_check(), on: check.on, seq: row.get(5)?, passed, doubted_on: None })
            })?
            .collect::<Result<Vec<_>>>()?;
        Ok(Some(Facts {
            part: code.as_str().parse().ok(),
            spec: gauge_spec(gauge.kind).to_owned(),
            outcomes,
            ..Facts::of(key("gauge", code.as_str()), ItemKind::Gauge)
        }))
    }

    /// A person who has skills or a credential.
    pub(super) fn person(&self, code: &PersonCode) -> Result<Option<Facts>> {
        let mut statement = self.conn.prepare_cached("SELECT skills, credential_until FROM people WHERE person = ?")?;
        let found = statement
            .query_row([code.as_str()], |row| Ok((row.get::<_, String>(0)?, parsed_if_any::<Day>(row, 1)?)))
            .optional()?;
        Ok(found.filter(|(skills, until)| !skills.is_empty() || until.is_some()).map(|(skills, until)| Facts {
            part: code.as_str().parse().ok(),
            spec: skills,
            credential_until: until,
            ..Facts::of(key("person", code.as_str()), ItemKind::Person)
        }))
    }

    fn gas_tests(&self, unit: &UnitCode) -> Result<Vec<Outcome>> {
        if !self.any_tests {
            return Ok(Vec::new());
        }
        let mut statement = self.conn.prepare_cached(
            "SELECT on_day, seq, verdict = 'pass', gauge FROM gas_tests WHERE unit = ? AND verdict <> 'inconclusive'",
        )?;
        let mut rows = statement.query([unit.as_str()])?;
        let mut outcomes = Vec::new();
        while let Some(row) = rows.next()? {
            let mut outcome = Outcome {
                rule: RuleId::gas_test(),
                on: parsed(row, 0)?,
                seq: row.get(1)?,
                passed: row.get(2)?,
                doubted_on: None,
            };
            if let Some(gauge) = parsed_if_any::<GaugeCode>(row, 3)?.filter(|_| outcome.passed) {
                outcome.doubted_on = self.found_out(&gauge, &outcome)?;
            }
            outcomes.push(outcome);
        }
        Ok(outcomes)
    }

    /// The day of a gauge's next check after a test, if it did not agree then.
    fn found_out(&self, code: &GaugeCode, test: &Outcome) -> Result<Option<Day>> {
        let mut statement = self.conn.prepare_cached(&format!(
            "{} WHERE gauge = ?1 AND (on_day > ?2 OR on_day = ?2 AND seq > ?3) ORDER BY on_day, seq LIMIT 1",
            rows::GAUGE_CHECK
        ))?;
        let key = params![code.as_str(), test.on.to_string(), test.seq.cast_signed()];
        let Some(next): Option<GaugeCheck> = statement.query_row(key, rows::gauge_check).optional()? else {
            return Ok(None);
        };
        let mut statement = self.conn.prepare_cached(&format!("{} WHERE gauge = ?", rows::GAUGE))?;
        let gauge: Gauge = statement.query_row([code.as_str()], rows::gauge)?;
        Ok((!next.agrees(&gauge)).then_some(next.on))
    }

    fn checks(&self, sql: &str, code: &str) -> Result<Vec<Outcome>> {
        if !self.any_checks {
            return Ok(Vec::new());
        }
        let mut statement = self.conn.prepare_cached(sql)?;
        statement
            .query_map([code], |row| {
                Ok(Outcome {
                    rule: parsed(row, 0)?,
                    on: parsed(row, 1)?,
                    seq: row.get(2)?,
                    passed: row.get(3)?,
                    doubted_on: None,
                })
            })?
            .collect()
    }

    fn marks(&self, part: &PartCode) -> Result<Vec<MarkFact>> {
        if !self.any_marks {
            return Ok(Vec::new());
        }
        let mut statement = self.conn.prepare_cached("SELECT month, method, seq FROM marks WHERE part = ?")?;
        statement
            .query_map([part.as_str()], |row| {
                Ok(MarkFact { month: parsed(row, 0)?, method: parsed(row, 1)?, seq: row.get(2)? })
            })?
            .collect()
    }

    fn events(&self, unit: &UnitCode) -> Result<Vec<EventFact>> {
        if !self.any_events {
            return Ok(Vec::new());
        }
        let mut statement = self.conn.prepare_cached("SELECT on_day, event, seq FROM events WHERE unit = ?")?;
        statement
            .query_map([unit.as_str()], |row| {
                Ok(EventFact { on: parsed(row, 0)?, event: parsed(row, 1)?, seq: row.get(2)? })
            })?
            .collect()
    }
}

/// Under which subject due rows are kept.
pub(super) fn key(class: &str, code: &str) -> String {
    [class, ":", code].concat()
}
