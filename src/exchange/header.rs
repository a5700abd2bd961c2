//! A file's first line: which column is where.
//!
//! Owns: finding columns by name, in any order, and what is wrong with a header. Refuses: rows.

use super::column::{Column, Need};
use super::encoding::FileError;
use super::problem::{Found, Problem};
use super::scan::{Record, Scanner};
use super::table::FolderFile;
use super::wrong::RowError;

/// A column and where it stands in this file.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    pub(super) column: &'static Column,
    /// Position from 0; none where the file lacks the column.
    pub(super) position: Option<usize>,
}

/// Where each column of a file stands.
#[derive(Debug)]
pub(super) struct Header {
    /// By column, in the order of [`FolderFile::columns`].
    positions: Vec<Option<usize>>,
    /// Positions under a blank header.
    pub(super) blank: Vec<usize>,
    /// Cells in the header.
    pub(super) width: usize,
    /// Cells a row must have: up to the last one with a name.
    pub(super) needed: usize,
}

impl Header {
    /// Reads the header of `file`; none where no row below it can be understood.
    pub(super) fn read(
        file: FolderFile,
        name: &str,
        text: &str,
        scanner: &mut Scanner<'_>,
        found: &mut Found,
    ) -> Option<Self> {
        let Some(record) = first_record(text, scanner) else {
            found.add(|| Problem::file(name, 1, FileError::Empty));
            return None;
        };
        if let Some(by) = other_separator(file, text, &record) {
            found.add(|| Problem::file(name, record.line, FileError::Separator { by }));
            return None;
        }
        let mut header =
            Self { positions: vec![None; file.columns().len()], blank: Vec::new(), width: record.count, needed: 0 };
        let mut unknown: Vec<(usize, String)> = Vec::new();
        for position in 0..record.count {
            let label = record.field(text, position);
            if label.is_empty() {
                header.blank.push(position);
                continue;
            }
            header.needed = position + 1;
            let Some(column) = file.column(&label) else {
                unknown.push((position, label.into_owned()));
                continue;
            };
            match header.positions[column] {
                None => header.positions[column] = Some(position),
                Some(first) => found.add(|| {
                    let twice = RowError::ColumnTwice { first: first + 1, second: position + 1 };
                    Problem::row(name, record.line, position, &label, twice)
                }),
            }
        }
        if header.positions.iter().all(Option::is_none) {
            let known = file.columns().iter().map(|column| column.name).collect();
            let likely_line = header_below(file, text, scanner);
            found.add(|| {
                let none = RowError::NoHeader { file: file_name(file), known, likely_line };
                Problem::row(name, record.line, 0, "header", none)
            });
            return None;
        }
        for (position, label) in unknown {
            found.add(|| {
                let near = file.nearest_column(&label);
                let known = file.columns().iter().map(|column| column.name).collect();
                let unknown = RowError::UnknownColumn { file: file_name(file), near, known };
                Problem::row(name, record.line, position, &label, unknown)
            });
        }
        header.miss(file, name, record.line, found);
        Some(header)
    }

    /// Reports columns that must be there and are not.
    fn miss(&self, file: FolderFile, name: &str, line: u32, found: &mut Found) {
        // Behind every column that is there, since a missing one stands nowhere.
        let after = self.width;
        for (index, column) in file.columns().iter().enumerate() {
            if column.need == Need::Required && self.positions[index].is_none() {
                found.add(|| Problem::row(name, line, after + index, column.name, RowError::ColumnMissing));
            }
        }
        let has = |column: &str| file.column(column).is_some_and(|index| self.positions[index].is_some());
        let choices = file.choices();
        if choices.iter().any(|set| set.iter().all(|column| has(column))) {
            return;
        }
        // Half of a set says which one was meant; otherwise the first is asked for and the other named.
        let meant = choices.iter().find(|set| set.iter().any(|column| has(column))).or(choices.first());
        let other = choices.iter().find(|choice| Some(*choice) != meant).and_then(|choice| choice.first()).copied();
        for column in meant.iter().flat_map(|set| set.iter()).filter(|column| !has(column)) {
            let missing = other.map_or(RowError::ColumnMissing, |other| RowError::ColumnsMissing { other });
            let order = after + file.column(column).unwrap_or(0);
            found.add(|| Problem::row(name, line, order, column, missing));
        }
    }

    /// Where the file's column number `column` stands.
    pub(super) fn position(&self, column: usize) -> Option<usize> {
        self.positions.get(column).copied().flatten()
    }

    /// Where the columns of a file stand; `columns` is the file's own list.
    pub(super) fn places<const N: usize>(&self, columns: &'static [Column; N]) -> [Place; N] {
        std::array::from_fn(|index| Place {
            column: &columns[index],
            position: self.positions.get(index).copied().flatten(),
        })
    }
}

fn file_name(file: FolderFile) -> &'static str {
    crate::model::Named::name(file)
}

/// The first record that is not blank.
fn first_record(text: &str, scanner: &mut Scanner<'_>) -> Option<Record> {
    let mut record = Record::default();
    while scanner.read(&mut record) {
        if !record.is_blank(text) {
            return Some(record);
        }
    }
    None
}

/// The line of a record not far below that names two columns or more, as below a title.
fn header_below(file: FolderFile, text: &str, scanner: &mut Scanner<'_>) -> Option<u32> {
    const MOST_LINES_OF_TITLE: usize = 10;
    let mut record = Record::default();
    for _ in 0..MOST_LINES_OF_TITLE {
        if !scanner.read(&mut record) {
            return None;
        }
        let named = (0..record.count).filter(|position| file.column(&record.field(text, *position)).is_some());
        if named.count() >= 2 {
            return Some(record.line);
        }
    }
    None
}

/// The separator a header of this file was written with, where it is no comma.
fn other_separator(file: FolderFile, text: &str, record: &Record) -> Option<&'static str> {
    let knows = |separator: char| {
        (0..record.count).any(|position| {
            let cell = record.field(text, position);
            cell.contains(separator)
                && cell.split(separator).any(|label| file.column(label.trim_matches('"')).is_some())
        })
    };
    [(';', "semicolons"), ('\t', "tabs"), ('|', "vertical bars")]
        .into_iter()
        .find(|(sign, _)| knows(*sign))
        .map(|(_, by)| by)
}

/// The file whose header this is: every cell a column of it and nothing missing; none where no one file fits best.
pub(super) fn recognise(text: &str) -> Option<FolderFile> {
    let record = first_record(text, &mut Scanner::new(text))?;
    let labels: Vec<_> =
        (0..record.count).map(|position| record.field(text, position)).filter(|label| !label.is_empty()).collect();
    let fit = |file: FolderFile| {
        let mut found = Found::default();
        Header::read(file, "", text, &mut Scanner::new(text), &mut found);
        found.is_empty()
    };
    let known = |file: FolderFile| labels.iter().filter(|label| file.column(label).is_some()).count();
    let all = <FolderFile as crate::model::Named>::ALL;
    let mut fitting = all.iter().copied().filter(|file| fit(*file));
    match (fitting.next(), fitting.next()) {
        (Some(file), None) => Some(file),
        (Some(_), Some(_)) => None,
        // No header fits as it stands: take the one file that knows the most of it, so that its faults can be named.
        (None, _) => {
            let most = all.iter().copied().map(known).max().filter(|most| *most >= 2)?;
            let mut best = all.iter().copied().filter(|file| known(*file) == most);
            best.next().filter(|_| best.next().is_none())
        }
    }
}
