//! Visits to the workshop that have been promised.
//!
//! Owns: what was promised, for which day and by whom. Refuses: proposing, which the planner does, and whether the work
//! is still wanted, which the due dates say.

use super::code::{PartCode, PersonCode};
use super::day::Day;
use super::occurrence::RuleId;
use serde::{Deserialize, Serialize};

/// A unit's promised day in the workshop.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeptVisit {
    /// When.
    pub on: Day,
    /// Who sets up.
    pub by: PersonCode,
    /// What is to be done.
    pub work: Vec<KeptWork>,
}

/// One piece of promised work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeptWork {
    /// Under which rule.
    pub rule: RuleId,
    /// On which part; none where it is about the whole unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<PartCode>,
    /// Who does it.
    pub by: PersonCode,
    /// Its last day in date when it was promised; none where undated. A later one means that the work has been done.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due_on: Option<Day>,
}
