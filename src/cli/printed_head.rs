//! A journal head as printed in a digest, `HASH@N`.
//!
//! Owns: reading it, and saying whether a history still holds it. Refuses: fewer than eight digits of the hash.

use crate::journal::Hash;
use std::str::FromStr;

/// `HASH@N`: the journal had N entries, and this was the hash of the last, or the first digits of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PrintedHead {
    /// Hexadecimal digits, 8 to 64.
    digits: String,
    /// Number of the entry.
    pub seq: u64,
}

/// A text that is no printed head.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("it is not HASH@N; copy it from the digest's last line, as 3f0c91d2…@812")]
pub struct PrintedHeadError;

/// Fewer digits would be found by chance.
const LEAST_DIGITS: usize = 8;

impl FromStr for PrintedHead {
    type Err = PrintedHeadError;
    fn from_str(text: &str) -> Result<Self, PrintedHeadError> {
        let (hash, seq) = text.split_once('@').ok_or(PrintedHeadError)?;
        let digits = hash.trim().trim_end_matches('…').to_ascii_lowercase();
        let sound = (LEAST_DIGITS..=64).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_hexdigit());
        match seq.trim().parse() {
            Ok(seq) if sound => Ok(Self { digits, seq }),
            _ => Err(PrintedHeadError),
        }
    }
}

impl PrintedHead {
    /// What is wrong if the entry of that number now has this hash, or there is no such entry.
    #[must_use]
    pub fn missing(&self, held: Option<Hash>) -> Option<String> {
        let Self { digits, seq } = self;
        match held {
            Some(held) if held.to_string().starts_with(digits) => None,
            Some(_) => Some(format!("entry {seq} is not the one whose hash was {digits}; the history was rewritten")),
            None => Some(format!("entry {seq} is missing; the history was cut short")),
        }
    }
}
