//! Rows of one file, cell by cell.
//!
//! Owns: taking cells off the page (spaces, apostrophe guard, length) and noting every fault while going on.
//! Refuses: which cells make up a fact, which `nouns` and `happenings` say.

use super::column::{Column, Need};
use super::date;
use super::encoding::{NotText, text_of};
use super::header::{Header, Place};
use super::keys::Keys;
use super::locate::Located;
use super::number;
use super::problem::{Found, Problem};
use super::scan::{Flaw, Record, Scanner};
use super::table::FolderFile;
use super::wrong::{CellError, RowError};
use crate::journal::Fact;
use crate::model::{Dated, Day, Month, Text};
use std::borrow::Cow;
use std::ops::RangeInclusive;
use std::str::FromStr;

/// Longest cell of a code, date, word, number or item of a list, in bytes; the longest there is are addresses of 254.
const MAX_VALUE_BYTES: usize = 300;
/// Longest cell at all, in bytes.
const MAX_CELL_BYTES: usize = 64 * 1024;
/// Rows between two reports of progress.
const ROWS_PER_REPORT: usize = 4096;

/// One file, being read.
pub(super) struct Sheet<'a> {
    pub(super) file: FolderFile,
    name: &'a str,
    text: &'a str,
    scanner: Scanner<'a>,
    header: Option<Header>,
    found: &'a mut Found,
    report: &'a mut dyn FnMut(u64),
    /// Keys of the rows so far, for files whose rows have one.
    keys: Keys<'a>,
}

impl<'a> Sheet<'a> {
    /// Begins a file: its encoding and header. Faults go to `found`; `report` is told how many bytes are gone through.
    pub(super) fn open(
        file: FolderFile,
        name: &'a str,
        bytes: &'a [u8],
        found: &'a mut Found,
        report: &'a mut dyn FnMut(u64),
    ) -> Self {
        let (text, fault) = match text_of(bytes) {
            Ok(text) => (text, None),
            Err(fault) => ("", Some(fault)),
        };
        let mut scanner = Scanner::new(text);
        let header = match fault {
            None => Header::read(file, name, text, &mut scanner, found),
            Some(NotText { error, line }) => {
                found.add(|| Problem::file(name, line, error));
                None
            }
        };
        Self { file, name, text, scanner, header, found, report, keys: Keys::default() }
    }

    /// Reads every row into `facts` and notes every fault; with one in it a row may be there in part or not at all, and
    /// the facts are not to be used. Gives the number of rows.
    pub(super) fn rows<const N: usize>(
        mut self,
        columns: &'static [Column; N],
        facts: &mut Vec<Located<Fact>>,
        mut read: impl FnMut(&mut Row<'_, 'a>, &[Place; N]) -> Option<Fact>,
    ) -> usize {
        let Some(header) = self.header.take() else { return 0 };
        let places = header.places(columns);
        facts.reserve(self.text.bytes().filter(|byte| *byte == b'\n').count());
        let mut record = Record::default();
        let mut count = 0;
        while self.scanner.read(&mut record) {
            if record.is_blank(self.text) {
                continue;
            }
            count += 1;
            if count % ROWS_PER_REPORT == 0 {
                (self.report)(self.scanner.position() as u64);
            }
            let mut row = Row { sheet: &mut self, record: &record };
            if !row.has_form(&header) {
                continue;
            }
            if let Some(fact) = read(&mut row, &places) {
                facts.push(Located { fact, file: self.file, line: record.line });
            }
        }
        self.keys.report(self.name, self.found);
        count
    }
}

/// One row.
pub(super) struct Row<'r, 'a> {
    sheet: &'r mut Sheet<'a>,
    record: &'r Record,
}

impl<'a> Row<'_, 'a> {
    /// The line it begins on.
    pub(super) fn line(&self) -> u32 {
        self.record.line
    }

    /// True where its quotes and number of cells are right, so that each cell is under its own column.
    fn has_form(&mut self, header: &Header) -> bool {
        if let Some(flaw) = self.record.flaw {
            let (position, line, error) = match flaw {
                Flaw::Unclosed { line, field } => (field, line, CellError::Unclosed),
                Flaw::AfterQuote { line, field } => {
                    let closed_on = (line != self.record.line).then_some(line);
                    (field, self.record.line, CellError::AfterQuote { closed_on })
                }
            };
            let column = self.label(header, position);
            let name = self.sheet.name;
            self.sheet.found.add(|| Problem::cell(name, line, position, &column, error));
            return false;
        }
        let record = self.record;
        let text = self.sheet.text;
        let beyond = record.count > header.width
            && (header.width..record.count).any(|position| !record.field(text, position).is_empty());
        if record.count < header.needed || beyond {
            let ragged = RowError::Ragged { cells: record.count, columns: header.width };
            let name = self.sheet.name;
            self.sheet.found.add(|| Problem::row(name, record.line, 0, "row", ragged));
            return false;
        }
        for &position in &header.blank {
            let cell = record.field(text, position);
            if !cell.is_empty() {
                let unnamed = CellError::Unnamed { text: clip(&cell) };
                self.note(position, &format!("column {}", position + 1), || unnamed);
            }
        }
        true
    }

    /// What the column at `position` is called in the header.
    fn label(&self, header: &Header, position: usize) -> String {
        let columns = self.sheet.file.columns().iter().enumerate();
        columns
            .filter(|(index, _)| header.position(*index) == Some(position))
            .map(|(_, column)| column.name.to_owned())
            .next()
            .unwrap_or_else(|| format!("column {}", position + 1))
    }

    fn note(&mut self, position: usize, column: &str, error: impl FnOnce() -> CellError) {
        let (name, line) = (self.sheet.name, self.record.line);
        self.sheet.found.add(|| Problem::cell(name, line, position, column, error()));
    }

    /// Notes that something is wrong with the cell at `place`.
    pub(super) fn wrong(&mut self, place: &Place, error: impl Into<CellError>) {
        let error = error.into();
        self.note(place.position.unwrap_or(0), place.column.name, || error);
    }

    /// The cell as it was meant: spaces, quotes and guarding apostrophe off.
    pub(super) fn cell(&self, place: &Place) -> Cow<'a, str> {
        let Some(position) = place.position else { return Cow::Borrowed("") };
        match self.record.field(self.sheet.text, position) {
            Cow::Borrowed(cell) => Cow::Borrowed(unguarded(cell)),
            Cow::Owned(cell) => Cow::Owned(unguarded(&cell).to_owned()),
        }
    }

    /// The cell where it is filled and of sensible length for a single value.
    fn value(&mut self, place: &Place, need: Need) -> Option<Cow<'a, str>> {
        let cell = self.cell(place);
        if cell.is_empty() && need == Need::Required {
            self.blank(place);
        }
        if cell.len() > MAX_VALUE_BYTES {
            self.wrong(place, CellError::TooLong { chars: cell.chars().count() });
            return None;
        }
        (!cell.is_empty()).then_some(cell)
    }

    /// Notes a required cell that is blank. A column that is missing altogether is a fault of the header, noted there.
    fn blank(&mut self, place: &Place) {
        if place.position.is_some() {
            self.wrong(place, CellError::Blank);
        }
    }

    fn with<T, E: Into<CellError>>(
        &mut self,
        place: &Place,
        need: Need,
        read: impl FnOnce(&str) -> Result<T, E>,
    ) -> Option<T> {
        let cell = self.value(place, need)?;
        read(&cell).map_err(|error| self.wrong(place, error)).ok()
    }

    /// A cell that must be filled.
    pub(super) fn required<T: FromStr<Err: Into<CellError>>>(&mut self, place: &Place) -> Option<T> {
        self.with(place, Need::Required, str::parse)
    }

    /// A cell that may be blank.
    pub(super) fn optional<T: FromStr<Err: Into<CellError>>>(&mut self, place: &Place) -> Option<T> {
        self.with(place, Need::Optional, str::parse)
    }

    /// A day that must be filled in.
    pub(super) fn required_day(&mut self, place: &Place) -> Option<Day> {
        self.with(place, Need::Required, date::day)
    }

    /// A day that may be blank.
    pub(super) fn day(&mut self, place: &Place) -> Option<Day> {
        self.with(place, Need::Optional, |text| date::day(text).map_err(|error| error.or_unknown(text)))
    }

    /// A month that may be blank.
    pub(super) fn month(&mut self, place: &Place) -> Option<Month> {
        self.with(place, Need::Optional, date::month)
    }

    /// A day or month that may be blank.
    pub(super) fn dated(&mut self, place: &Place) -> Option<Dated> {
        self.with(place, Need::Optional, |text| date::dated(text).map_err(|error| error.or_unknown(text)))
    }

    /// A number that may be blank.
    pub(super) fn number(&mut self, place: &Place, range: &RangeInclusive<f64>) -> Option<f64> {
        self.with(place, Need::Optional, |text| number::decimal(text, range, place.column.unit))
    }

    /// A number that must be filled in.
    pub(super) fn required_number(&mut self, place: &Place, range: &RangeInclusive<f64>) -> Option<f64> {
        self.with(place, Need::Required, |text| number::decimal(text, range, place.column.unit))
    }

    /// A whole number that may be blank.
    pub(super) fn whole(&mut self, place: &Place, range: &RangeInclusive<u32>) -> Option<u32> {
        self.with(place, Need::Optional, |text| number::whole(text, range, place.column.unit))
    }

    /// A whole number that must be filled in.
    pub(super) fn required_whole(&mut self, place: &Place, range: &RangeInclusive<u32>) -> Option<u32> {
        self.with(place, Need::Required, |text| number::whole(text, range, place.column.unit))
    }

    /// Free text that may be blank.
    pub(super) fn text(&mut self, place: &Place) -> Text {
        let cell = self.cell(place);
        if cell.len() > MAX_CELL_BYTES {
            self.wrong(place, CellError::TooLong { chars: cell.chars().count() });
            return Text::default();
        }
        cell.parse().map_err(|error: crate::model::TextError| self.wrong(place, error)).unwrap_or_default()
    }

    /// Free text that must be filled in.
    pub(super) fn required_text(&mut self, place: &Place) -> Option<Text> {
        if self.cell(place).is_empty() {
            self.blank(place);
        }
        Some(self.text(place)).filter(|text| !text.is_blank())
    }

    /// A number kept as text, such as a serial: refused where a spreadsheet has cut it short.
    pub(super) fn long_number(&mut self, place: &Place) -> Text {
        let text = self.text(place);
        if looks_rounded(text.as_str()) {
            self.wrong(place, CellError::Rounded { text: clip(text.as_str()) });
        }
        text
    }

    /// Values separated by `;`, blank ones left out.
    pub(super) fn list<T: FromStr<Err: Into<CellError>>>(&mut self, place: &Place) -> Vec<T> {
        self.items(place).into_iter().filter_map(|item| self.item(place, &item)).collect()
    }

    /// Values separated by `;`, of which none may stand twice.
    pub(super) fn distinct<T: FromStr<Err: Into<CellError>> + PartialEq>(&mut self, place: &Place) -> Vec<T> {
        let mut list = Vec::new();
        for item in self.items(place) {
            match self.item(place, &item) {
                Some(value) if list.contains(&value) => self.wrong(place, CellError::TwiceInCell { text: item }),
                Some(value) => list.push(value),
                None => {}
            }
        }
        list
    }

    fn items(&mut self, place: &Place) -> Vec<String> {
        let cell = self.cell(place);
        if cell.len() > MAX_CELL_BYTES {
            self.wrong(place, CellError::TooLong { chars: cell.chars().count() });
            return Vec::new();
        }
        cell.split(';').map(str::trim).filter(|item| !item.is_empty()).map(str::to_owned).collect()
    }

    fn item<T: FromStr<Err: Into<CellError>>>(&mut self, place: &Place, item: &str) -> Option<T> {
        if item.len() > MAX_VALUE_BYTES {
            self.wrong(place, CellError::TooLong { chars: item.chars().count() });
            return None;
        }
        item.parse().map_err(|error| self.wrong(place, error)).ok()
    }

    /// Keeps the row's key, made of the cell at `place` and perhaps others, which no other row may have.
    pub(super) fn unique(&mut self, place: &Place, key: Cow<'a, str>) {
        // A blank key is a fault of its own, and so is an endless one; both are noted where the cell is read.
        if key.is_empty() || key.len() > MAX_VALUE_BYTES {
            return;
        }
        let column = place.column.name;
        self.sheet.keys.add(key, self.record.line, place.position.unwrap_or(0), column);
    }
}

/// True for what a spreadsheet must not be shown at the beginning of a cell, since it would run it as a formula.
pub(super) fn needs_guard(text: &str) -> bool {
    text.trim_start_matches('\'').starts_with(|c: char| matches!(c, '=' | '+' | '-' | '@') || c.is_control())
}

/// Takes off the one apostrophe that writing put before a cell to be guarded.
fn unguarded(cell: &str) -> &str {
    match cell.as_bytes().first() {
        Some(b'\'') if needs_guard(cell) => cell[1..].trim(),
        _ => cell,
    }
}

/// The beginning of a text, enough to know it by.
fn clip(text: &str) -> String {
    const MOST_CHARS: usize = 40;
    text.chars().take(MOST_CHARS).collect()
}

/// True for `1.23E+11`.
fn looks_rounded(text: &str) -> bool {
    if !text.as_bytes().contains(&b'+') {
        return false;
    }
    let Some((digits, exponent)) = text.split_once("E+") else { return false };
    let whole = digits.strip_prefix('-').unwrap_or(digits);
    let mut parts = whole.splitn(2, '.');
    let numeric = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    parts.next().is_some_and(|part| part.len() == 1 && numeric(part))
        && parts.next().is_none_or(numeric)
        && numeric(exponent)
}
