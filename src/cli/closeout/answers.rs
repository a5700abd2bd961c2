//! What is known of a visit while it is still being told: by options, by a file, or question by question.
//!
//! Owns: the one way from answers to a visit, so that all three forms record the same. Refuses: guessing at what was not
//! answered.

use super::visit::{Replacement, Visit};
use crate::book::Book;
use crate::cli::complaint::Complaint;
use crate::gastest::load_percent;
use crate::model::{
    Appliance, Check, CheckResult, Day, DropMethod, Elevation, Event, EventKind, GasTest, GaugeCode, PartCode,
    PersonCode, Reading, RuleId, Tap, Temperature, Text, TimedReading, UnitCode, Vent,
};
use crate::show::legible::one_line;

/// Something looked at under a rule.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckAnswer {
    /// The rule.
    pub rule: RuleId,
    /// The part; none for everything on the unit that the rule is about.
    pub part: Option<PartCode>,
    /// What was found.
    pub result: CheckResult,
    /// In which words.
    pub note: Text,
}

/// Something that happened to the unit.
#[derive(Debug, Clone, PartialEq)]
pub struct EventAnswer {
    /// What.
    pub event: EventKind,
    /// In which words.
    pub note: Text,
}

/// A gas test's readings and what stands beside them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TestAnswers {
    /// Gauge used.
    pub gauge: Option<GaugeCode>,
    /// Where it was connected.
    pub tap: Option<Tap>,
    /// Pressure with nothing burning.
    pub lockup: Option<Reading>,
    /// Lock-up read again while watched.
    pub lockup_later: Vec<TimedReading>,
    /// Pressure under load.
    pub flow: Option<Reading>,
    /// Load it was taken at, percent of the unit's connected Btu per hour.
    pub load: Option<f64>,
    /// Appliances burning then, where no load is given.
    pub burning: Vec<Text>,
    /// How the drop was timed.
    pub method: Option<DropMethod>,
    /// Pressure at the start of the timed drop.
    pub drop_start: Option<Reading>,
    /// Pressures read in between.
    pub drop_between: Vec<TimedReading>,
    /// Pressure at its end.
    pub drop_end: Option<Reading>,
    /// Minutes between start and end.
    pub minutes: Option<f64>,
    /// Air temperature at the start.
    pub air: Option<Temperature>,
    /// Air temperature at the end.
    pub air_after: Option<Temperature>,
    /// Height above sea level; none for the depot's.
    pub elevation: Option<Elevation>,
    /// How the regulator's vent was found.
    pub vent: Option<Vent>,
}

/// A visit as far as it is told.
#[derive(Debug, Clone, PartialEq)]
pub struct Answers {
    /// The unit.
    pub unit: UnitCode,
    /// Who did the work.
    pub by: Option<PersonCode>,
    /// When; none for the day it is recorded.
    pub on: Option<Day>,
    /// Anything else.
    pub note: Text,
    /// Stamps as read.
    pub marks: Vec<(PartCode, String)>,
    /// Parts replaced.
    pub replacements: Vec<Replacement>,
    /// Things looked at.
    pub checks: Vec<CheckAnswer>,
    /// Things that happened.
    pub events: Vec<EventAnswer>,
    /// The gas test.
    pub test: TestAnswers,
}

impl Answers {
    /// Nothing told yet but the unit.
    #[must_use]
    pub fn about(unit: UnitCode) -> Self {
        Self {
            unit,
            by: None,
            on: None,
            note: Text::default(),
            marks: Vec::new(),
            replacements: Vec::new(),
            checks: Vec::new(),
            events: Vec::new(),
            test: TestAnswers::default(),
        }
    }

    /// True where any work is told of.
    #[must_use]
    pub fn tell_work(&self) -> bool {
        Self { by: None, on: None, ..self.clone() } != Self::about(self.unit.clone())
    }

    /// The visit they make.
    ///
    /// # Errors
    /// [`Complaint`] where nothing was done, nobody did it, an appliance is not on the unit, or something belongs to a
    /// gas test of which nothing was read.
    pub fn visit(&self, book: &Book, today: Day) -> Result<Visit, Complaint> {
        let unit = &self.unit;
        if !self.tell_work() {
            return Err(nothing_done(unit));
        }
        let by = self.by.clone().ok_or_else(|| {
            let what = format!("visit to unit {unit} does not say who did the work");
            Complaint::refused(what, format!("pigtail closeout {unit} --by PERSON …"))
        })?;
        let on = self.on.unwrap_or(today);
        let check = |answer: &CheckAnswer| Check {
            unit: unit.clone(),
            part: answer.part.clone(),
            on,
            by: Some(by.clone()),
            rule: answer.rule.clone(),
            result: answer.result,
            note: answer.note.clone(),
        };
        let event =
            |answer: &EventAnswer| Event { unit: unit.clone(), on, event: answer.event, note: answer.note.clone() };
        let visit = Visit {
            unit: unit.clone(),
            on,
            note: self.note.clone(),
            marks: self.marks.clone(),
            replacements: self.replacements.clone(),
            checks: self.checks.iter().map(check).collect(),
            events: self.events.iter().map(event).collect(),
            test: self.test.test(unit, &by, on, &book.appliances(unit)?)?,
            by,
        };
        if visit.is_empty() { Err(nothing_done(unit)) } else { Ok(visit) }
    }
}

impl TestAnswers {
    /// True where any pressure was read that a test is judged by.
    #[must_use]
    pub fn any_reading(&self) -> bool {
        [&self.lockup, &self.flow, &self.drop_start, &self.drop_end].into_iter().any(Option::is_some)
    }

    /// What was found that would be lost without a reading. Gauge, tap, method and elevation alone are only intent.
    fn stray(&self) -> Option<&'static str> {
        let found = [
            (self.vent.is_some(), "a vent"),
            (self.minutes.is_some(), "minutes"),
            (self.air.is_some() || self.air_after.is_some(), "an air temperature"),
            (self.load.is_some() || !self.burning.is_empty(), "a load"),
            (!self.lockup_later.is_empty() || !self.drop_between.is_empty(), "a later reading"),
        ];
        found.into_iter().find_map(|(given, what)| given.then_some(what))
    }

    fn test(
        &self,
        unit: &UnitCode,
        by: &PersonCode,
        on: Day,
        appliances: &[Appliance],
    ) -> Result<Option<GasTest>, Complaint> {
        if !self.any_reading() {
            return match self.stray() {
                None => Ok(None),
                Some(what) => Err(Complaint::refused(
                    format!("unit {unit}: {what} belongs to a gas test, but no pressure was read"),
                    "give --lockup, --flow or --drop too; or leave it out",
                )),
            };
        }
        let load = match self.load {
            Some(load) => Some(load),
            None => load_of(unit, &self.burning, appliances)?,
        };
        Ok(Some(GasTest {
            unit: unit.clone(),
            on,
            by: Some(by.clone()),
            gauge: self.gauge.clone(),
            tap: self.tap.unwrap_or_default(),
            lockup: self.lockup.clone(),
            lockup_later: self.lockup_later.clone(),
            flow: self.flow.clone(),
            load_percent: load,
            method: self.method,
            drop_start: self.drop_start.clone(),
            drop_between: self.drop_between.clone(),
            drop_end: self.drop_end.clone(),
            minutes: self.minutes,
            air_f: self.air.map(Temperature::fahrenheit),
            air_after_f: self.air_after.map(Temperature::fahrenheit),
            elevation_ft: self.elevation.map(Elevation::feet),
            vent: self.vent,
        }))
    }
}

/// Share of a unit's connected load that the burning appliances make, percent.
///
/// # Errors
/// [`Complaint`] where an appliance is not on the unit, or their input makes no load.
pub(super) fn load_of(unit: &UnitCode, burning: &[Text], appliances: &[Appliance]) -> Result<Option<f64>, Complaint> {
    if burning.is_empty() {
        return Ok(None);
    }
    let total: f64 = appliances.iter().map(|appliance| appliance.btu_h).sum();
    let mut running = 0.0;
    for name in burning {
        let found = appliances.iter().find(|known| known.appliance.as_str().eq_ignore_ascii_case(name.as_str()));
        let Some(found) = found else {
            let known: Vec<&str> = appliances.iter().map(|appliance| appliance.appliance.as_str()).collect();
            let what = format!(
                "unit {unit} has no appliance {}; it has {}",
                one_line(name.as_str()),
                if known.is_empty() { "none on record".to_owned() } else { one_line(&known.join(", ")) }
            );
            return Err(Complaint::refused(what, format!("pigtail unit appliance {unit} \"{name}\" --btu-h N")));
        };
        running += found.btu_h;
    }
    load_percent(running, total).map(Some).map_err(|error| {
        Complaint::refused(format!("unit {unit}: {error}"), format!("pigtail unit appliance {unit} NAME --btu-h N"))
    })
}

fn nothing_done(unit: &UnitCode) -> Complaint {
    Complaint::refused(
        format!("nothing was done to unit {unit}"),
        format!(
            "pigtail closeout {unit} --by PERSON with --gauge, --lockup, --flow, --burning, --drop, --minutes; or --mark, \
             --replace, --check, --event, --note; or --from visit.toml (--template {unit} writes one); on a terminal \
             it asks"
        ),
    )
}
