//! Closed lists of words, and the nearest known word to a mistyped one.
//!
//! Owns: parsing and suggesting. Refuses: deciding for the user; a near word is only ever offered.

use std::fmt;

/// A word that is not on its list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NameError {
    /// What was written.
    pub text: String,
    /// What the list is called, as in "a part kind".
    pub list: &'static str,
    /// The words on the list.
    pub known: Vec<&'static str>,
}

impl fmt::Display for NameError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}` is not {}", self.text.escape_debug(), self.list)?;
        match nearest(&self.text, self.known.iter().copied()) {
            Some(near) => write!(f, "; nearest is `{near}`"),
            None => write!(f, "; known are {}", self.known.join(", ")),
        }
    }
}

impl std::error::Error for NameError {}

/// A closed list of words, one per variant.
pub trait Named: Copy + Sized + 'static {
    /// What the list is called, with its article.
    const LIST: &'static str;
    /// Every value, in the order they are listed to people.
    const ALL: &'static [Self];

    /// The word for this value.
    fn name(self) -> &'static str;

    /// The value for a word; case and surrounding spaces do not matter.
    ///
    /// # Errors
    /// [`NameError`] naming the list and the nearest word on it.
    fn from_name(text: &str) -> Result<Self, NameError> {
        let word = text.trim();
        Self::ALL.iter().copied().find(|value| value.name().eq_ignore_ascii_case(word)).ok_or_else(|| NameError {
            text: word.to_owned(),
            list: Self::LIST,
            known: Self::ALL.iter().map(|value| value.name()).collect(),
        })
    }
}

/// Gives an enum its words: [`Named`], `Display`, `FromStr` and serde as the word.
#[macro_export]
macro_rules! named {
    ($type:ident, $list:literal, { $($variant:ident = $word:literal),+ $(,)? }) => {
        impl $crate::model::Named for $type {
            const LIST: &'static str = $list;
            const ALL: &'static [Self] = &[$(Self::$variant),+];
            fn name(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }
        }
        impl std::fmt::Display for $type {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad($crate::model::Named::name(*self))
            }
        }
        impl std::str::FromStr for $type {
            type Err = $crate::model::NameError;
            fn from_str(text: &str) -> Result<Self, $crate::model::NameError> {
                $crate::model::Named::from_name(text)
            }
        }
        impl serde::Serialize for $type {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.serialize_str($crate::model::Named::name(*self))
            }
        }
        impl<'de> serde::Deserialize<'de> for $type {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let word = std::borrow::Cow::<str>::deserialize(deserializer)?;
                $crate::model::Named::from_name(&word).map_err(serde::de::Error::custom)
            }
        }
    };
}

/// The known word most like `text`, if one is near enough to be what was meant.
///
/// Jaro-Winkler similarity on lower-cased words, from the `strsim` crate; 0.75 was chosen by trying typing slips.
pub fn nearest<'a>(text: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    const NEAR_ENOUGH: f64 = 0.75;
    let text = text.trim().to_lowercase();
    known
        .into_iter()
        .map(|word| (strsim::jaro_winkler(&text, &word.to_lowercase()), word))
        .filter(|(similarity, _)| *similarity >= NEAR_ENOUGH)
        .max_by(|(a, x), (b, y)| a.total_cmp(b).then_with(|| y.cmp(x)))
        .map(|(_, word)| word)
}
