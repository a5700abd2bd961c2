//! What can be wrong with a cell or a row.
//!
//! Owns: one variant a fault, worded to stand behind `file:line: column: `. Refuses: places, which `Problem` has.

use super::date::DateError;
use super::number::NumberError;
use crate::model::calendar::DayOrWeekdayError;
use crate::model::depot::EmailError;
use crate::model::occurrence::RuleIdError;
use crate::model::test::VentError;
use crate::model::{CodeError, Day, MarkError, NameError, Reading, TextError, VinError, nearest};
use std::str::FromStr;

/// What is wrong with a cell.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CellError {
    /// A required cell with nothing in it.
    #[error("is blank")]
    Blank,
    /// More characters than any value of its column can have.
    #[error("has {chars} characters, too many for this column")]
    TooLong {
        /// How many it has.
        chars: usize,
    },
    /// No code.
    #[error(transparent)]
    Code(#[from] CodeError),
    /// No text.
    #[error(transparent)]
    Text(#[from] TextError),
    /// No date.
    #[error(transparent)]
    Date(#[from] DateError),
    /// No number.
    #[error(transparent)]
    Number(#[from] NumberError),
    /// Not on its list of words.
    #[error(transparent)]
    Name(#[from] NameError),
    /// No mark or requalifier number.
    #[error(transparent)]
    Mark(#[from] MarkError),
    /// No vehicle identification number.
    #[error(transparent)]
    Vin(#[from] VinError),
    /// No address.
    #[error(transparent)]
    Email(#[from] EmailError),
    /// No rule name.
    #[error(transparent)]
    Rule(#[from] RuleIdError),
    /// No pressure.
    #[error(transparent)]
    Reading(#[from] <Reading as FromStr>::Err),
    /// No vent position.
    #[error(transparent)]
    Vent(#[from] VentError),
    /// Neither a weekday nor a day.
    #[error(transparent)]
    When(#[from] DayOrWeekdayError),
    /// No time zone.
    #[error("`{}` is not a time zone by its IANA name{}", .text.escape_debug(), near_zone(.text))]
    TimeZone {
        /// What was written.
        text: String,
    },
    /// A long number that a spreadsheet has cut short.
    #[error("`{text}` is what a spreadsheet makes of a long number; its digits are lost, so type them in as text")]
    Rounded {
        /// What was written.
        text: String,
    },
    /// The same key in two rows.
    #[error("`{}` stands on line {first_line} already", .key.escape_debug())]
    Repeated {
        /// The key, its columns joined by ` / `.
        key: String,
        /// The earlier line.
        first_line: u32,
    },
    /// Two words of a list the same.
    #[error("`{}` stands twice in the cell", .text.escape_debug())]
    TwiceInCell {
        /// What was written.
        text: String,
    },
    /// A later date that is earlier.
    #[error("{day} is before {earlier_column} ({earlier_day})")]
    Before {
        /// What was written.
        day: Day,
        /// The column it must not be before.
        earlier_column: &'static str,
        /// What stands there.
        earlier_day: Day,
    },
    /// A largest value below the smallest.
    #[error("{value} is less than {smaller_column} ({smaller_value})")]
    Less {
        /// What was written.
        value: f64,
        /// The column it must not be less than.
        smaller_column: &'static str,
        /// What stands there.
        smaller_value: f64,
    },
    /// A cell that means nothing while another is blank.
    #[error("is filled while {other} is blank")]
    Without {
        /// The column that is blank.
        other: &'static str,
    },
    /// Two cells that say the same thing two ways.
    #[error("is filled beside {other}; give one of them")]
    Beside {
        /// The other column.
        other: &'static str,
    },
    /// None of several cells filled.
    #[error("is blank, and so is {other}; one of them is needed")]
    NeitherNor {
        /// The other column.
        other: &'static str,
    },
    /// Something under a blank header.
    #[error("has `{}` under a blank header; name the column or clear it", .text.escape_debug())]
    Unnamed {
        /// What was written.
        text: String,
    },
    /// A closing quote with something behind it.
    #[error(
        "has text behind its closing quote{}; a quote inside a quoted cell is written twice", on_line(*.closed_on)
    )]
    AfterQuote {
        /// The line of the closing quote, where it is not the row's own.
        closed_on: Option<u32>,
    },
    /// A quote that never closes.
    #[error("opens a quote that never closes; nothing behind it was read")]
    Unclosed,
}

/// What is wrong with a row or a header.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RowError {
    /// Fewer or more cells than the header.
    #[error("has {cells} cells under a header of {columns}; check its commas and quotes")]
    Ragged {
        /// Cells in the row.
        cells: usize,
        /// Cells in the header.
        columns: usize,
    },
    /// A column that must be there is not.
    #[error("column is missing")]
    ColumnMissing,
    /// None of the columns that can stand for each other is there.
    #[error("column is missing, and so is {other}; one of them is needed")]
    ColumnsMissing {
        /// What could stand in its place.
        other: &'static str,
    },
    /// A column no file of this name has.
    #[error("is not a column of {file}; {}", near_column(*.near, .known))]
    UnknownColumn {
        /// The file.
        file: &'static str,
        /// The most similar known column.
        near: Option<&'static str>,
        /// The columns there are.
        known: Vec<&'static str>,
    },
    /// The same column twice.
    #[error("stands twice in the header, as columns {first} and {second}")]
    ColumnTwice {
        /// Position from 1.
        first: usize,
        /// Position from 1.
        second: usize,
    },
    /// Not one known column in the first line that is not blank.
    #[error("has no column of {file}; {}", first_line(*.likely_line, .known))]
    NoHeader {
        /// The file.
        file: &'static str,
        /// The columns there are.
        known: Vec<&'static str>,
        /// A line further down that does name columns.
        likely_line: Option<u32>,
    },
}

fn near_column(near: Option<&'static str>, known: &[&'static str]) -> String {
    near.map_or_else(|| format!("known are {}", known.join(", ")), |near| format!("nearest is `{near}`"))
}

fn first_line(likely_line: Option<u32>, known: &[&'static str]) -> String {
    match likely_line {
        Some(line) => format!("line {line} looks like the header, so delete the lines above it"),
        None => format!("the first line must name them: {}", known.join(", ")),
    }
}

/// Only names of the form `Area/City` are offered: old short ones are alike and lie on different continents.
fn near_zone(text: &str) -> String {
    let zones = chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name());
    nearest(text, zones.filter(|zone| zone.contains('/') && !zone.starts_with("Etc/")))
        .map_or_else(|| ", as in America/Denver".to_owned(), |near| format!("; nearest is `{near}`"))
}

fn on_line(closed_on: Option<u32>) -> String {
    closed_on.map_or_else(String::new, |line| format!(" (on line {line})"))
}
