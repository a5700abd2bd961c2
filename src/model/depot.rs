//! Depots: where units belong, which clock and which rules they are under.
//!
//! Owns: time zone, elevation, rule pack and digest addresses of a depot. Refuses: sending mail.

use super::code::DepotCode;
use super::text::Text;
use crate::named;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A shipped rule pack.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PackId {
    /// United States.
    #[default]
    Us,
    /// Canada.
    Ca,
    /// Germany.
    De,
}

named!(PackId, "a rule pack", { Us = "us", Ca = "ca", De = "de" });

/// An e-mail address of the plain form `local@domain`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Email(Box<str>);

/// A text that is no address.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{}` is not an e-mail address; write it as name@example.org", .text.escape_debug())]
pub struct EmailError {
    /// What was written.
    pub text: String,
}

impl Email {
    /// The address as written.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for Email {
    type Err = EmailError;
    fn from_str(text: &str) -> Result<Self, EmailError> {
        let address = text.trim();
        let sound = |part: &str| {
            !part.is_empty()
                && part
                    .chars()
                    .all(|c| !c.is_whitespace() && !super::code::is_deceptive(c) && !"<>()[],;:\\\"@".contains(c))
        };
        match address.rsplit_once('@') {
            Some((local, domain))
                if sound(local) && sound(domain) && !domain.starts_with('.') && address.len() <= 254 =>
            {
                Ok(Self(address.into()))
            }
            _ => Err(EmailError { text: address.to_owned() }),
        }
    }
}

impl TryFrom<String> for Email {
    type Error = EmailError;
    fn try_from(text: String) -> Result<Self, EmailError> {
        text.parse()
    }
}

impl From<Email> for String {
    fn from(email: Email) -> Self {
        email.0.into()
    }
}

impl fmt::Display for Email {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// One depot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Depot {
    /// Its code.
    pub depot: DepotCode,
    /// What people call it.
    #[serde(default, skip_serializing_if = "Text::is_blank")]
    pub name: Text,
    /// Time zone by its IANA name.
    pub timezone: chrono_tz::Tz,
    /// Elevation above sea level in feet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub elevation_ft: Option<f64>,
    /// Which rules its units are under.
    pub rules: PackId,
    /// Who gets its digest.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub digest_to: Vec<Email>,
}

impl Depot {
    /// A depot known only by its code: UTC and the default rules until somebody says otherwise.
    #[must_use]
    pub fn named_only(depot: DepotCode) -> Self {
        Self {
            depot,
            name: Text::default(),
            timezone: chrono_tz::UTC,
            elevation_ft: None,
            rules: PackId::default(),
            digest_to: Vec::new(),
        }
    }
}
