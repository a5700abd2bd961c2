//! Keys that may stand in a file only once.
//!
//! Owns: finding the rows that share one. Refuses: what a key is made of, which the readers of rows say. Keys are
//! sorted once all are read: an exported file has them in order already, where sorting costs next to nothing and a
//! hash table would cost a cache miss a row.

use super::problem::{Found, Problem};
use super::wrong::CellError;
use std::borrow::Cow;

/// Between the parts of a key; no code holds it.
pub(super) const KEY_SEPARATOR: char = '\u{1f}';

#[derive(Debug)]
struct Key<'a> {
    key: Cow<'a, str>,
    line: u32,
    position: usize,
    column: &'static str,
}

/// The keys of one file.
#[derive(Debug, Default)]
pub(super) struct Keys<'a> {
    keys: Vec<Key<'a>>,
}

impl<'a> Keys<'a> {
    /// Keeps the key of the row on `line`; `position` and `column` say where a repetition is reported.
    pub(super) fn add(&mut self, key: Cow<'a, str>, line: u32, position: usize, column: &'static str) {
        self.keys.push(Key { key, line, position, column });
    }

    /// Notes every row whose key an earlier one has, with the first line that has it.
    pub(super) fn report(mut self, name: &str, found: &mut Found) {
        // Stable, so rows of one key stay in the order of their lines.
        self.keys.sort_by(|a, b| a.key.cmp(&b.key));
        let mut repeated: Vec<(&Key<'_>, u32)> = Vec::new();
        for group in self.keys.chunk_by(|a, b| a.key == b.key) {
            if let [first, others @ ..] = group {
                repeated.extend(others.iter().map(|key| (key, first.line)));
            }
        }
        repeated.sort_by_key(|(key, _)| key.line);
        let mut among = Found::default();
        for (key, first_line) in repeated {
            among.add(|| {
                let filled: Vec<&str> = key.key.split(KEY_SEPARATOR).filter(|part| !part.is_empty()).collect();
                let error = CellError::Repeated { key: filled.join(" / "), first_line };
                Problem::cell(name, key.line, key.position, key.column, error)
            });
        }
        found.join(among);
    }
}
