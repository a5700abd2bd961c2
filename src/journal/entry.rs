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

/// One entry. `hash` is the SHA-256 of `prev_hash` in hex, `seq`, `recorded_at`, `author` and `body`, each on a line of
/// its own (ended by U+000A). None of them can hold a line break: `body` is JSON on one line.
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
        let hash = hash(&prev_hash, seq, recorded_at.as_str(), &author, &body);
        Self { seq, recorded_at, author, body, prev_hash, hash }
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
        let sealed = hash(prev_hash, self.seq, self.recorded_at.as_str(), &self.author, &self.body);
        if sealed == self.hash { Ok(()) } else { Err(ChainBreak::Seal { seq: self.seq }) }
    }
}

fn hash(prev_hash: &Hash, seq: u64, recorded_at: &str, author: &str, body: &str) -> Hash {
    const HEX: &[u8; 16] = b"0123456789abcdef";
    let mut prev_hex = [b'\n'; 65];
    for (pair, byte) in prev_hex.chunks_mut(2).zip(prev_hash.0) {
        pair[0] = HEX[usize::from(byte >> 4)];
        pair[1] = HEX[usize::from(byte & 15)];
    }
    let mut hasher = Sha256::new();
    hasher.update(prev_hex);
    hasher.update(seq.to_string());
    for line in [recorded_at, author, body] {
        hasher.update("\n");
        hasher.update(line);
    }
    hasher.update("\n");
    Hash(hasher.finalize().into())
}
