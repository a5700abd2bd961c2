//! Whether a thing can be as a change states it: depots, units, parts, people, gauges, calendars.
//!
//! Owns: order of dates, known specifications, and recognising what is recorded already. Refuses: applying; it only looks.

use super::columns::parsed_if_any;
use super::refusal::Refusal;
use super::rows;
use crate::journal::Change;
use crate::model::{Appliance, Booking, Dated, Day, Depot, PackId, Part, Unit};
use rusqlite::{OptionalExtension, params};

use super::gate::{Admission, Admitted, Gate, figure, not_before, scrapped};

impl Gate<'_> {
    /// Judges a change against everything admitted before it.
    pub(super) fn admit(&self, change: &Change) -> Admitted {
        match change {
            Change::Depot(depot) => self.depot(depot),
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
            Change::VisitsKept { unit, visits } => self.visits_kept(unit, visits),
            // House rules are read, and voids looked into, where they are recorded.
            Change::HouseRules { .. } | Change::Void { .. } => Ok(Admission::New),
        }
    }

    fn depot(&self, depot: &Depot) -> Admitted {
        let record = || format!("depot {}", depot.depot);
        depot.elevation_ft.map_or(Ok(()), |feet| {
            figure(record, "elevation_ft", feet, -2000.0..=30_000.0, "from -2000 to 30000 ft")
        })?;
        self.known_or_new(rows::DEPOT, "depot", depot.depot.as_str(), rows::depot, depot)
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
        figure(record, "btu_h", appliance.btu_h, 1.0..=10_000_000.0, "from 1 to 10000000 Btu/h")?;
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
        match line.person {
            Some(_) => {
                figure(record, "minutes", f64::from(line.minutes), 0.0..=1440.0, "from 0 to 1440 minutes a day")?;
            }
            None => {
                figure(record, "minutes", f64::from(line.minutes), 0.0..=144_000.0, "from 0 to 144000 minutes a day")?;
            }
        }
        let person = line.person.as_ref().map_or("", |person| person.as_str());
        self.same_row(
            "SELECT 1 FROM calendar WHERE depot = ? AND person = ? AND day_or_weekday = ? AND minutes = ?",
            params![line.depot.as_str(), person, line.when.to_string(), line.minutes],
        )
    }

    fn booking(&self, booking: &Booking) -> Admitted {
        self.unit_standing(&booking.unit)?;
        let what = format!("booking {}: back", booking.booking);
        not_before(what, Dated::Day(booking.back_on), "the day it goes out", Dated::Day(booking.out_on))?;
        self.known_or_new(rows::BOOKING, "booking", booking.booking.as_str(), rows::booking, booking)
    }
}
