//! People who do and sign work.
//!
//! Owns: skills and credentials. Refuses: their working hours, which the calendar holds.

use super::code::PersonCode;
use super::day::Day;
use super::depot::Email;
use super::mark::Rin;
use super::text::Text;
use crate::named;
use serde::{Deserialize, Serialize};

/// What somebody may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Skill {
    /// Work on LP-gas systems.
    Gas,
    /// Requalify cylinders under a RIN.
    Requalifier,
    /// Electrical work, as on wired alarms.
    Electrical,
}

named!(Skill, "a skill", { Gas = "gas", Requalifier = "requalifier", Electrical = "electrical" });

/// One person.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Person {
    /// Their code.
    pub person: PersonCode,
    /// Their name.
    #[serde(default, skip_serializing_if = "Text::is_blank")]
    pub name: Text,
    /// Where to write to them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub email: Option<Email>,
    /// What they may do.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub skills: Vec<Skill>,
    /// Requalifier identification number they work under.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rin: Option<Rin>,
    /// Last day their credential is valid.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub credential_until: Option<Day>,
}
