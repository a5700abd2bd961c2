//! Plain tables for a terminal.
//!
//! Owns: column widths and cutting what does not fit. Refuses: colour as the only carrier of meaning.

use super::legible::one_line;
use tabled::builder::Builder;
use tabled::settings::object::Columns;
use tabled::settings::{Modify, Padding, Style, Width};

/// A column: its heading, and whether it may be cut to make the table fit.
#[derive(Debug, Clone, Copy)]
pub struct Column {
    /// Heading.
    pub heading: &'static str,
    /// May be cut, the last characters replaced by `…`.
    pub elastic: bool,
}

/// A column that is never cut.
#[must_use]
pub const fn fixed(heading: &'static str) -> Column {
    Column { heading, elastic: false }
}

/// A column that is cut where the table would be too wide.
#[must_use]
pub const fn elastic(heading: &'static str) -> Column {
    Column { heading, elastic: true }
}

/// Narrowest an elastic column gets.
const LEAST_WIDTH: usize = 8;

/// Space between columns.
const GAP: usize = 2;

/// Lays out rows under headings within `width` characters, or without limit. Every line ends in a line break and
/// none in spaces. Columns that are blank in every row are left out.
#[must_use]
pub fn table(columns: &[Column], rows: &[Vec<String>], width: Option<usize>) -> String {
    let used: Vec<usize> = (0..columns.len())
        .filter(|&at| rows.iter().any(|row| row.get(at).is_some_and(|cell| !cell.is_empty())))
        .collect();
    let cells: Vec<Vec<String>> = rows
        .iter()
        .map(|row| used.iter().map(|&at| row.get(at).map_or(String::new(), |cell| one_line(cell))).collect())
        .collect();
    let natural: Vec<usize> = used
        .iter()
        .enumerate()
        .map(|(place, &at)| {
            let widest = cells.iter().map(|row| chars(&row[place])).max().unwrap_or(0);
            widest.max(chars(columns[at].heading))
        })
        .collect();
    let mut builder = Builder::default();
    builder.push_record(used.iter().map(|&at| columns[at].heading));
    for row in cells {
        builder.push_record(row);
    }
    let mut laid_out = builder.build();
    laid_out.with(Style::empty()).with(Padding::new(0, GAP, 0, 0));
    for (place, wanted) in widths(&used, columns, &natural, width) {
        laid_out.with(Modify::new(Columns::one(place)).with(Width::truncate(wanted).suffix("…")));
    }
    let mut text = String::new();
    for line in laid_out.to_string().lines() {
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

/// Widths of the elastic columns where the table would not fit: the widest give first.
fn widths(used: &[usize], columns: &[Column], natural: &[usize], width: Option<usize>) -> Vec<(usize, usize)> {
    let total = natural.iter().sum::<usize>() + GAP * natural.len().saturating_sub(1);
    let Some(mut excess) = width.and_then(|width| total.checked_sub(width)).filter(|excess| *excess > 0) else {
        return Vec::new();
    };
    let mut wanted: Vec<(usize, usize)> =
        (0..used.len()).filter(|&place| columns[used[place]].elastic).map(|place| (place, natural[place])).collect();
    while excess > 0 {
        let Some(widest) = wanted.iter_mut().filter(|(_, width)| *width > LEAST_WIDTH).max_by_key(|(_, width)| *width)
        else {
            break;
        };
        widest.1 -= 1;
        excess -= 1;
    }
    wanted.retain(|(place, width)| *width < natural[*place]);
    wanted
}

fn chars(text: &str) -> usize {
    text.chars().count()
}
