//! Whether something can have been found or done: marks, checks, tests, events, holds, moves.
//!
//! Owns: their order in time, and which rule is settled by what. Refuses: applying; it only looks.

use super::columns::{parsed, parsed_if_any};
use super::refusal::Refusal;
use super::rows;
use crate::model::{
    BookingCode, Check, Dated, Day, DepotCode, Event, GasTest, GaugeCheck, Hold, Mark, Named, PackId, PartCode,
    PersonCode, Rin, RuleId, Text, UnitCode, nearest,
};
use crate::rules::{FactKind, ItemKind, Pack, Period};
use rusqlite::{OptionalExtension, params};

use super::gate::{Admission, Admitted, Gate, PartStanding, figure, not_before, reason};

impl Gate<'_> {
    pub(super) fn mark(&self, mark: &Mark) -> Admitted {
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
            params![mark.part.as_str(), mark.month.to_string(), mark.method.name(), mark.rin.as_ref().map(Rin::as_str)],
        )
    }

    /// A mark must be by a method that the rule for its cylinder gives an interval for.
    pub(super) fn known_method(&self, mark: &Mark, part: &PartStanding) -> Admitted<()> {
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

    pub(super) fn gauge_check(&self, check: &GaugeCheck) -> Admitted {
        self.exists("gauge", "SELECT 1 FROM gauges WHERE gauge = ?", "SELECT gauge FROM gauges", check.gauge.as_str())?;
        check.by.as_ref().map_or(Ok(()), |by| self.person_exists(by))?;
        self.not_future(&|| format!("gauge {}: check", check.gauge), Dated::Day(check.on))?;
        self.same_row(
            "SELECT 1 FROM gauge_checks WHERE gauge = ? AND on_day = ? AND by_person IS ? AND reading = ? AND reference = ?",
            params![
                check.gauge.as_str(),
                check.on.to_string(),
                check.by.as_ref().map(PersonCode::as_str),
                check.reading.as_str(),
                check.reference.as_str()
            ],
        )
    }

    pub(super) fn gas_test(&self, test: &GasTest) -> Admitted {
        self.unit_standing(&test.unit)?;
        test.by.as_ref().map_or(Ok(()), |by| self.person_exists(by))?;
        test.gauge.as_ref().map_or(Ok(()), |gauge| self.gauge_exists(gauge))?;
        self.not_future(&|| format!("unit {}: gas test", test.unit), Dated::Day(test.on))?;
        let record = || format!("unit {}: gas test", test.unit);
        for (what, given, range, must) in [
            ("load", test.load_percent, 0.0..=1000.0, "from 0 to 1000 percent"),
            ("minutes", test.minutes, 0.0..=10_080.0, "from 0 to 10080 minutes"),
            ("air_f", test.air_f, -100.0..=200.0, "from -100 to 200 F"),
            ("air_after_f", test.air_after_f, -100.0..=200.0, "from -100 to 200 F"),
            ("elevation_ft", test.elevation_ft, -2000.0..=30_000.0, "from -2000 to 30000 ft"),
        ] {
            given.map_or(Ok(()), |given| figure(record, what, given, range, must))?;
        }
        let mut statement = self.prepare(&format!("{} WHERE unit = ? AND on_day = ?", rows::GAS_TEST))?;
        let same_day: Vec<GasTest> = self.done(
            statement
                .query_map(params![test.unit.as_str(), test.on.to_string()], rows::gas_test)
                .and_then(Iterator::collect),
        )?;
        Ok(if same_day.contains(test) { Admission::Known } else { Admission::New })
    }

    pub(super) fn check(&self, check: &Check) -> Admitted {
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
                check.part.as_ref().map(PartCode::as_str),
                check.on.to_string(),
                check.by.as_ref().map(PersonCode::as_str),
                check.rule.as_str(),
                check.result.name(),
                check.note.as_str()
            ],
        )
    }

    pub(super) fn settled_by_check(&self, pack: &Pack, id: &RuleId, kind: ItemKind) -> Admitted<()> {
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

    pub(super) fn event(&self, event: &Event) -> Admitted {
        self.unit_standing(&event.unit)?;
        self.not_future(&|| format!("unit {}: {}", event.unit, event.event), Dated::Day(event.on))?;
        self.same_row(
            "SELECT 1 FROM events WHERE unit = ? AND on_day = ? AND event = ? AND note = ?",
            params![event.unit.as_str(), event.on.to_string(), event.event.name(), event.note.as_str()],
        )
    }

    pub(super) fn hold(&self, hold: &Hold) -> Admitted {
        self.unit_standing(&hold.unit)?;
        reason(|| format!("hold on unit {}", hold.unit), &hold.reason)?;
        if let Some(lifted) = hold.lifted_on {
            let what = format!("hold on unit {}: lifted", hold.unit);
            not_before(what, Dated::Day(lifted), "the day it was placed", Dated::Day(hold.placed_on))?;
            reason(|| format!("lifting the hold on unit {}", hold.unit), &hold.lifted_because)?;
        } else if !hold.lifted_because.is_blank() {
            let (record, over) =
                (format!("hold on unit {}", hold.unit), "has a reason for lifting and no day".to_owned());
            return Err(Refusal::Over { record, over }.into());
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

    pub(super) fn hold_lifted(&self, unit: &UnitCode, hold: u64, on: Day, because: &Text) -> Admitted {
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

    pub(super) fn booking_exists(&self, booking: &BookingCode) -> Admitted {
        self.exists(
            "booking",
            "SELECT 1 FROM bookings WHERE booking = ?",
            "SELECT booking FROM bookings",
            booking.as_str(),
        )?;
        Ok(Admission::New)
    }

    pub(super) fn part_fitted(&self, part: &PartCode, unit: &UnitCode, on: Day) -> Admitted {
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

    pub(super) fn part_pulled(&self, part: &PartCode, on: Day) -> Admitted {
        if self.part_standing(part)?.unit.is_none() {
            return Err(Refusal::Elsewhere { part: part.to_string(), place: "on the shelf already".to_owned() }.into());
        }
        self.not_future(&|| format!("part {part}: pulled"), Dated::Day(on))?;
        Ok(Admission::New)
    }

    pub(super) fn part_scrapped(&self, part: &PartCode, on: Day, because: &Text) -> Admitted {
        self.part_standing(part)?;
        reason(|| format!("scrapping part {part}"), because)?;
        self.not_future(&|| format!("part {part}: scrapped"), Dated::Day(on))?;
        Ok(Admission::New)
    }

    pub(super) fn unit_moved(&self, unit: &UnitCode, depot: &DepotCode, on: Day) -> Admitted {
        self.unit_standing(unit)?;
        self.depot_exists(depot)?;
        self.not_future(&|| format!("unit {unit}: moved"), Dated::Day(on))?;
        self.same_row("SELECT 1 FROM units WHERE unit = ? AND depot = ?", params![unit.as_str(), depot.as_str()])
    }

    pub(super) fn unit_retired(&self, unit: &UnitCode, on: Day, because: &Text) -> Admitted {
        if let Some(retired) = self.unit_standing(unit)?.retired_on {
            return Err(Refusal::Over { record: format!("unit {unit}"), over: format!("was retired {retired}") }.into());
        }
        reason(|| format!("retiring unit {unit}"), because)?;
        self.not_future(&|| format!("unit {unit}: retired"), Dated::Day(on))?;
        Ok(Admission::New)
    }

    pub(super) fn visit(&self, unit: &UnitCode, on: Day, by: &PersonCode) -> Admitted {
        self.unit_standing(unit)?;
        self.person_exists(by)?;
        self.not_future(&|| format!("unit {unit}: visit"), Dated::Day(on))?;
        Ok(Admission::New)
    }
}
