//! The gate: what stands in the tables that a new fact has to agree with.
//!
//! Owns: looking up what exists, and the nearest to what does not. Refuses: judging a change (`admit`, `admit_found`).

use super::columns::{parsed, parsed_if_any};
use super::error::BookError;
use super::file::explained;
use super::refusal::Refusal;
use crate::model::{
    Dated, Day, DepotCode, GaugeCode, Month, PackId, PartCode, PartKind, PersonCode, RuleId, Text, UnitCode, nearest,
};
use crate::rules::{ItemKind, RuleBook};
use rusqlite::{Connection, OptionalExtension, Row};
use std::cell::{Cell, RefCell};
use std::path::Path;

/// What becomes of a fact.
#[derive(Debug, PartialEq)]
pub(super) enum Admission {
    /// It enters.
    New,
    /// It says what is recorded already.
    Known,
}

/// Why a fact does not enter.
#[derive(Debug)]
pub(super) enum Obstacle {
    Refusal(Refusal),
    Book(BookError),
}

impl From<Refusal> for Obstacle {
    fn from(refusal: Refusal) -> Self {
        Self::Refusal(refusal)
    }
}

pub(super) type Admitted<T = Admission> = Result<T, Obstacle>;

/// Codes searched for a near one before a refusal; more would make a wholly wrong file quadratic.
const MOST_NEAREST: u32 = 50;

/// The gate: the tables as they stand inside the transaction, the rules, and today.
pub(super) struct Gate<'a> {
    pub conn: &'a Connection,
    pub path: &'a Path,
    pub rules: &'a RuleBook,
    pub today: Day,
    pub nearest_given: &'a Cell<u32>,
    /// The unit looked at last: parts come unit by unit.
    pub last_unit: &'a RefCell<Option<(UnitCode, UnitStanding)>>,
}

/// A unit as far as the gate needs it.
#[derive(Debug, Clone, Copy)]
pub(super) struct UnitStanding {
    pub pack: PackId,
    pub retired_on: Option<Day>,
}

/// A part as far as the gate needs it.
pub(super) struct PartStanding {
    pub unit: Option<UnitCode>,
    pub kind: PartKind,
    pub spec: String,
    pub made: Option<Dated>,
    pub scrapped_on: Option<Day>,
}

impl Gate<'_> {
    pub(super) fn unit_standing(&self, unit: &UnitCode) -> Admitted<UnitStanding> {
        if let Some((_, standing)) = self.last_unit.borrow().as_ref().filter(|(known, _)| known == unit) {
            return Ok(*standing);
        }
        let mut statement =
            self.prepare("SELECT d.rules, u.retired_on FROM units u JOIN depots d USING (depot) WHERE u.unit = ?")?;
        let found = statement.query_row([unit.as_str()], |row| {
            Ok(UnitStanding { pack: parsed(row, 0)?, retired_on: parsed_if_any(row, 1)? })
        });
        match self.done(found.optional())? {
            Some(standing) => {
                self.last_unit.replace(Some((unit.clone(), standing)));
                Ok(standing)
            }
            None => Err(self.unknown("unit", unit.as_str(), "SELECT unit FROM units")),
        }
    }

    pub(super) fn part_kind(&self, part: &PartCode) -> Admitted<PartKind> {
        Ok(self.part_standing(part)?.kind)
    }

    pub(super) fn part_standing(&self, part: &PartCode) -> Admitted<PartStanding> {
        let mut statement = self.prepare("SELECT unit, kind, spec, made, scrapped_on FROM parts WHERE part = ?")?;
        let found = statement.query_row([part.as_str()], |row| {
            Ok(PartStanding {
                unit: parsed_if_any(row, 0)?,
                kind: parsed(row, 1)?,
                spec: row.get(2)?,
                made: parsed_if_any(row, 3)?,
                scrapped_on: parsed_if_any(row, 4)?,
            })
        });
        match self.done(found.optional())? {
            Some(PartStanding { scrapped_on: Some(on), .. }) => Err(scrapped(part, on).into()),
            Some(standing) => Ok(standing),
            None => Err(self.unknown("part", part.as_str(), "SELECT part FROM parts")),
        }
    }

    /// Parts now on a unit that a rule speaks of.
    pub(super) fn parts_under(&self, unit: &UnitCode, id: &RuleId) -> Admitted<Vec<PartCode>> {
        let pack = self.rules.pack(self.unit_standing(unit)?.pack);
        let Some(rule) = pack.rule(id).filter(|rule| !rule.covers(ItemKind::Unit)) else { return Ok(Vec::new()) };
        let mut statement = self.prepare("SELECT part, kind FROM parts WHERE unit = ? ORDER BY part")?;
        let read = |row: &Row<'_>| Ok((parsed::<PartCode>(row, 0)?, parsed::<PartKind>(row, 1)?));
        let parts: Vec<(PartCode, PartKind)> =
            self.done(statement.query_map([unit.as_str()], read).and_then(Iterator::collect))?;
        let covered: Vec<PartCode> =
            parts.into_iter().filter(|(_, kind)| rule.covers((*kind).into())).map(|(part, _)| part).collect();
        if covered.is_empty() {
            let about = rule.kinds.iter().map(ToString::to_string).collect();
            return Err(Refusal::NothingToCheck { unit: unit.to_string(), rule: id.clone(), about }.into());
        }
        Ok(covered)
    }

    pub(super) fn depot_exists(&self, depot: &DepotCode) -> Admitted<()> {
        self.exists("depot", "SELECT 1 FROM depots WHERE depot = ?", "SELECT depot FROM depots", depot.as_str())
    }

    pub(super) fn person_exists(&self, person: &PersonCode) -> Admitted<()> {
        self.exists("person", "SELECT 1 FROM people WHERE person = ?", "SELECT person FROM people", person.as_str())
    }

    pub(super) fn gauge_exists(&self, gauge: &GaugeCode) -> Admitted<()> {
        self.exists("gauge", "SELECT 1 FROM gauges WHERE gauge = ?", "SELECT gauge FROM gauges", gauge.as_str())
    }

    pub(super) fn exists(&self, what: &'static str, sql: &str, all: &str, code: &str) -> Admitted<()> {
        if self.done(self.prepare(sql)?.exists([code]))? { Ok(()) } else { Err(self.unknown(what, code, all)) }
    }

    pub(super) fn unknown(&self, what: &'static str, code: &str, all: &str) -> Obstacle {
        let given = self.nearest_given.get();
        self.nearest_given.set(given + 1);
        let codes = if given < MOST_NEAREST {
            self.prepare(all).and_then(|mut statement| {
                self.done(
                    statement.query_map([], |row| row.get(0)).and_then(Iterator::collect::<Result<Vec<String>, _>>),
                )
            })
        } else {
            Ok(Vec::new())
        };
        match codes {
            Ok(codes) => Obstacle::Refusal(Refusal::Unknown {
                what,
                code: code.to_owned(),
                nearest: nearest(code, codes.iter().map(String::as_str)).map(str::to_owned),
            }),
            Err(obstacle) => obstacle,
        }
    }

    pub(super) fn not_future(&self, what: &dyn Fn() -> String, date: Dated) -> Admitted<()> {
        if date.first_day() <= self.today {
            return Ok(());
        }
        Err(Refusal::Future { what: what(), date: date.to_string(), today: self.today }.into())
    }

    pub(super) fn known_or_new<T: PartialEq>(
        &self,
        select: &str,
        key: &str,
        code: &str,
        read: fn(&Row<'_>) -> rusqlite::Result<T>,
        given: &T,
    ) -> Admitted {
        let mut statement = self.prepare(&format!("{select} WHERE {key} = ?"))?;
        let kept = self.done(statement.query_row([code], read).optional())?;
        Ok(if kept.as_ref() == Some(given) { Admission::Known } else { Admission::New })
    }

    pub(super) fn same_row(&self, sql: &str, key: impl rusqlite::Params) -> Admitted {
        Ok(if self.done(self.prepare(sql)?.exists(key))? { Admission::Known } else { Admission::New })
    }

    pub(super) fn prepare(&self, sql: &str) -> Admitted<rusqlite::CachedStatement<'_>> {
        self.done(self.conn.prepare_cached(sql))
    }

    pub(super) fn done<T>(&self, result: rusqlite::Result<T>) -> Admitted<T> {
        result.map_err(|source| Obstacle::Book(explained(self.path, source)))
    }
}

pub(super) fn scrapped(part: &PartCode, on: Day) -> Refusal {
    Refusal::Over { record: format!("part {part}"), over: format!("was scrapped {on}") }
}

pub(super) fn reason(record: impl Fn() -> String, text: &Text) -> Result<(), Refusal> {
    if text.is_blank() { Err(Refusal::NoReason { record: record() }) } else { Ok(()) }
}

pub(super) fn figure(
    record: impl Fn() -> String,
    what: &'static str,
    figure: f64,
    range: std::ops::RangeInclusive<f64>,
    must: &'static str,
) -> Result<(), Refusal> {
    if range.contains(&figure) {
        return Ok(());
    }
    Err(Refusal::Figure { record: record(), what, figure: figure.to_string(), must })
}

/// Dates known to the month are compared by month: what was made in a month can be fitted on any day of it.
pub(super) fn not_before(what: String, date: Dated, than_what: &'static str, than: Dated) -> Result<(), Refusal> {
    let before = match (date, than) {
        (Dated::Day(date), Dated::Day(than)) => date < than,
        _ => comparable(date) < comparable(than),
    };
    if !before {
        return Ok(());
    }
    Err(Refusal::Before { what, date: date.to_string(), than_what, than: than.to_string() })
}

fn comparable(date: Dated) -> Month {
    date.month()
}
