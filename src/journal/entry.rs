//! One sealed line of the journal.
//!
//! Owns: the written form that is hashed, and checking one entry against the one before.
//! Refuses: secrecy. Whoever holds the file can rewrite all of it; heads printed in mailed digests expose that.

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt;
use std::str::FromStr;

/// A moment in UTC to the millisecond, as RFC 3339 text.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Instant(String);

impl Instant {
    /// The moment of a UTC date and time.
    #[must_use]
    pub fn from_utc(moment: chrono::DateTime<chrono::Utc>) -> Self {
        Self(moment.to_rfc3339_opts(chrono::SecondsFormat::Millis, true))
    }

    /// As stored: read back from a journal without change, right or wrong, so that a bad one shows in the hash.
    #[must_use]
    pub fn from_stored(text: String) -> Self {
        Self(text)
    }

    /// As written.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Instant {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// Who made an entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Author(Box<str>);

/// A text that names nobody.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{}` names nobody; an author is 1 to 100 printable characters on one line", .text.escape_debug())]
pub struct AuthorError {
    /// What was written.
    pub text: String,
}

impl Author {
    /// Nobody has said who.
    #[must_use]
    pub fn unnamed() -> Self {
        Self("unnamed".into())
    }

    /// As written.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for Author {
    type Err = AuthorError;
    fn from_str(text: &str) -> Result<Self, AuthorError> {
        let author = text.trim();
        let sound = !author.is_empty() && author.chars().count() <= 100 && !author.chars().any(char::is_control);
        if sound { Ok(Self(author.into())) } else { Err(AuthorError { text: text.to_owned() }) }
    }
}

impl TryFrom<String> for Author {
    type Error = AuthorError;
    fn try_from(text: String) -> Result<Self, AuthorError> {
        text.parse()
    }
}

impl From<Author> for String {
    fn from(author: Author) -> Self {
        author.0.into()
    }
}

/// A SHA-256.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Hash(pub [u8; 32]);

impl Hash {
    /// What the first entry is chained to.
    pub const ZERO: Self = Self([0; 32]);

    /// The hash of an entry with this content hash that follows on one with hash `prev`.
    #[must_use]
    pub fn chained_to(&self, prev: &Self) -> Self {
        let mut hasher = Sha256::new();
        hasher.update(prev.hex_line());
        hasher.update(self.hex_line());
        Self(hasher.finalize().into())
    }

    fn hex_line(&self) -> [u8; 65] {
        const HEX: &[u8; 16] = b"0123456789abcdef";
        let mut line = [b'\n'; 65];
        for (pair, byte) in line.chunks_exact_mut(2).zip(self.0) {
            pair.copy_from_slice(&[HEX[usize::from(byte >> 4)], HEX[usize::from(byte & 15)]]);
        }
        line
    }
}

/// A text that is no SHA-256.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{}` is no SHA-256; it is 64 digits of 0 to 9 and a to f", .text.escape_debug())]
pub struct HashError {
    /// What was written.
    pub text: String,
}

impl FromStr for Hash {
    type Err = HashError;
    fn from_str(text: &str) -> Result<Self, HashError> {
        let refused = || HashError { text: text.chars().take(80).collect() };
        let digits: Option<Vec<u8>> =
            text.chars().map(|c| c.to_digit(16).and_then(|digit| u8::try_from(digit).ok())).collect();
        let digits: [u8; 64] = digits.and_then(|digits| digits.try_into().ok()).ok_or_else(refused)?;
        let mut hash = Self::ZERO;
        for (byte, pair) in hash.0.iter_mut().zip(digits.chunks_exact(2)) {
            *byte = pair[0] << 4 | pair[1];
        }
        Ok(hash)
    }
}

impl fmt::Display for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// One entry. Its content hash is the SHA-256 of `seq`, `recorded_at`, `author` and `body`, each on a line of its own
/// (ended by U+000A); none of them can hold a line break: `body` is JSON on one line. `hash` is the SHA-256 of
/// `prev_hash` and the content hash, both in hex and each on a line of its own. So the whole chain can be checked by
/// somebody who is shown the content of a few entries and of the others only the content hash.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// 1, 2, 3 and so on without a gap.
    pub seq: u64,
    /// When it was recorded.
    pub recorded_at: Instant,
    /// By whom.
    pub author: String,
    /// The change, as JSON on one line.
    pub body: String,
    /// Hash of the entry before, or [`Hash::ZERO`].
    pub prev_hash: Hash,
    /// Hash of this entry.
    pub hash: Hash,
}

/// Why an entry does not follow from the one before.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ChainBreak {
    /// An entry is missing, or there is one too many.
    #[error("entry {expected} is missing; {found} stands in its place")]
    Gap {
        /// The number that should be here.
        expected: u64,
        /// The number that is.
        found: u64,
    },
    /// It was not sealed onto the entry before it.
    #[error("entry {seq} is not chained to the entry before it")]
    Link {
        /// The entry.
        seq: u64,
    },
    /// Something in it was changed after it was sealed.
    #[error("entry {seq} does not match its hash")]
    Seal {
        /// The entry.
        seq: u64,
    },
}

impl Entry {
    /// Seals a change onto the chain.
    #[must_use]
    pub fn seal(seq: u64, recorded_at: Instant, author: &Author, body: String, prev_hash: Hash) -> Self {
        let author = author.as_str().to_owned();
        let mut entry = Self { seq, recorded_at, author, body, prev_hash, hash: Hash::ZERO };
        entry.hash = entry.content_hash().chained_to(&prev_hash);
        entry
    }

    /// Checks this entry against the number and hash of the one before (0 and [`Hash::ZERO`] before the first).
    ///
    /// # Errors
    /// [`ChainBreak`] naming the first thing that is wrong.
    pub fn follows(&self, prev_seq: u64, prev_hash: &Hash) -> Result<(), ChainBreak> {
        let expected = prev_seq + 1;
        if self.seq != expected {
            return Err(ChainBreak::Gap { expected, found: self.seq });
        }
        if self.prev_hash != *prev_hash {
            return Err(ChainBreak::Link { seq: self.seq });
        }
        if self.content_hash().chained_to(prev_hash) == self.hash {
            Ok(())
        } else {
            Err(ChainBreak::Seal { seq: self.seq })
        }
    }

    /// Hash of what the entry says, whatever came before it.
    #[must_use]
    pub fn content_hash(&self) -> Hash {
        let mut hasher = Sha256::new();
        hasher.update(self.seq.to_string());
        for line in [self.recorded_at.as_str(), &self.author, &self.body] {
            hasher.update("\n");
            hasher.update(line);
        }
        hasher.update("\n");
        Hash(hasher.finalize().into())
    }
}
