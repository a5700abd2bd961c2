//! Whether a fact can be, given what is recorded already.
//!
//! Owns: existence, order of dates, known specifications and methods, and recognising what is recorded already.
//! Refuses: applying; it only looks.

use super::columns::{parsed, parsed_if_any};
use super::error::BookError;
use super::file::explained;
use super::refusal::Refusal;
use super::rows;
use crate::journal::Change;
use crate::model::{
    Appliance, Booking, BookingCode, Check, Dated, Day, DepotCode, Event, GasTest, GaugeCheck, GaugeCode, Hold, Mark,
    Month, Named, PackId, Part, PartCode, PartKind, PersonCode, RuleId, Text, Unit, UnitCode, nearest,
};
use crate::rules::{FactKind, ItemKind, Pack, Period, RuleBook};
use rusqlite::{Connection, OptionalExtension, Row, params};
use std::cell::Cell;
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
}

/// A unit as far as the gate needs it.
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
    /// Judges a change against everything admitted before it.
    pub(super) fn admit(&self, change: &Change) -> Admitted {
        match change {
            Change::Depot(depot) => self.known_or_new(rows::DEPOT, "depot", depot.depot.as_str(), rows::depot, depot),
            Change::Unit(unit) => self.unit(unit),
            Change::Appliance(appliance) => self.appliance(appliance),
            Change::Part(part) => self.part(part),
            Change::Person(person) => {
                self.known_or_new(rows::PERSON, "person", person.person.as_str(), rows::person, person)
            }
            Change::Gauge(gauge) => self.known_or_new(rows::GAUGE, "gauge", gauge.gauge.as_str(), rows::gauge, gauge),
            Change::Calendar(line) => self.calendar(line),
            Change::Mark(mark) => self.mark(mark),
            Change::GaugeCheck(check) => self.gauge_check(check),
            Change::GasTest { test, .. } => self.gas_test(test),
            Change::Check(check) => self.check(check),
            Change::Event(event) => self.event(event),
            Change::Hold(hold) => self.hold(hold),
            Change::HoldLifted { unit, hold, on, because } => self.hold_lifted(unit, *hold, *on, because),
            Change::Booking(booking) => self.booking(booking),
            Change::BookingCancelled { booking } => self.booking_exists(booking),
            Change::PartFitted { part, unit, on, .. } => self.part_fitted(part, unit, *on),
            Change::PartPulled { part, on } => self.part_pulled(part, *on),
            Change::PartScrapped { part, on, because } => self.part_scrapped(part, *on, because),
            Change::UnitMoved { unit, depot, on } => self.unit_moved(unit, depot, *on),
            Change::UnitRetired { unit, on, because } => self.unit_retired(unit, *on, because),
            Change::VisitClosed { unit, on, by, .. } => self.visit(unit, *on, by),
            // House rules are read, and voids looked into, where they are recorded.
            Change::HouseRules { .. } | Change::Void { .. } => Ok(Admission::New),
        }
    }

    fn unit(&self, unit: &Unit) -> Admitted {
        self.depot_exists(&unit.depot)?;
        if let (Some(retired), Some(in_service)) = (unit.retired_on, unit.in_service_on) {
            not_before(
                format!("unit {}: retired", unit.unit),
                Dated::Day(retired),
                "its first day on rent",
                Dated::Day(in_service),
            )?;
        }
        self.known_or_new(rows::UNIT, "unit", unit.unit.as_str(), rows::unit, unit)
    }

    fn appliance(&self, appliance: &Appliance) -> Admitted {
        self.unit_standing(&appliance.unit)?;
        let record = || format!("unit {}: {}", appliance.unit, appliance.appliance);
        figure(record, "btu_h", appliance.btu_h, 1.0..=1_000_000.0, "from 1 to 1000000 Btu/h")?;
        for (what, limit) in
            [("inlet_min_inwc", appliance.inlet_min_inwc), ("inlet_max_inwc", appliance.inlet_max_inwc)]
        {
            limit.map_or(Ok(()), |limit| figure(record, what, limit, 1.0..=100.0, "from 1 to 100 in. w.c."))?;
        }
        if let (Some(min), Some(max)) = (appliance.inlet_min_inwc, appliance.inlet_max_inwc) {
            figure(record, "inlet_max_inwc", max, min..=100.0, "at least inlet_min_inwc")?;
        }
        let mut statement = self.prepare(&format!("{} WHERE unit = ? AND appliance = ?", rows::APPLIANCE))?;
        let key = params![appliance.unit.as_str(), appliance.appliance.as_str()];
        let kept = self.done(statement.query_row(key, rows::appliance).optional())?;
        Ok(if kept.as_ref() == Some(appliance) { Admission::Known } else { Admission::New })
    }

    fn part(&self, part: &Part) -> Admitted {
        let pack = match &part.unit {
            Some(unit) => self.unit_standing(unit)?.pack,
            None => PackId::default(),
        };
        let record = || format!("part {}", part.part);
        if let Some(made) = part.made {
            self.not_future(&|| format!("{}: make date", record()), made)?;
        }
        if let Some(fitted_on) = part.fitted_on {
            self.not_future(&|| format!("{}: fitted", record()), Dated::Day(fitted_on))?;
            if let Some(made) = part.made {
                not_before(format!("{}: fitted", record()), Dated::Day(fitted_on), "its make date", made)?;
            }
        }
        if part.unit.is_some() || !part.spec.is_blank() {
            self.known_spec(pack, part)?;
        }
        let mut statement = self.prepare("SELECT part, unit, kind, position, spec, serial, made, fitted_on, replace_by, note, scrapped_on FROM parts WHERE part = ?")?;
        let kept = self.done(
            statement
                .query_row([part.part.as_str()], |row| Ok((rows::part(row)?, parsed_if_any::<Day>(row, 10)?)))
                .optional(),
        )?;
        match kept {
            Some((_, Some(on))) => Err(scrapped(&part.part, on).into()),
            Some((kept, None)) if kept.kind != part.kind => {
                Err(Refusal::KindChanged { part: part.part.to_string(), recorded: kept.kind, given: part.kind }.into())
            }
            Some((kept, None)) if kept == *part => Ok(Admission::Known),
            _ => Ok(Admission::New),
        }
    }

    /// A specification that every rule over the kind must know, and none does, is a slip; a blank one is undated.
    fn known_spec(&self, pack: PackId, part: &Part) -> Admitted<()> {
        if part.spec.is_blank() {
            return Ok(());
        }
        for rule in self.rules.pack(pack).rules_for(part.kind.into()).filter(|rule| rule.needs_spec()) {
            if rule.case_for(part.spec.as_str()).is_none() {
                return Err(Refusal::UnknownSpec {
                    part: part.part.to_string(),
                    spec: part.spec.to_string(),
                    known: rule.cases.iter().flat_map(|case| &case.specs).map(ToString::to_string).collect(),
                }
                .into());
            }
        }
        Ok(())
    }

    fn calendar(&self, line: &crate::model::CalendarLine) -> Admitted {
        self.depot_exists(&line.depot)?;
        line.person.as_ref().map_or(Ok(()), |person| self.person_exists(person))?;
        let record = || format!("calendar of depot {}", line.depot);
        figure(record, "minutes", f64::from(line.minutes), 0.0..=1440.0, "from 0 to 1440 minutes a day")?;
        let person = line.person.as_ref().map_or("", |person| person.as_str());
        self.same_row(
            "SELECT 1 FROM calendar WHERE depot = ? AND person = ? AND day_or_weekday = ? AND minutes = ?",
            params![line.depot.as_str(), person, line.when.to_string(), line.minutes],
        )
    }

    fn mark(&self, mark: &Mark) -> Admitted {
        let part = self.part_standing(&mark.part)?;
        if !part.kind.takes_marks() {
            return Err(Refusal::NoMarks { part: mark.part.to_string(), kind: part.kind }.into());
        }
        self.not_future(&|| format!("part {}: mark", mark.part), Dated::Month(mark.month))?;
        if let Some(made) = part.made.map(Dated::month).filter(|made| mark.month < *made) {
            return Err(Refusal::MarkBeforeMade { part: mark.part.to_string(), month: mark.month, made }.into());
        }
        self.known_method(mark, &part)?;
        self.same_row(
            "SELECT 1 FROM marks WHERE part = ? AND month = ? AND method = ? AND rin IS ?",
            params![
                mark.part.as_str(),
                mark.month.to_string(),
                mark.method.name(),
                mark.rin.as_ref().map(|rin| rin.as_str())
            ],
        )
    }

    /// A mark must be by a method that the rule for its cylinder gives an interval for.
    fn known_method(&self, mark: &Mark, part: &PartStanding) -> Admitted<()> {
        let pack = match &part.unit {
            Some(unit) => self.unit_standing(unit)?.pack,
            None => PackId::default(),
        };
        for rule in self.rules.pack(pack).rules_for(part.kind.into()) {
            let Some(Period::Intervals { after, .. }) = rule.case_for(&part.spec).map(|case| &case.period) else {
                continue;
            };
            let methods: Vec<String> =
                after.keys().filter(|kind| **kind != FactKind::Pass).map(ToString::to_string).collect();
            if !methods.is_empty() && !after.contains_key(&mark.method.into()) {
                return Err(Refusal::UnknownMethod {
                    part: mark.part.to_string(),
                    method: mark.method.to_string(),
                    spec: part.spec.clone(),
                    known: methods,
                }
                .into());
            }
        }
        Ok(())
    }

    fn gauge_check(&self, check: &GaugeCheck) -> Admitted {
        self.exists("gauge", "SELECT 1 FROM gauges WHERE gauge = ?", "SELECT gauge FROM gauges", check.gauge.as_str())?;
        check.by.as_ref().map_or(Ok(()), |by| self.person_exists(by))?;
        self.not_future(&|| format!("gauge {}: check", check.gauge), Dated::Day(check.on))?;
        self.same_row(
            "SELECT 1 FROM gauge_checks WHERE gauge = ? AND on_day = ? AND by_person IS ? AND reading = ? AND reference = ?",
            params![
                check.gauge.as_str(),
                check.on.to_string(),
                check.by.as_ref().map(|by| by.as_str()),
                check.reading.as_str(),
                check.reference.as_str()
            ],
        )
    }

    fn gas_test(&self, test: &GasTest) -> Admitted {
        self.unit_standing(&test.unit)?;
        test.by.as_ref().map_or(Ok(()), |by| self.person_exists(by))?;
        test.gauge.as_ref().map_or(Ok(()), |gauge| self.gauge_exists(gauge))?;
        self.not_future(&|| format!("unit {}: gas test", test.unit), Dated::Day(test.on))?;
        let mut statement = self.prepare(&format!("{} WHERE unit = ? AND on_day = ?", rows::GAS_TEST))?;
        let same_day: Vec<GasTest> = self.done(
            statement
                .query_map(params![test.unit.as_str(), test.on.to_string()], rows::gas_test)
                .and_then(Iterator::collect),
        )?;
        Ok(if same_day.contains(test) { Admission::Known } else { Admission::New })
    }

    fn check(&self, check: &Check) -> Admitted {
        let pack = self.unit_standing(&check.unit)?.pack;
        check.by.as_ref().map_or(Ok(()), |by| self.person_exists(by))?;
        self.not_future(&|| format!("unit {}: check", check.unit), Dated::Day(check.on))?;
        let kind = match &check.part {
            Some(part) => self.part_standing(part)?.kind.into(),
            None => ItemKind::Unit,
        };
        self.settled_by_check(self.rules.pack(pack), &check.rule, kind)?;
        self.same_row(
            "SELECT 1 FROM checks WHERE unit = ? AND part IS ? AND on_day = ? AND by_person IS ? AND rule = ?
             AND result = ? AND note = ?",
            params![
                check.unit.as_str(),
                check.part.as_ref().map(|part| part.as_str()),
                check.on.to_string(),
                check.by.as_ref().map(|by| by.as_str()),
                check.rule.as_str(),
                check.result.name(),
                check.note.as_str()
            ],
        )
    }

    fn settled_by_check(&self, pack: &Pack, id: &RuleId, kind: ItemKind) -> Admitted<()> {
        let Some(rule) = pack.rule(id) else {
            let near = nearest(id.as_str(), pack.rules.iter().map(|rule| rule.id.as_str()));
            let nearest = near.map(str::to_owned);
            return Err(Refusal::UnknownRule { rule: id.clone(), pack: pack.id.to_string(), nearest }.into());
        };
        if *id == RuleId::gas_test() {
            let instead = "record the test's readings";
            return Err(Refusal::NotByCheck { rule: id.clone(), instead }.into());
        }
        if !rule.covers(kind) {
            let about = rule.kinds.iter().map(ToString::to_string).collect();
            return Err(Refusal::NotAbout { rule: id.clone(), kind, about }.into());
        }
        let by_pass = rule
            .cases
            .iter()
            .any(|case| matches!(&case.period, Period::Intervals { after, .. } if after.contains_key(&FactKind::Pass)));
        if by_pass {
            return Ok(());
        }
        let by_mark =
            rule.cases.iter().any(|case| matches!(&case.period, Period::Intervals { after, .. } if !after.is_empty()));
        let instead = if by_mark { "record the mark on its collar" } else { "record the part that replaces it" };
        Err(Refusal::NotByCheck { rule: id.clone(), instead }.into())
    }

    fn event(&self, event: &Event) -> Admitted {
        self.unit_standing(&event.unit)?;
        self.not_future(&|| format!("unit {}: {}", event.unit, event.event), Dated::Day(event.on))?;
        self.same_row(
            "SELECT 1 FROM events WHERE unit = ? AND on_day = ? AND event = ? AND note = ?",
            params![event.unit.as_str(), event.on.to_string(), event.event.name(), event.note.as_str()],
        )
    }

    fn hold(&self, hold: &Hold) -> Admitted {
        self.unit_standing(&hold.unit)?;
        reason(|| format!("hold on unit {}", hold.unit), &hold.reason)?;
        if let Some(lifted) = hold.lifted_on {
            let what = format!("hold on unit {}: lifted", hold.unit);
            not_before(what, Dated::Day(lifted), "the day it was placed", Dated::Day(hold.placed_on))?;
            reason(|| format!("lifting the hold on unit {}", hold.unit), &hold.lifted_because)?;
        }
        self.same_row(
            "SELECT 1 FROM holds WHERE unit = ? AND placed_on = ? AND reason = ? AND lifted_on IS ? AND lifted_because = ?",
            params![
                hold.unit.as_str(),
                hold.placed_on.to_string(),
                hold.reason.as_str(),
                hold.lifted_on.map(|day| day.to_string()),
                hold.lifted_because.as_str()
            ],
        )
    }

    fn hold_lifted(&self, unit: &UnitCode, hold: u64, on: Day, because: &Text) -> Admitted {
        self.unit_standing(unit)?;
        reason(|| format!("lifting hold {hold}"), because)?;
        let mut statement = self.prepare("SELECT placed_on, lifted_on FROM holds WHERE seq = ? AND unit = ?")?;
        let found = statement.query_row(params![hold.cast_signed(), unit.as_str()], |row| {
            Ok((parsed::<Day>(row, 0)?, parsed_if_any::<Day>(row, 1)?))
        });
        match self.done(found.optional())? {
            None => {
                Err(Refusal::Unknown { what: "hold", code: format!("{hold} on unit {unit}"), nearest: None }.into())
            }
            Some((_, Some(lifted))) => {
                Err(Refusal::Over { record: format!("hold {hold}"), over: format!("was lifted {lifted}") }.into())
            }
            Some((placed, None)) => {
                not_before(
                    format!("hold {hold}: lifted"),
                    Dated::Day(on),
                    "the day it was placed",
                    Dated::Day(placed),
                )?;
                Ok(Admission::New)
            }
        }
    }

    fn booking(&self, booking: &Booking) -> Admitted {
        self.unit_standing(&booking.unit)?;
        let what = format!("booking {}: back", booking.booking);
        not_before(what, Dated::Day(booking.back_on), "the day it goes out", Dated::Day(booking.out_on))?;
        self.known_or_new(rows::BOOKING, "booking", booking.booking.as_str(), rows::booking, booking)
    }

    fn booking_exists(&self, booking: &BookingCode) -> Admitted {
        self.exists(
            "booking",
            "SELECT 1 FROM bookings WHERE booking = ?",
            "SELECT booking FROM bookings",
            booking.as_str(),
        )?;
        Ok(Admission::New)
    }

    fn part_fitted(&self, part: &PartCode, unit: &UnitCode, on: Day) -> Admitted {
        let standing = self.part_standing(part)?;
        let retired = self.unit_standing(unit)?.retired_on;
        if let Some(retired) = retired {
            return Err(Refusal::Over { record: format!("unit {unit}"), over: format!("was retired {retired}") }.into());
        }
        if let Some(where_now) = standing.unit {
            return Err(Refusal::Elsewhere {
                part: part.to_string(),
                place: format!("on unit {where_now}; pull it first"),
            }
            .into());
        }
        self.not_future(&|| format!("part {part}: fitted"), Dated::Day(on))?;
        if let Some(made) = standing.made {
            not_before(format!("part {part}: fitted"), Dated::Day(on), "its make date", made)?;
        }
        Ok(Admission::New)
    }

    fn part_pulled(&self, part: &PartCode, on: Day) -> Admitted {
        if self.part_standing(part)?.unit.is_none() {
            return Err(Refusal::Elsewhere { part: part.to_string(), place: "on the shelf already".to_owned() }.into());
        }
        self.not_future(&|| format!("part {part}: pulled"), Dated::Day(on))?;
        Ok(Admission::New)
    }

    fn part_scrapped(&self, part: &PartCode, on: Day, because: &Text) -> Admitted {
        self.part_standing(part)?;
        reason(|| format!("scrapping part {part}"), because)?;
        self.not_future(&|| format!("part {part}: scrapped"), Dated::Day(on))?;
        Ok(Admission::New)
    }

    fn unit_moved(&self, unit: &UnitCode, depot: &DepotCode, on: Day) -> Admitted {
        self.unit_standing(unit)?;
        self.depot_exists(depot)?;
        self.not_future(&|| format!("unit {unit}: moved"), Dated::Day(on))?;
        self.same_row("SELECT 1 FROM units WHERE unit = ? AND depot = ?", params![unit.as_str(), depot.as_str()])
    }

    fn unit_retired(&self, unit: &UnitCode, on: Day, because: &Text) -> Admitted {
        if let Some(retired) = self.unit_standing(unit)?.retired_on {
            return Err(Refusal::Over { record: format!("unit {unit}"), over: format!("was retired {retired}") }.into());
        }
        reason(|| format!("retiring unit {unit}"), because)?;
        self.not_future(&|| format!("unit {unit}: retired"), Dated::Day(on))?;
        Ok(Admission::New)
    }

    fn visit(&self, unit: &UnitCode, on: Day, by: &PersonCode) -> Admitted {
        self.unit_standing(unit)?;
        self.person_exists(by)?;
        self.not_future(&|| format!("unit {unit}: visit"), Dated::Day(on))?;
        Ok(Admission::New)
    }

    pub(super) fn unit_standing(&self, unit: &UnitCode) -> Admitted<UnitStanding> {
        let mut statement =
            self.prepare("SELECT d.rules, u.retired_on FROM units u JOIN depots d USING (depot) WHERE u.unit = ?")?;
        let found = statement.query_row([unit.as_str()], |row| {
            Ok(UnitStanding { pack: parsed(row, 0)?, retired_on: parsed_if_any(row, 1)? })
        });
        match self.done(found.optional())? {
            Some(standing) => Ok(standing),
            None => Err(self.unknown("unit", unit.as_str(), "SELECT unit FROM units")),
        }
    }

    pub(super) fn part_kind(&self, part: &PartCode) -> Admitted<PartKind> {
        Ok(self.part_standing(part)?.kind)
    }

    fn part_standing(&self, part: &PartCode) -> Admitted<PartStanding> {
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

    fn depot_exists(&self, depot: &DepotCode) -> Admitted<()> {
        self.exists("depot", "SELECT 1 FROM depots WHERE depot = ?", "SELECT depot FROM depots", depot.as_str())
    }

    fn person_exists(&self, person: &PersonCode) -> Admitted<()> {
        self.exists("person", "SELECT 1 FROM people WHERE person = ?", "SELECT person FROM people", person.as_str())
    }

    fn gauge_exists(&self, gauge: &GaugeCode) -> Admitted<()> {
        self.exists("gauge", "SELECT 1 FROM gauges WHERE gauge = ?", "SELECT gauge FROM gauges", gauge.as_str())
    }

    fn exists(&self, what: &'static str, sql: &str, all: &str, code: &str) -> Admitted<()> {
        if self.done(self.prepare(sql)?.exists([code]))? { Ok(()) } else { Err(self.unknown(what, code, all)) }
    }

    fn unknown(&self, what: &'static str, code: &str, all: &str) -> Obstacle {
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

    fn not_future(&self, what: &dyn Fn() -> String, date: Dated) -> Admitted<()> {
        if date.first_day() <= self.today {
            return Ok(());
        }
        Err(Refusal::Future { what: what(), date: date.to_string(), today: self.today }.into())
    }

    fn known_or_new<T: PartialEq>(
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

    fn same_row(&self, sql: &str, key: impl rusqlite::Params) -> Admitted {
        Ok(if self.done(self.prepare(sql)?.exists(key))? { Admission::Known } else { Admission::New })
    }

    fn prepare(&self, sql: &str) -> Admitted<rusqlite::CachedStatement<'_>> {
        self.done(self.conn.prepare_cached(sql))
    }

    fn done<T>(&self, result: rusqlite::Result<T>) -> Admitted<T> {
        result.map_err(|source| Obstacle::Book(explained(self.path, source)))
    }
}

fn scrapped(part: &PartCode, on: Day) -> Refusal {
    Refusal::Over { record: format!("part {part}"), over: format!("was scrapped {on}") }
}

fn reason(record: impl Fn() -> String, text: &Text) -> Result<(), Refusal> {
    if text.is_blank() { Err(Refusal::NoReason { record: record() }) } else { Ok(()) }
}

fn figure(
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
fn not_before(what: String, date: Dated, than_what: &'static str, than: Dated) -> Result<(), Refusal> {
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
