//! Everything that is wrong with a fleet folder, each with its place.
//!
//! Owns: the form `file:line: column: what is wrong`, the order of the list and its length. Refuses: wording of the
//! faults themselves, and printing.

use super::encoding::FileError;
use super::wrong::{CellError, RowError};
use std::fmt;

/// Most problems listed one by one; those beyond are counted.
pub const MAX_SHOWN: usize = 200;

/// What is wrong.
#[derive(Debug, Clone, PartialEq)]
enum Wrong {
    File(FileError),
    Row(RowError),
    Cell(CellError),
}

/// One thing wrong, and where.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    file: String,
    line: u32,
    /// Orders problems of one line: position of the column in the header.
    position: usize,
    column: String,
    wrong: Wrong,
}

impl Problem {
    /// Something wrong with a whole file; `line` is where it shows, 1 where it shows nowhere.
    pub(super) fn file(file: &str, line: u32, error: FileError) -> Self {
        Self { file: shown(file), line, position: 0, column: "file".to_owned(), wrong: Wrong::File(error) }
    }

    /// Something wrong with a row or header; `column` is `row`, `header` or the column's name.
    pub(super) fn row(file: &str, line: u32, position: usize, column: &str, error: RowError) -> Self {
        Self { file: shown(file), line, position, column: shown(column), wrong: Wrong::Row(error) }
    }

    /// Something wrong with a cell.
    pub(super) fn cell(file: &str, line: u32, position: usize, column: &str, error: CellError) -> Self {
        Self { file: shown(file), line, position, column: shown(column), wrong: Wrong::Cell(error) }
    }

    /// The name of the file it is in.
    #[must_use]
    pub fn file_name(&self) -> &str {
        &self.file
    }

    /// The line it is on, from 1; the first line of its row where a row has several.
    #[must_use]
    pub fn line(&self) -> u32 {
        self.line
    }

    /// The column it is in; `row`, `header` or `file` where it is in no single one.
    #[must_use]
    pub fn column(&self) -> &str {
        &self.column
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: {}: ", self.file, self.line, self.column)?;
        match &self.wrong {
            Wrong::File(error) => error.fmt(f),
            Wrong::Row(error) => error.fmt(f),
            Wrong::Cell(error) => error.fmt(f),
        }
    }
}

/// A name from outside made fit for one line: no control characters, not endless.
fn shown(name: &str) -> String {
    const MOST_CHARS: usize = 60;
    let cut: String = name.chars().take(MOST_CHARS).collect();
    let mut shown = cut.escape_debug().to_string();
    if cut.len() < name.len() {
        shown.push('…');
    }
    shown
}

/// Problems as they are found, in one file: the first are kept, the rest counted.
#[derive(Debug, Default)]
pub(super) struct Found {
    kept: Vec<Problem>,
    more: usize,
}

impl Found {
    pub(super) fn is_empty(&self) -> bool {
        self.kept.is_empty()
    }

    /// Takes in what was found in the same file another way. Each keeps the first it found, so that the first of both
    /// are there to be sorted.
    pub(super) fn join(&mut self, mut other: Self) {
        self.kept.append(&mut other.kept);
        self.more += other.more;
    }

    /// Keeps a problem, or counts it where enough are kept; `problem` is only made when it is kept.
    pub(super) fn add(&mut self, problem: impl FnOnce() -> Problem) {
        if self.kept.len() < MAX_SHOWN { self.kept.push(problem()) } else { self.more += 1 }
    }
}

/// Everything that is wrong with a fleet folder, in the order of files, lines and columns. Never empty.
#[derive(Debug, Clone, PartialEq)]
pub struct FolderProblems {
    shown: Vec<Problem>,
    more: usize,
}

impl FolderProblems {
    /// Joins what was found file by file, files in their order; none where nothing was found.
    pub(super) fn join(found: Vec<Found>) -> Option<Self> {
        let mut shown = Vec::new();
        let mut more = 0;
        for mut file in found {
            file.kept.sort_by_key(|problem| (problem.line, problem.position));
            shown.append(&mut file.kept);
            more += file.more;
        }
        more += shown.len().saturating_sub(MAX_SHOWN);
        shown.truncate(MAX_SHOWN);
        (!shown.is_empty()).then_some(Self { shown, more })
    }

    /// The first [`MAX_SHOWN`] problems.
    #[must_use]
    pub fn shown(&self) -> &[Problem] {
        &self.shown
    }

    /// How many there are, shown or not.
    #[must_use]
    pub fn count(&self) -> usize {
        self.shown.len() + self.more
    }

    /// How many there are beyond those shown.
    #[must_use]
    pub fn beyond_shown(&self) -> usize {
        self.more
    }
}

impl fmt::Display for FolderProblems {
    /// One line a problem, then a line counting those beyond; no line end at the end.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, problem) in self.shown.iter().enumerate() {
            if index > 0 {
                f.write_str("\n")?;
            }
            problem.fmt(f)?;
        }
        if self.more > 0 { write!(f, "\nand {} more, not listed", self.more) } else { Ok(()) }
    }
}

impl std::error::Error for FolderProblems {}
