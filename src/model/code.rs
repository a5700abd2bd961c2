//! Codes: what a fleet calls its units, parts, depots, people, gauges and bookings.
//!
//! Owns: which characters a code may hold. Refuses: uniqueness, which only the book can know.

use serde::{Deserialize, Serialize};
use std::fmt;

/// Longest code accepted, in characters.
pub const MAX_CODE_CHARS: usize = 40;

/// Why a text is no code.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CodeError {
    /// Nothing but spaces.
    #[error("is blank")]
    Blank,
    /// More than [`MAX_CODE_CHARS`] characters.
    #[error("has {chars} characters; a code has at most {MAX_CODE_CHARS}")]
    TooLong {
        /// How many it has.
        chars: usize,
    },
    /// A character that would be invisible, break a line or clash with `PART=STAMP` on the command line.
    #[error("holds the character {}, which a code may not", .character.escape_unicode())]
    Character {
        /// The offending character.
        character: char,
    },
}

/// True for characters that move the cursor, hide themselves or turn the direction of text around them.
#[must_use]
pub fn is_deceptive(character: char) -> bool {
    character.is_control()
        || matches!(character, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

fn parse_code(text: &str) -> Result<Box<str>, CodeError> {
    let trimmed = text.trim();
    if trimmed.is_empty() {
        return Err(CodeError::Blank);
    }
    let chars = trimmed.chars().count();
    if chars > MAX_CODE_CHARS {
        return Err(CodeError::TooLong { chars });
    }
    match trimmed.chars().find(|&c| is_deceptive(c) || c == '=') {
        Some(character) => Err(CodeError::Character { character }),
        None => Ok(trimmed.into()),
    }
}

macro_rules! code {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub struct $name(Box<str>);

        impl $name {
            /// The code as written.
            #[must_use]
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.0)
            }
        }

        impl std::str::FromStr for $name {
            type Err = CodeError;
            fn from_str(text: &str) -> Result<Self, CodeError> {
                parse_code(text).map(Self)
            }
        }

        impl TryFrom<String> for $name {
            type Error = CodeError;
            fn try_from(text: String) -> Result<Self, CodeError> {
                parse_code(&text).map(Self)
            }
        }

        impl From<$name> for String {
            fn from(code: $name) -> Self {
                code.0.into()
            }
        }
    )*};
}

code! {
    /// A rental unit, as painted on its side.
    UnitCode;
    /// A part with its own dates: cylinder, hose, alarm and so on.
    PartCode;
    /// A place that units belong to.
    DepotCode;
    /// Somebody who does or signs work.
    PersonCode;
    /// A gauge or water tube used for tests.
    GaugeCode;
    /// One hire of one unit.
    BookingCode;
}
