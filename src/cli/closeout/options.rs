//! A visit as options on the command line.
//!
//! Owns: `PART=STAMP`, `RULE=pass:note`, `PART=kind:hose,made:2026-01` and `START:END`. Refuses: guessing at what is
//! left out.

use super::visit::{Replacement, Visit};
use crate::book::Book;
use crate::cli::complaint::Complaint;
use crate::model::{
    Appliance, Check, CheckResult, Dated, Day, DropMethod, Elevation, Event, EventKind, GasTest, GaugeCode, PartCode,
    PartKind, PersonCode, Reading, RuleId, Tap, Temperature, Text, TimedReading, UnitCode, Vent,
};
use crate::show::legible::one_line;
use std::str::FromStr;

/// Close out a visit to a unit: marks read, parts replaced, checks, gas test.
#[derive(Debug, clap::Args)]
pub struct CloseoutArgs {
    /// The unit
    unit: UnitCode,
    /// Who did the work
    #[arg(long, value_name = "PERSON")]
    by: PersonCode,
    /// When [default: today]
    #[arg(long, value_name = "DATE")]
    on: Option<Day>,
    /// Requalification mark as read off a collar, PART="11 A123 21 E"
    #[arg(long, value_name = "PART=STAMP")]
    mark: Vec<MarkOption>,
    /// Part replaced by a new one, PART=kind:hose,made:2026-01,serial:X (also spec, position, replace_by, code)
    #[arg(long, value_name = "PART=FIELDS")]
    replace: Vec<ReplaceOption>,
    /// Something looked at under a rule, RULE=pass or RULE=fail:note; RULE@PART=… where it was one of several parts
    #[arg(long, value_name = "RULE=RESULT")]
    check: Vec<CheckOption>,
    /// Something that happened: out-of-gas, system-opened, collision, fire …
    #[arg(long, value_name = "EVENT")]
    event: Vec<EventKind>,
    /// Anything else
    #[arg(long, default_value = "")]
    note: Text,
    #[command(flatten)]
    test: TestOptions,
}

/// A gas test's readings.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Gas test")]
struct TestOptions {
    /// Gauge used
    #[arg(long, value_name = "GAUGE")]
    gauge: Option<GaugeCode>,
    /// Pressure with nothing burning, as 11.4, 27.4mbar or 5.7+5.7
    #[arg(long, value_name = "READING")]
    lockup: Option<Reading>,
    /// Lock-up read again while watched, as 11.6@3; give it again for more
    #[arg(long, value_name = "READING@MIN")]
    lockup_later: Vec<TimedReading>,
    /// Pressure under load
    #[arg(long, value_name = "READING")]
    flow: Option<Reading>,
    /// Load it was taken at, percent of the unit's connected Btu/h
    #[arg(long, value_name = "PERCENT", conflicts_with = "burning")]
    load: Option<f64>,
    /// Appliance burning while flow was read; give it again for more
    #[arg(long, value_name = "APPLIANCE")]
    burning: Vec<Text>,
    /// Timed pressure drop, START:END
    #[arg(long, value_name = "START:END")]
    drop: Option<DropOption>,
    /// Minutes between START and END
    #[arg(long, value_name = "N")]
    minutes: Option<f64>,
    /// Pressure read in between, as 9.0@1; give it again for more
    #[arg(long, value_name = "READING@MIN")]
    drop_between: Vec<TimedReading>,
    /// How the drop was timed: three-test, air-10-14, g607
    #[arg(long, value_name = "METHOD")]
    method: Option<DropMethod>,
    /// Air temperature at the start, as 60F or 15C
    #[arg(long, value_name = "TEMPERATURE")]
    air: Option<Temperature>,
    /// Air temperature at the end
    #[arg(long, value_name = "TEMPERATURE")]
    air_after: Option<Temperature>,
    /// Elevation, as 5000ft [default: the depot's]
    #[arg(long)]
    elevation: Option<Elevation>,
    /// Where it was read: main or range-outlet
    #[arg(long)]
    tap: Option<Tap>,
    /// Regulator vent, degrees from straight down, or unseen
    #[arg(long)]
    vent: Option<Vent>,
}

impl CloseoutArgs {
    /// The unit visited.
    #[must_use]
    pub fn unit(&self) -> &UnitCode {
        &self.unit
    }

    /// The options as a visit.
    ///
    /// # Errors
    /// [`Complaint`] where nothing was done, or an appliance is not on the unit.
    pub fn visit(&self, book: &Book, today: Day) -> Result<Visit, Complaint> {
        let on = self.on.unwrap_or(today);
        let check = |option: &CheckOption| Check {
            unit: self.unit.clone(),
            part: option.part.clone(),
            on,
            by: Some(self.by.clone()),
            rule: option.rule.clone(),
            result: option.result,
            note: option.note.clone(),
        };
        let event = |event: &EventKind| Event { unit: self.unit.clone(), on, event: *event, note: Text::default() };
        let visit = Visit {
            unit: self.unit.clone(),
            by: self.by.clone(),
            on,
            note: self.note.clone(),
            marks: self.mark.iter().map(|option| (option.part.clone(), option.stamp.clone())).collect(),
            replacements: self.replace.iter().map(|option| option.replacement.clone()).collect(),
            checks: self.check.iter().map(check).collect(),
            events: self.event.iter().map(event).collect(),
            test: self.test.test(&self.unit, &self.by, on, &book.appliances(&self.unit)?)?,
        };
        if visit.is_empty() {
            return Err(Complaint::refused(
                format!("nothing was done to unit {}", self.unit),
                format!(
                    "pigtail closeout {} --by {} --lockup … --flow … --drop …, or --mark, --replace, --check",
                    self.unit, self.by
                ),
            ));
        }
        Ok(visit)
    }
}

impl TestOptions {
    fn test(
        &self,
        unit: &UnitCode,
        by: &PersonCode,
        on: Day,
        appliances: &[Appliance],
    ) -> Result<Option<GasTest>, Complaint> {
        if self.lockup.is_none() && self.flow.is_none() && self.drop.is_none() {
            return Ok(None);
        }
        let load_percent = match self.load {
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
            load_percent,
            method: self.method,
            drop_start: self.drop.as_ref().map(|drop| drop.start.clone()),
            drop_between: self.drop_between.clone(),
            drop_end: self.drop.as_ref().map(|drop| drop.end.clone()),
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
/// [`Complaint`] where an appliance is not on the unit.
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
    Ok(Some(running / total * 100.0))
}

/// Why an option's value cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum OptionError {
    /// No `=`.
    #[error("write it as {form}")]
    Form {
        /// The form wanted.
        form: &'static str,
    },
    /// One of its words.
    #[error("{field} {what}")]
    Field {
        /// Which.
        field: &'static str,
        /// What is wrong with it.
        what: String,
    },
    /// A field nobody knows.
    #[error("`{field}` is no field; known are code, kind, made, serial, spec, position, replace_by, note")]
    UnknownField {
        /// As written.
        field: String,
    },
}

fn field<T: FromStr>(field: &'static str, text: &str) -> Result<T, OptionError>
where
    T::Err: std::fmt::Display,
{
    text.trim().parse().map_err(|error: T::Err| OptionError::Field { field, what: error.to_string() })
}

/// `PART=STAMP`.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkOption {
    part: PartCode,
    stamp: String,
}

impl FromStr for MarkOption {
    type Err = OptionError;
    fn from_str(text: &str) -> Result<Self, OptionError> {
        let form = OptionError::Form { form: "PART=STAMP, as CY-1180=\"11 A123 21 E\"" };
        let (part, stamp) = text.split_once('=').ok_or(form)?;
        Ok(Self { part: field("part", part)?, stamp: stamp.trim().to_owned() })
    }
}

/// `RULE=pass`, `RULE=fail:note`, `RULE@PART=pass`.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckOption {
    rule: RuleId,
    part: Option<PartCode>,
    result: CheckResult,
    note: Text,
}

impl FromStr for CheckOption {
    type Err = OptionError;
    fn from_str(text: &str) -> Result<Self, OptionError> {
        let form = OptionError::Form { form: "RULE=pass or RULE=fail:note" };
        let (rule, result) = text.split_once('=').ok_or(form)?;
        let (result, note) = result.split_once(':').unwrap_or((result, ""));
        let (rule, part) = rule.split_once('@').map_or((rule, None), |(rule, part)| (rule, Some(part)));
        let part = part.map(|part| field("part", part)).transpose()?;
        Ok(Self { rule: field("rule", rule)?, part, result: field("result", result)?, note: field("note", note)? })
    }
}

/// `PART=kind:hose,made:2026-01,serial:X`.
#[derive(Debug, Clone, PartialEq)]
pub struct ReplaceOption {
    replacement: Replacement,
}

impl FromStr for ReplaceOption {
    type Err = OptionError;
    fn from_str(text: &str) -> Result<Self, OptionError> {
        let form = OptionError::Form { form: "PART=kind:hose,made:2026-01,serial:X" };
        let (part, fields) = text.split_once('=').ok_or_else(|| form.clone())?;
        let mut replacement = Replacement::of(field("part", part)?);
        for pair in fields.split(',').filter(|pair| !pair.trim().is_empty()) {
            let (name, value) = pair.split_once(':').ok_or_else(|| form.clone())?;
            match name.trim() {
                "code" => replacement.code = Some(field("code", value)?),
                "kind" => replacement.kind = Some(field::<PartKind>("kind", value)?),
                "made" => replacement.made = Some(field::<Dated>("made", value)?),
                "replace_by" => replacement.replace_by = Some(field::<Dated>("replace_by", value)?),
                "serial" => replacement.serial = field("serial", value)?,
                "spec" => replacement.spec = Some(field("spec", value)?),
                "position" => replacement.position = Some(field("position", value)?),
                "note" => replacement.note = field("note", value)?,
                other => return Err(OptionError::UnknownField { field: other.to_owned() }),
            }
        }
        Ok(Self { replacement })
    }
}

/// `START:END`.
#[derive(Debug, Clone, PartialEq)]
struct DropOption {
    start: Reading,
    end: Reading,
}

impl FromStr for DropOption {
    type Err = OptionError;
    fn from_str(text: &str) -> Result<Self, OptionError> {
        let form = OptionError::Form { form: "START:END, as 9.0:9.0" };
        let (start, end) = text.split_once(':').ok_or(form)?;
        Ok(Self { start: field("start", start)?, end: field("end", end)? })
    }
}
