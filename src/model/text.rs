//! Free text: names, notes, reasons.
//!
//! Owns: the length limit and line endings. Refuses: escaping, which belongs to whatever shows the text.

use serde::{Deserialize, Serialize};
use std::fmt;

/// Longest free text accepted, in characters.
pub const MAX_TEXT_CHARS: usize = 2000;

/// Why a text is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TextError {
    /// Over [`MAX_TEXT_CHARS`].
    #[error("has {chars} characters; at most {MAX_TEXT_CHARS} are kept")]
    TooLong {
        /// How many it has.
        chars: usize,
    },
    /// U+0000 cannot pass through every tool that reads our files.
    #[error("holds a NUL character")]
    Nul,
    /// A reason or name was left out.
    #[error("is blank")]
    Blank,
}

/// Free text; blank is allowed. Line endings are `\n`, spaces at both ends are dropped.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Text(Box<str>);

impl Text {
    /// The text as written.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// True when nothing was written.
    #[must_use]
    pub fn is_blank(&self) -> bool {
        self.0.is_empty()
    }

    /// The text where one is required, such as the reason for a hold.
    ///
    /// # Errors
    /// [`TextError::Blank`] where nothing was written; the limits of [`Text`] otherwise.
    pub fn required(text: &str) -> Result<Self, TextError> {
        let parsed: Self = text.parse()?;
        if parsed.is_blank() { Err(TextError::Blank) } else { Ok(parsed) }
    }
}

impl std::str::FromStr for Text {
    type Err = TextError;
    fn from_str(text: &str) -> Result<Self, TextError> {
        let trimmed = text.trim();
        if trimmed.len() > MAX_TEXT_CHARS {
            let chars = trimmed.chars().count();
            if chars > MAX_TEXT_CHARS {
                return Err(TextError::TooLong { chars });
            }
        }
        if trimmed.contains('\0') {
            return Err(TextError::Nul);
        }
        if trimmed.contains('\r') {
            return Ok(Self(trimmed.replace("\r\n", "\n").replace('\r', "\n").into()));
        }
        Ok(Self(trimmed.into()))
    }
}

impl TryFrom<String> for Text {
    type Error = TextError;
    fn try_from(text: String) -> Result<Self, TextError> {
        text.parse()
    }
}

impl From<Text> for String {
    fn from(text: Text) -> Self {
        text.0.into()
    }
}

impl fmt::Display for Text {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}
