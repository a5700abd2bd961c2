//! A visit as a TOML file, read: what the technician filled in offline, or a draft left by an interrupted close-out.
//!
//! Owns: every key, its form, and finding everything that is wrong in one go, each with line, column and caret.
//! Refuses: taking a blank text for an answer.

use super::answers::{Answers, CheckAnswer, EventAnswer, TestAnswers};
use super::visit::Replacement;
use crate::cli::complaint::Complaint;
use crate::cli::settings_error::{Problem, locate};
use crate::model::{CheckResult, Dated, Day, EventKind, PartCode, PartKind, RuleId, Text, UnitCode, nearest};
use crate::show::legible::counted;
use std::fmt::Display;
use std::io::Read;
use std::ops::Range;
use std::path::Path;
use std::str::FromStr;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Keys of the file itself. `at` is where a draft goes on.
pub(super) const ROOT_KEYS: [&str; 10] =
    ["unit", "by", "on", "note", "at", "test", "mark", "replace", "check", "event"];
const TEST_KEYS: [&str; 17] = [
    "gauge",
    "tap",
    "lockup",
    "lockup_later",
    "flow",
    "load",
    "burning",
    "method",
    "drop_start",
    "drop_between",
    "drop_end",
    "minutes",
    "air",
    "air_after",
    "elevation",
    "vent",
    "drop",
];
const MARK_KEYS: [&str; 2] = ["part", "stamp"];
const REPLACE_KEYS: [&str; 9] = ["part", "code", "kind", "made", "replace_by", "serial", "spec", "position", "note"];
const CHECK_KEYS: [&str; 4] = ["rule", "part", "result", "note"];
const EVENT_KEYS: [&str; 2] = ["event", "note"];

/// Longest visit file read, in bytes: far longer than any visit.
const MOST_BYTES: u64 = 256 * 1024;

/// Longest time in minutes and largest load in percent that is no slip of the pen.
const MOST_MINUTES: f64 = 24.0 * 60.0;
const MOST_PERCENT: f64 = 1000.0;

type Value<'t> = Spanned<DeValue<'t>>;

/// A visit file's answers, and the question a draft goes on with.
#[derive(Debug, Clone, PartialEq)]
pub struct VisitFile {
    /// What it tells.
    pub answers: Answers,
    /// The question's key, in a draft.
    pub at: Option<String>,
}

/// Reads a visit file of any unit, which must say who and when.
///
/// # Errors
/// [`Complaint`] where it cannot be read, or with everything that is wrong in it.
pub fn whole_visit(path: &Path) -> Result<Answers, Complaint> {
    let text = contents(path)?;
    read(path, &text, true).map(|file| file.answers)
}

/// Reads a draft, in which anything may still be missing.
///
/// # Errors
/// As [`whole_visit`].
pub fn draft(path: &Path) -> Result<VisitFile, Complaint> {
    let text = contents(path)?;
    read(path, &text, false)
}

fn contents(path: &Path) -> Result<String, Complaint> {
    let named = path.display();
    let failed = |error: std::io::Error| {
        let what = format!("visit file `{named}` cannot be read: {error}");
        match error.kind() {
            std::io::ErrorKind::NotFound => Complaint::refused(what, "pigtail closeout --template UNIT > visit.toml"),
            _ => Complaint::outside(what, "check its permissions"),
        }
    };
    let mut bytes = Vec::new();
    std::fs::File::open(path).and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes)).map_err(failed)?;
    if bytes.len() as u64 > MOST_BYTES {
        let what = format!("visit file `{named}` has more than {MOST_BYTES} bytes");
        return Err(Complaint::refused(what, "pigtail closeout --template UNIT > visit.toml"));
    }
    String::from_utf8(bytes).map_err(|error| {
        let what = format!("visit file `{named}` is not UTF-8 at byte {}", error.utf8_error().valid_up_to());
        Complaint::refused(what, "save it as UTF-8 text")
    })
}

/// Reads a visit file's text; `whole` where unit, person and day must be there.
///
/// # Errors
/// [`Complaint`] with everything that is wrong, each at its line and column.
pub fn read(path: &Path, text: &str, whole: bool) -> Result<VisitFile, Complaint> {
    let problems = match DeTable::parse(text) {
        Err(error) => vec![Problem { span: error.span().unwrap_or(0..0), message: error.message().to_owned() }],
        Ok(document) => {
            let mut reader = Reader { problems: Vec::new(), whole };
            match reader.visit(document.get_ref()) {
                Some(found) if reader.problems.is_empty() => return Ok(found),
                _ => reader.problems,
            }
        }
    };
    let mut problems = problems;
    problems.sort_by_key(|problem| problem.span.start);
    let faults = counted(problems.len(), "fault", "faults");
    let places = problems.into_iter().map(|problem| locate(path, text, problem).to_string()).collect();
    let what = format!("nothing was recorded: {faults} found in visit file `{}`", path.display());
    Err(Complaint { places, ..Complaint::refused(what, "pigtail closeout --template UNIT shows a whole visit file") })
}

struct Reader {
    problems: Vec<Problem>,
    whole: bool,
}

impl Reader {
    fn visit(&mut self, root: &DeTable<'_>) -> Option<VisitFile> {
        self.known_only(root, "a key of a visit file", &ROOT_KEYS);
        let unit: Option<UnitCode> = self.needed(root, "unit", "the unit visited");
        let by = match self.whole {
            true => self.needed(root, "by", "who did the work"),
            false => self.parsed(root, "by"),
        };
        let on: Option<Day> = match self.whole {
            true => self.needed(root, "on", "the day of the visit, YYYY-MM-DD"),
            false => self.parsed(root, "on"),
        };
        let note = self.parsed(root, "note").unwrap_or_default();
        let test = find(root, "test").and_then(|value| self.table(value, "[test]"));
        let test = test.map(|test| self.test(test)).unwrap_or_default();
        let marks = self.each(root, "mark", Reader::mark);
        let replacements = self.each(root, "replace", Reader::replacement);
        let checks = self.each(root, "check", Reader::check);
        let events = self.each(root, "event", |reader, table, _| {
            reader.known_only(table, "a key of [[event]]", &EVENT_KEYS);
            let event: EventKind = reader.parsed(table, "event")?;
            Some(EventAnswer { event, note: reader.parsed(table, "note").unwrap_or_default() })
        });
        let at = self.parsed::<Text>(root, "at").map(|at| at.as_str().to_owned());
        let answers = Answers { unit: unit?, by, on, note, marks, replacements, checks, events, test };
        Some(VisitFile { answers, at })
    }

    fn test(&mut self, table: &DeTable<'_>) -> TestAnswers {
        self.known_only(table, "a key of [test]", &TEST_KEYS);
        if let Some(value) = find(table, "drop") {
            self.problem::<()>(value.span(), "write the timed drop as `drop_start` and `drop_end`");
        }
        let load = self.number(table, "load", MOST_PERCENT, "percent of the unit's connected input");
        let burning = self.list(table, "burning");
        if let (Some(value), Some(_), false) = (find(table, "load"), load, burning.is_empty()) {
            self.problem::<()>(value.span(), "give `load` or `burning`, not both");
        }
        TestAnswers {
            gauge: self.parsed(table, "gauge"),
            tap: self.parsed(table, "tap"),
            lockup: self.parsed(table, "lockup"),
            lockup_later: self.list(table, "lockup_later"),
            flow: self.parsed(table, "flow"),
            load,
            burning,
            method: self.parsed(table, "method"),
            drop_start: self.parsed(table, "drop_start"),
            drop_between: self.list(table, "drop_between"),
            drop_end: self.parsed(table, "drop_end"),
            minutes: self.number(table, "minutes", MOST_MINUTES, "minutes between start and end"),
            air: self.parsed(table, "air"),
            air_after: self.parsed(table, "air_after"),
            elevation: self.parsed(table, "elevation"),
            vent: self.parsed(table, "vent"),
        }
    }

    fn mark(&mut self, table: &DeTable<'_>, span: Range<usize>) -> Option<(PartCode, String)> {
        self.known_only(table, "a key of [[mark]]", &MARK_KEYS);
        let part = self.part(table, span)?;
        let stamp: Text = self.parsed(table, "stamp")?;
        Some((part, stamp.as_str().to_owned()))
    }

    fn replacement(&mut self, table: &DeTable<'_>, span: Range<usize>) -> Option<Replacement> {
        self.known_only(table, "a key of [[replace]]", &REPLACE_KEYS);
        let part = self.part(table, span)?;
        Some(Replacement {
            code: self.parsed(table, "code"),
            kind: self.parsed::<PartKind>(table, "kind"),
            made: self.parsed::<Dated>(table, "made"),
            replace_by: self.parsed::<Dated>(table, "replace_by"),
            serial: self.parsed(table, "serial").unwrap_or_default(),
            spec: self.parsed(table, "spec"),
            position: self.parsed(table, "position"),
            note: self.parsed(table, "note").unwrap_or_default(),
            ..Replacement::of(part)
        })
    }

    fn check(&mut self, table: &DeTable<'_>, span: Range<usize>) -> Option<CheckAnswer> {
        self.known_only(table, "a key of [[check]]", &CHECK_KEYS);
        let rule: Option<RuleId> = match find(table, "rule") {
            None => self.problem(span, "[[check]] needs `rule`"),
            Some(_) => self.parsed(table, "rule"),
        };
        let (part, note) = (self.parsed(table, "part"), self.parsed::<Text>(table, "note").unwrap_or_default());
        match (self.parsed::<CheckResult>(table, "result"), find(table, "note")) {
            (Some(result), _) => Some(CheckAnswer { rule: rule?, part, result, note }),
            (None, Some(value)) if !note.is_blank() && find(table, "result").is_none_or(is_blank) => {
                self.problem(value.span(), "a check with a note needs `result`: pass or fail")
            }
            (None, _) => None,
        }
    }

    fn part(&mut self, table: &DeTable<'_>, span: Range<usize>) -> Option<PartCode> {
        match find(table, "part").filter(|value| !is_blank(value)) {
            None => self.problem(span, "the code of the part is missing: `part`"),
            Some(value) => self.value(value, "part"),
        }
    }

    fn each<T>(
        &mut self,
        root: &DeTable<'_>,
        key: &str,
        mut read: impl FnMut(&mut Self, &DeTable<'_>, Range<usize>) -> Option<T>,
    ) -> Vec<T> {
        let Some(value) = find(root, key) else { return Vec::new() };
        let DeValue::Array(items) = value.get_ref() else {
            self.problem::<()>(value.span(), format!("write it as [[{key}]], its keys on lines of their own"));
            return Vec::new();
        };
        let mut found = Vec::new();
        for item in items {
            if let Some(table) = self.table(item, &format!("[[{key}]]")) {
                found.extend(read(self, table, item.span()));
            }
        }
        found
    }

    fn table<'v, 't>(&mut self, value: &'v Value<'t>, form: &str) -> Option<&'v DeTable<'t>> {
        match value.get_ref() {
            DeValue::Table(table) => Some(table),
            _ => self.problem(value.span(), format!("write it as {form}, its keys on lines of their own")),
        }
    }

    fn needed<T: FromStr<Err: Display>>(&mut self, table: &DeTable<'_>, key: &str, what: &str) -> Option<T> {
        match find(table, key) {
            None => self.problem(0..0, format!("`{key}` is missing: {what}")),
            Some(value) if is_blank(value) => self.problem(value.span(), format!("`{key}` is blank: {what}")),
            Some(value) => self.value(value, key),
        }
    }

    /// A value where it is given and not blank.
    fn parsed<T: FromStr<Err: Display>>(&mut self, table: &DeTable<'_>, key: &str) -> Option<T> {
        find(table, key).filter(|value| !is_blank(value)).and_then(|value| self.value(value, key))
    }

    fn list<T: FromStr<Err: Display>>(&mut self, table: &DeTable<'_>, key: &str) -> Vec<T> {
        match find(table, key).map(|value| (value.get_ref(), value)) {
            None => Vec::new(),
            Some((DeValue::Array(items), _)) => {
                items.iter().filter(|item| !is_blank(item)).filter_map(|item| self.value(item, key)).collect()
            }
            Some((_, value)) => {
                self.problem::<()>(value.span(), format!("`{key}` is a list in brackets"));
                Vec::new()
            }
        }
    }

    fn number(&mut self, table: &DeTable<'_>, key: &str, most: f64, what: &str) -> Option<f64> {
        let value = find(table, key).filter(|value| !is_blank(value))?;
        let number = written(value).and_then(|text| text.trim().trim_end_matches('%').trim_end().parse::<f64>().ok());
        match number.filter(|number| (0.0..=most).contains(number)) {
            Some(number) => Some(number),
            None => self.problem(value.span(), format!("`{key}` is a number from 0 to {most}: {what}")),
        }
    }

    fn value<T: FromStr<Err: Display>>(&mut self, value: &Value<'_>, key: &str) -> Option<T> {
        match written(value).map(|text| text.parse::<T>()) {
            Some(Ok(parsed)) => Some(parsed),
            Some(Err(error)) => self.problem(value.span(), format!("`{key}`: {error}")),
            None => self.problem(value.span(), format!("`{key}` is one value, in quotes")),
        }
    }

    fn known_only(&mut self, table: &DeTable<'_>, list: &str, known: &[&'static str]) {
        for (key, _) in table {
            let word = key.get_ref();
            if !known.contains(&word.as_ref()) {
                let end = match nearest(word, known.iter().copied()) {
                    Some(near) => format!("nearest is `{near}`"),
                    None => format!("known are {}", known.join(", ")),
                };
                self.problem::<()>(key.span(), format!("`{}` is not {list}; {end}", word.escape_debug()));
            }
        }
    }

    /// Notes what is wrong; what was wanted is then not there.
    fn problem<T>(&mut self, span: Range<usize>, message: impl Into<String>) -> Option<T> {
        self.problems.push(Problem { span, message: message.into() });
        None
    }
}

fn find<'v, 't>(table: &'v DeTable<'t>, key: &str) -> Option<&'v Value<'t>> {
    table.iter().find(|(known, _)| known.get_ref() == key).map(|(_, value)| value)
}

/// A single value as written: quotes may be left off numbers and dates.
fn written(value: &Value<'_>) -> Option<String> {
    match value.get_ref() {
        DeValue::String(text) => Some(text.to_string()),
        DeValue::Integer(number) if number.radix() == 10 => Some(number.as_str().to_owned()),
        DeValue::Float(number) => Some(number.as_str().to_owned()),
        DeValue::Datetime(date) => Some(date.to_string()),
        DeValue::Integer(_) | DeValue::Boolean(_) | DeValue::Array(_) | DeValue::Table(_) => None,
    }
}

fn is_blank(value: &Value<'_>) -> bool {
    matches!(value.get_ref(), DeValue::String(text) if text.trim().is_empty())
}
