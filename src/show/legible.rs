//! Names and notes made fit to be shown anywhere.
//!
//! Owns: taking out what moves the cursor, hides itself or turns text around, and saying so with U+FFFD. Refuses:
//! escaping for HTML, CSV or calendars, which their own writers do after this.

use crate::model::code::is_deceptive;

/// Longest name shown in a message; the CSV file beside it holds the whole.
const MOST_CHARS: usize = 160;

/// The text on one line: line breaks and tabs become spaces, deceptive characters U+FFFD. The joiners that emoji and
/// some scripts need stay.
#[must_use]
pub fn one_line(text: &str) -> String {
    let shown: String = text
        .chars()
        .map(|c| match c {
            c if c.is_whitespace() => ' ',
            '\u{200c}' | '\u{200d}' => c,
            c if is_deceptive(c) => '\u{fffd}',
            c => c,
        })
        .collect();
    let words: Vec<&str> = shown.split(' ').filter(|word| !word.is_empty()).collect();
    words.join(" ")
}

/// The text on one line and cut to 160 characters, the last of them `…` where it was longer.
#[must_use]
pub fn short(text: &str) -> String {
    let line = one_line(text);
    if line.chars().count() <= MOST_CHARS {
        return line;
    }
    line.chars().take(MOST_CHARS - 1).chain(std::iter::once('…')).collect()
}

/// A cell on one line that no spreadsheet takes for a formula: `= + - @` and their full-width forms are led by an
/// apostrophe.
#[must_use]
pub fn guarded(text: &str) -> String {
    let text = one_line(text);
    if text.starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠']) { format!("'{text}") } else { text }
}

/// A count with its noun, in the plural unless it is one.
#[must_use]
pub fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}
