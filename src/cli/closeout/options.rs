//! A visit as options on the command line.
//!
//! Owns: `PART=STAMP`, `RULE=pass:note`, `PART=kind:hose,made:2026-01` and `START:END`. Refuses: guessing at what is
//! left out.

use super::answers::{Answers, CheckAnswer, EventAnswer, TestAnswers};
use super::visit::Replacement;
use crate::model::{
    Dated, Day, DropMethod, Elevation, EventKind, GaugeCode, PartCode, PartKind, PersonCode, Reading, Tap, Temperature,
    Text, TimedReading, UnitCode, Vent,
};
use std::path::{Path, PathBuf};
use std::str::FromStr;

/// Close out a visit to a unit: marks read, parts replaced, checks, gas test
///
/// On a terminal and without any work given it asks for everything, step by step.
#[derive(Debug, clap::Args)]
pub struct CloseoutArgs {
    /// The unit
    #[arg(required_unless_present = "from")]
    unit: Option<UnitCode>,
    /// Take the visit from a file, written as --template writes it
    #[arg(long, value_name = "FILE", conflicts_with_all = WORK, conflicts_with_all = ["by", "on", "template"])]
    from: Option<PathBuf>,
    /// Write a visit file for this unit to fill in, with what is due on it
    #[arg(long, conflicts_with_all = WORK)]
    template: bool,
    /// Who did the work
    #[arg(long, value_name = "PERSON")]
    by: Option<PersonCode>,
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

/// Options that tell of work done.
const WORK: [&str; 20] = [
    "mark",
    "replace",
    "check",
    "event",
    "note",
    "gauge",
    "lockup",
    "lockup_later",
    "flow",
    "load",
    "burning",
    "drop",
    "minutes",
    "drop_between",
    "method",
    "air",
    "air_after",
    "elevation",
    "tap",
    "vent",
];

impl CloseoutArgs {
    /// The unit named; none where a file names it.
    #[must_use]
    pub fn unit(&self) -> Option<&UnitCode> {
        self.unit.as_ref()
    }

    /// The visit file named.
    #[must_use]
    pub fn from(&self) -> Option<&Path> {
        self.from.as_deref()
    }

    /// True where a visit file is to be written.
    #[must_use]
    pub fn wants_template(&self) -> bool {
        self.template
    }

    /// What the options tell of a visit to `unit`.
    #[must_use]
    pub fn answers(&self, unit: UnitCode) -> Answers {
        Answers {
            unit,
            by: self.by.clone(),
            on: self.on,
            note: self.note.clone(),
            marks: self.mark.iter().map(|option| (option.part.clone(), option.stamp.clone())).collect(),
            replacements: self.replace.iter().map(|option| option.replacement.clone()).collect(),
            checks: self.check.iter().map(|option| option.check.clone()).collect(),
            events: self.event.iter().map(|event| EventAnswer { event: *event, note: Text::default() }).collect(),
            test: self.test.answers(),
        }
    }
}

impl TestOptions {
    fn answers(&self) -> TestAnswers {
        TestAnswers {
            gauge: self.gauge.clone(),
            tap: self.tap,
            lockup: self.lockup.clone(),
            lockup_later: self.lockup_later.clone(),
            flow: self.flow.clone(),
            load: self.load,
            burning: self.burning.clone(),
            method: self.method,
            drop_start: self.drop.as_ref().map(|drop| drop.start.clone()),
            drop_between: self.drop_between.clone(),
            drop_end: self.drop.as_ref().map(|drop| drop.end.clone()),
            minutes: self.minutes,
            air: self.air,
            air_after: self.air_after,
            elevation: self.elevation,
            vent: self.vent,
        }
    }
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

pub(super) fn field<T: FromStr>(field: &'static str, text: &str) -> Result<T, OptionError>
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
    check: CheckAnswer,
}

impl FromStr for CheckOption {
    type Err = OptionError;
    fn from_str(text: &str) -> Result<Self, OptionError> {
        let form = OptionError::Form { form: "RULE=pass or RULE=fail:note" };
        let (rule, result) = text.split_once('=').ok_or(form)?;
        let (rule, part) = rule.split_once('@').map_or((rule, None), |(rule, part)| (rule, Some(part)));
        let (result, note) = result.split_once(':').unwrap_or((result, ""));
        let check = CheckAnswer {
            rule: field("rule", rule)?,
            part: part.map(|part| field("part", part)).transpose()?,
            result: field("result", result)?,
            note: field("note", note)?,
        };
        Ok(Self { check })
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
