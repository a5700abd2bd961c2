//! Everything on record about the fleet, read back as model types.
//!
//! Owns: look-ups by code, each answering an unknown code with the nearest. Refuses: due dates (`due_list`).

use super::columns::{parsed, parsed_if_any};
use super::{Book, BookError, rows};
use crate::model::{
    Appliance, Booking, CalendarLine, Check, Day, Depot, DepotCode, Event, Fleet, GasTest, Gauge, GaugeCheck,
    GaugeCode, Hold, Mark, Part, PartCode, Person, PersonCode, Unit, UnitCode, Verdict, nearest,
};
use rusqlite::{OptionalExtension, Params, Row};

/// A hold and the entry that placed it.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedHold {
    /// Journal entry.
    pub seq: u64,
    /// The hold.
    pub hold: Hold,
}

/// A gas test as judged when it was recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordedTest {
    /// Journal entry.
    pub seq: u64,
    /// Readings.
    pub test: GasTest,
    /// Verdict.
    pub verdict: Verdict,
    /// Why, one sentence each.
    pub because: Vec<String>,
}

fn recorded_test(row: &Row<'_>) -> rusqlite::Result<RecordedTest> {
    let because: String = row.get(19)?;
    Ok(RecordedTest {
        test: rows::gas_test(row)?,
        verdict: parsed(row, 18)?,
        because: because.lines().map(str::to_owned).collect(),
        seq: row.get(20)?,
    })
}

fn placed_hold(row: &Row<'_>) -> rusqlite::Result<PlacedHold> {
    Ok(PlacedHold { hold: rows::hold(row)?, seq: row.get(5)? })
}

impl Book {
    /// Everything a fleet folder holds, each list in the order of its keys and then of its recording. Scrapped parts,
    /// and the marks on them, are left out: they are gone.
    ///
    /// # Errors
    /// What the file reports.
    pub fn fleet(&self) -> Result<Fleet, BookError> {
        let by_seq = |select: &str| format!("{select} ORDER BY seq");
        Ok(Fleet {
            depots: self.all(rows::DEPOT, [], rows::depot)?,
            units: self.all(rows::UNIT, [], rows::unit)?,
            appliances: self.all(rows::APPLIANCE, [], rows::appliance)?,
            parts: self.all(&format!("{} WHERE scrapped_on IS NULL", rows::PART), [], rows::part)?,
            marks: self.all(
                &by_seq(&format!("{} WHERE part IN (SELECT part FROM parts WHERE scrapped_on IS NULL)", rows::MARK)),
                [],
                rows::mark,
            )?,
            people: self.all(rows::PERSON, [], rows::person)?,
            gauges: self.all(rows::GAUGE, [], rows::gauge)?,
            gauge_checks: self.all(&by_seq(rows::GAUGE_CHECK), [], rows::gauge_check)?,
            gas_tests: self.all(&by_seq(rows::GAS_TEST), [], rows::gas_test)?,
            checks: self.all(
                &by_seq(&format!(
                    "{} WHERE part IS NULL OR part IN (SELECT part FROM parts WHERE scrapped_on IS NULL)",
                    rows::CHECK
                )),
                [],
                rows::check,
            )?,
            bookings: self.all(rows::BOOKING, [], rows::booking)?,
            holds: self.all(&by_seq(rows::HOLD), [], rows::hold)?,
            events: self.all(&by_seq(rows::EVENT), [], rows::event)?,
            calendar: self.all(rows::CALENDAR, [], rows::calendar_line)?,
        })
    }

    /// All depots.
    ///
    /// # Errors
    /// What the file reports.
    pub fn depots(&self) -> Result<Vec<Depot>, BookError> {
        self.all(rows::DEPOT, [], rows::depot)
    }

    /// One depot, if there is such.
    ///
    /// # Errors
    /// What the file reports.
    pub fn depot(&self, depot: &DepotCode) -> Result<Option<Depot>, BookError> {
        self.one(&format!("{} WHERE depot = ?", rows::DEPOT), [depot.as_str()], rows::depot)
    }

    /// Units of one depot, or all, retired ones last seen too.
    ///
    /// # Errors
    /// What the file reports.
    pub fn units(&self, depot: Option<&DepotCode>) -> Result<Vec<Unit>, BookError> {
        let sql = format!("{} WHERE ?1 IS NULL OR depot = ?1 ORDER BY unit", rows::UNIT);
        self.all(&sql, [depot.map(DepotCode::as_str)], rows::unit)
    }

    /// One unit, if there is such.
    ///
    /// # Errors
    /// What the file reports.
    pub fn unit(&self, unit: &UnitCode) -> Result<Option<Unit>, BookError> {
        self.one(&format!("{} WHERE unit = ?", rows::UNIT), [unit.as_str()], rows::unit)
    }

    /// Appliances of a unit.
    ///
    /// # Errors
    /// What the file reports.
    pub fn appliances(&self, unit: &UnitCode) -> Result<Vec<Appliance>, BookError> {
        self.all(&format!("{} WHERE unit = ?", rows::APPLIANCE), [unit.as_str()], rows::appliance)
    }

    /// Parts on a unit.
    ///
    /// # Errors
    /// What the file reports.
    pub fn parts_on(&self, unit: &UnitCode) -> Result<Vec<Part>, BookError> {
        let sql = format!("{} WHERE unit = ? ORDER BY kind, position, part", rows::PART);
        self.all(&sql, [unit.as_str()], rows::part)
    }

    /// Parts on the shelf.
    ///
    /// # Errors
    /// What the file reports.
    pub fn parts_on_shelf(&self) -> Result<Vec<Part>, BookError> {
        let sql = format!("{} WHERE unit IS NULL AND scrapped_on IS NULL ORDER BY kind, part", rows::PART);
        self.all(&sql, [], rows::part)
    }

    /// All parts that are not scrapped.
    ///
    /// # Errors
    /// What the file reports.
    pub fn parts(&self) -> Result<Vec<Part>, BookError> {
        self.all(&format!("{} WHERE scrapped_on IS NULL ORDER BY part", rows::PART), [], rows::part)
    }

    /// One part, scrapped or not, and the day it was scrapped.
    ///
    /// # Errors
    /// What the file reports.
    pub fn part(&self, part: &PartCode) -> Result<Option<(Part, Option<Day>)>, BookError> {
        let sql = "SELECT part, unit, kind, position, spec, serial, made, fitted_on, replace_by, note, scrapped_on
                   FROM parts WHERE part = ?";
        self.one(sql, [part.as_str()], |row| Ok((rows::part(row)?, parsed_if_any(row, 10)?)))
    }

    /// Marks on a part, oldest first.
    ///
    /// # Errors
    /// What the file reports.
    pub fn marks(&self, part: &PartCode) -> Result<Vec<Mark>, BookError> {
        self.all(&format!("{} WHERE part = ? ORDER BY month, seq", rows::MARK), [part.as_str()], rows::mark)
    }

    /// Checks of a part, oldest first.
    ///
    /// # Errors
    /// What the file reports.
    pub fn checks_of_part(&self, part: &PartCode) -> Result<Vec<Check>, BookError> {
        self.all(&format!("{} WHERE part = ? ORDER BY on_day, seq", rows::CHECK), [part.as_str()], rows::check)
    }

    /// Checks of a unit and everything on it, oldest first.
    ///
    /// # Errors
    /// What the file reports.
    pub fn checks_of_unit(&self, unit: &UnitCode) -> Result<Vec<Check>, BookError> {
        self.all(&format!("{} WHERE unit = ? ORDER BY on_day, seq", rows::CHECK), [unit.as_str()], rows::check)
    }

    /// Events of a unit, oldest first.
    ///
    /// # Errors
    /// What the file reports.
    pub fn events(&self, unit: &UnitCode) -> Result<Vec<Event>, BookError> {
        self.all(&format!("{} WHERE unit = ? ORDER BY on_day, seq", rows::EVENT), [unit.as_str()], rows::event)
    }

    /// Gas tests of a unit, oldest first.
    ///
    /// # Errors
    /// What the file reports.
    pub fn gas_tests(&self, unit: &UnitCode) -> Result<Vec<RecordedTest>, BookError> {
        self.all(&format!("{} WHERE unit = ? ORDER BY on_day, seq", rows::GAS_TEST), [unit.as_str()], recorded_test)
    }

    /// Last conclusive passing gas test of each unit made with a gauge after `since`, for when the gauge proves wrong.
    ///
    /// # Errors
    /// What the file reports.
    pub fn gas_tests_with(&self, gauge: &GaugeCode, since: Option<Day>) -> Result<Vec<RecordedTest>, BookError> {
        let sql = format!(
            "{} WHERE gauge = ?1 AND (?2 IS NULL OR on_day >= ?2) AND verdict = 'pass' ORDER BY unit, on_day, seq",
            rows::GAS_TEST
        );
        self.all(&sql, [Some(gauge.to_string()), since.map(|day| day.to_string())], recorded_test)
    }

    /// Everybody.
    ///
    /// # Errors
    /// What the file reports.
    pub fn people(&self) -> Result<Vec<Person>, BookError> {
        self.all(rows::PERSON, [], rows::person)
    }

    /// One person, if there is such.
    ///
    /// # Errors
    /// What the file reports.
    pub fn person(&self, person: &PersonCode) -> Result<Option<Person>, BookError> {
        self.one(&format!("{} WHERE person = ?", rows::PERSON), [person.as_str()], rows::person)
    }

    /// All gauges.
    ///
    /// # Errors
    /// What the file reports.
    pub fn gauges(&self) -> Result<Vec<Gauge>, BookError> {
        self.all(rows::GAUGE, [], rows::gauge)
    }

    /// One gauge, if there is such.
    ///
    /// # Errors
    /// What the file reports.
    pub fn gauge(&self, gauge: &GaugeCode) -> Result<Option<Gauge>, BookError> {
        self.one(&format!("{} WHERE gauge = ?", rows::GAUGE), [gauge.as_str()], rows::gauge)
    }

    /// Checks of a gauge, oldest first.
    ///
    /// # Errors
    /// What the file reports.
    pub fn gauge_checks(&self, gauge: &GaugeCode) -> Result<Vec<GaugeCheck>, BookError> {
        let sql = format!("{} WHERE gauge = ? ORDER BY on_day, seq", rows::GAUGE_CHECK);
        self.all(&sql, [gauge.as_str()], rows::gauge_check)
    }

    /// Bookings of a unit, or all, by the day they go out.
    ///
    /// # Errors
    /// What the file reports.
    pub fn bookings(&self, unit: Option<&UnitCode>) -> Result<Vec<Booking>, BookError> {
        let sql = format!("{} WHERE ?1 IS NULL OR unit = ?1 ORDER BY out_on, booking", rows::BOOKING);
        self.all(&sql, [unit.map(UnitCode::as_str)], rows::booking)
    }

    /// Holds placed on a unit, or on all, lifted ones too, in the order they were placed.
    ///
    /// # Errors
    /// What the file reports.
    pub fn holds(&self, unit: Option<&UnitCode>) -> Result<Vec<PlacedHold>, BookError> {
        let sql = format!("{} WHERE ?1 IS NULL OR unit = ?1 ORDER BY seq", rows::HOLD);
        self.all(&sql, [unit.map(UnitCode::as_str)], placed_hold)
    }

    /// Working minutes, as stated.
    ///
    /// # Errors
    /// What the file reports.
    pub fn calendar(&self) -> Result<Vec<CalendarLine>, BookError> {
        self.all(rows::CALENDAR, [], rows::calendar_line)
    }

    /// The code nearest to one that is in no such table.
    ///
    /// # Errors
    /// What the file reports.
    pub fn nearest_code(&self, what: Codes, code: &str) -> Result<Option<String>, BookError> {
        let known: Vec<String> = self.all(what.select(), [], |row| row.get(0))?;
        Ok(nearest(code, known.iter().map(String::as_str)).map(str::to_owned))
    }

    pub(super) fn all<T>(
        &self,
        sql: &str,
        params: impl Params,
        read: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
    ) -> Result<Vec<T>, BookError> {
        self.conn
            .prepare_cached(sql)
            .and_then(|mut statement| statement.query_map(params, read)?.collect())
            .map_err(|source| self.explained(source))
    }

    fn one<T>(
        &self,
        sql: &str,
        params: impl Params,
        read: impl FnOnce(&Row<'_>) -> rusqlite::Result<T>,
    ) -> Result<Option<T>, BookError> {
        self.conn
            .prepare_cached(sql)
            .and_then(|mut statement| statement.query_row(params, read).optional())
            .map_err(|source| self.explained(source))
    }
}

/// Things that have codes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Codes {
    /// Depots.
    Depots,
    /// Units.
    Units,
    /// Parts that are not scrapped.
    Parts,
    /// People.
    People,
    /// Gauges.
    Gauges,
    /// Bookings.
    Bookings,
}

impl Codes {
    fn select(self) -> &'static str {
        match self {
            Self::Depots => "SELECT depot FROM depots",
            Self::Units => "SELECT unit FROM units",
            Self::Parts => "SELECT part FROM parts WHERE scrapped_on IS NULL",
            Self::People => "SELECT person FROM people",
            Self::Gauges => "SELECT gauge FROM gauges",
            Self::Bookings => "SELECT booking FROM bookings",
        }
    }
}
