//! A visit to a unit, however it was given, as the facts it records.
//!
//! Owns: their order: what opens the system comes before the test that closes the question. Refuses: storage.

use crate::book::Book;
use crate::cli::complaint::Complaint;
use crate::cli::console::Console;
use crate::cli::keep::part::{mark, new_part};
use crate::journal::{Change, Fact};
use crate::model::{Check, Dated, Day, Event, GasTest, Part, PartCode, PartKind, PersonCode, Text, UnitCode};

/// A part put in the place of another.
#[derive(Debug, Clone, PartialEq)]
pub struct Replacement {
    /// The part that was there; or, where there is none of that code, the new one's own code.
    pub part: PartCode,
    /// The new part's code; none for the next free one after the old.
    pub code: Option<PartCode>,
    /// What it is; none for the same as the old.
    pub kind: Option<PartKind>,
    /// Make date.
    pub made: Option<Dated>,
    /// Replace-by date printed on it.
    pub replace_by: Option<Dated>,
    /// Serial number.
    pub serial: Text,
    /// Specification; none for the same as the old.
    pub spec: Option<Text>,
    /// Where on the unit; none for the place of the old.
    pub position: Option<Text>,
    /// Anything else.
    pub note: Text,
}

impl Replacement {
    /// A replacement of which nothing else is known.
    #[must_use]
    pub fn of(part: PartCode) -> Self {
        Self {
            part,
            code: None,
            kind: None,
            made: None,
            replace_by: None,
            serial: Text::default(),
            spec: None,
            position: None,
            note: Text::default(),
        }
    }
}

/// One visit.
#[derive(Debug, Clone, PartialEq)]
pub struct Visit {
    /// The unit.
    pub unit: UnitCode,
    /// Who was there.
    pub by: PersonCode,
    /// When.
    pub on: Day,
    /// Anything else.
    pub note: Text,
    /// Stamps as read.
    pub marks: Vec<(PartCode, String)>,
    /// Parts replaced.
    pub replacements: Vec<Replacement>,
    /// Things looked at.
    pub checks: Vec<Check>,
    /// Things that happened.
    pub events: Vec<Event>,
    /// The gas test.
    pub test: Option<GasTest>,
}

impl Visit {
    /// True where nothing was done.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.marks.is_empty()
            && self.replacements.is_empty()
            && self.checks.is_empty()
            && self.events.is_empty()
            && self.test.is_none()
            && self.note.is_blank()
    }

    /// What it records, in order.
    ///
    /// # Errors
    /// [`Complaint`] where a stamp cannot be read or a replacement does not fit what it replaces.
    pub fn facts(&self, book: &Book, today: Day, console: &mut Console<'_>) -> Result<Vec<Fact>, Complaint> {
        let closed =
            Change::VisitClosed { unit: self.unit.clone(), on: self.on, by: self.by.clone(), note: self.note.clone() };
        let mut facts: Vec<Fact> = vec![closed.into()];
        for (part, stamp) in &self.marks {
            facts.push(Change::Mark(mark(book, part, stamp, today, console)?).into());
        }
        for replacement in &self.replacements {
            facts.extend(self.replace(book, replacement, console)?);
        }
        facts.extend(self.events.iter().cloned().map(|event| Change::Event(event).into()));
        facts.extend(self.checks.iter().cloned().map(|check| Change::Check(check).into()));
        facts.extend(self.test.iter().cloned().map(Fact::Test));
        Ok(facts)
    }

    fn replace(&self, book: &Book, new: &Replacement, console: &mut Console<'_>) -> Result<Vec<Fact>, Complaint> {
        let old = match book.part(&new.part)? {
            Some((_, Some(on))) => {
                let what = format!("part {} was scrapped {on}", new.part);
                return Err(Complaint::refused(what, format!("pigtail unit show {}", self.unit)));
            }
            Some((old, None)) => Some(old),
            None => None,
        };
        if let Some(old) = &old {
            self.fits(old, new)?;
        }
        let kind = new.kind.or(old.as_ref().map(|old| old.kind)).ok_or_else(|| {
            Complaint::refused(
                format!("part {} is not in the book; as a new part it needs a kind", new.part),
                format!("pigtail unit show {}, or --replace {}=kind:hose,made:YYYY-MM", self.unit, new.part),
            )
        })?;
        let code = match (&new.code, &old) {
            (Some(code), _) => code.clone(),
            (None, None) => new.part.clone(),
            (None, Some(old)) => next_code(book, &old.part)?,
        };
        let position =
            new.position.clone().or_else(|| old.as_ref().map(|old| old.position.clone())).unwrap_or_default();
        let spec = new.spec.clone().or_else(|| old.as_ref().map(|old| old.spec.clone())).unwrap_or_default();
        let part = Part {
            spec,
            serial: new.serial.clone(),
            made: new.made,
            replace_by: new.replace_by,
            note: new.note.clone(),
            ..new_part(code.clone(), kind)
        };
        let mut facts: Vec<Fact> = Vec::new();
        if let Some(old) = old {
            writeln!(console.talk, "note: {} is scrapped, {code} takes its place", old.part)?;
            let because: Text = format!("replaced by {code}").parse().unwrap_or_default();
            facts.push(Change::PartScrapped { part: old.part, on: self.on, because }.into());
        }
        facts.push(Change::Part(part).into());
        facts.push(Change::PartFitted { part: code, unit: self.unit.clone(), position, on: self.on }.into());
        Ok(facts)
    }

    fn fits(&self, old: &Part, new: &Replacement) -> Result<(), Complaint> {
        if old.unit.as_ref() != Some(&self.unit) {
            let place = old.unit.as_ref().map_or_else(|| "on the shelf".to_owned(), |unit| format!("on unit {unit}"));
            let hint = format!("pigtail unit show {}", self.unit);
            return Err(Complaint::refused(format!("part {} is {place}, not on unit {}", old.part, self.unit), hint));
        }
        match new.kind {
            Some(kind) if kind != old.kind => Err(Complaint::refused(
                format!("part {} is a {}, not a {kind}", old.part, old.kind),
                format!("--replace {}=kind:{},made:YYYY-MM", old.part, old.kind),
            )),
            _ => Ok(()),
        }
    }
}

/// The next free code after a part's: `HS-7`, then `HS-7-2`, `HS-7-3` and so on.
fn next_code(book: &Book, old: &PartCode) -> Result<PartCode, Complaint> {
    let stem = old.as_str();
    let (stem, last) = match stem.rsplit_once('-').and_then(|(stem, n)| Some((stem, n.parse::<u32>().ok()?))) {
        Some((stem, n)) if (2..100).contains(&n) && stem.contains('-') => (stem, n),
        _ => (stem, 1),
    };
    for number in last + 1..last + 1000 {
        let Ok(code) = format!("{stem}-{number}").parse::<PartCode>() else { break };
        if book.part(&code)?.is_none() {
            return Ok(code);
        }
    }
    Err(Complaint::refused(
        format!("part {old} needs a new code for what replaces it"),
        format!("--replace {old}=code:NEW,made:YYYY-MM"),
    ))
}
