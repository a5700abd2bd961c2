//! Two or more readings in one word, as `9:8` from start to end.
//!
//! Owns: splitting them and sharing a unit written at the end. Refuses: judging them.

use crate::model::{Reading, ReadingError};
use std::str::FromStr;

/// Readings of one closed line in order, written `START:END` or `START:BETWEEN:END`. A unit at the very end counts for all
/// that have none: `150:141mbar`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ReadingSpan {
    pub start: Reading,
    pub between: Vec<Reading>,
    pub end: Reading,
}

/// Why a text is no span of readings.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub(super) enum SpanError {
    #[error("`{}` is not a start and an end; write them as in 9:8 or 150mbar:141mbar", .text.escape_debug())]
    NotTwo { text: String },
    #[error("`{}` has a unit at its start and none at its end; write the unit at the end", .text.escape_debug())]
    UnitNotAtEnd { text: String },
    #[error(transparent)]
    Reading(#[from] ReadingError),
}

fn is_bare(piece: &str) -> bool {
    !piece.chars().any(|c| c.is_alphabetic() && !matches!(c, 'e' | 'E'))
}

impl FromStr for ReadingSpan {
    type Err = SpanError;
    fn from_str(text: &str) -> Result<Self, SpanError> {
        let pieces: Vec<&str> = text.split(':').map(str::trim).collect();
        let (Some((last, earlier)), true) = (pieces.split_last(), pieces.len() >= 2) else {
            return Err(SpanError::NotTwo { text: text.to_owned() });
        };
        if is_bare(last) && !earlier.iter().all(|piece| is_bare(piece)) {
            return Err(SpanError::UnitNotAtEnd { text: text.to_owned() });
        }
        let unit = last.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | '+' | ' '));
        let read = |piece: &str| -> Result<Reading, ReadingError> {
            if is_bare(piece) && !is_bare(last) { format!("{piece}{unit}").parse() } else { piece.parse() }
        };
        let mut readings = earlier.iter().map(|piece| read(piece)).collect::<Result<Vec<_>, _>>()?;
        let between = readings.split_off(1);
        let start = readings.remove(0);
        Ok(Self { start, between, end: last.parse()? })
    }
}
