//! What judging a gas test comes to.
//!
//! Owns: findings and how they add up. Refuses: making them, which each check's own file does.

use crate::model::{Limit, Reading, Verdict, rounded};
use crate::named;
use serde::Serialize;

/// What a finding is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TestCheck {
    /// Pressure with nothing burning.
    Lockup,
    /// Pressure under load.
    Flow,
    /// Fall from lock-up to pressure under load.
    Sag,
    /// Timed pressure drop.
    Drop,
    /// Whether the gauge can be trusted.
    Gauge,
    /// Regulator vent.
    Vent,
}

named!(TestCheck, "a gas test check", {
    Lockup = "lock-up", Flow = "flow", Sag = "sag", Drop = "drop", Gauge = "gauge", Vent = "vent",
});

/// One thing found in a test.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Finding {
    /// What it is about.
    pub check: TestCheck,
    /// What it comes to by itself.
    pub verdict: Verdict,
    /// What was read, where anything was.
    pub reading: Option<String>,
    /// What it was held against.
    pub limit: Option<String>,
    /// What that may mean, in cautious words.
    pub says: String,
    /// Where the limit stands.
    pub source: String,
    /// True where a pass is nothing to be easy about.
    pub caution: bool,
}

/// A verdict and what it rests on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Judgement {
    /// The worst of the findings: fail, else inconclusive, else pass. Without any finding it is inconclusive.
    pub verdict: Verdict,
    /// What was found, in the order of the checks.
    pub findings: Vec<Finding>,
}

impl Judgement {
    pub(super) fn of(findings: Vec<Finding>) -> Self {
        let verdict = findings.iter().map(|finding| finding.verdict).max().unwrap_or(Verdict::Inconclusive);
        Self { verdict, findings }
    }
}

impl Finding {
    pub(super) fn new(check: TestCheck, verdict: Verdict, says: impl Into<String>, source: &str) -> Self {
        Self {
            check,
            verdict,
            reading: None,
            limit: None,
            says: says.into(),
            source: source.to_owned(),
            caution: false,
        }
    }

    pub(super) fn reading(mut self, reading: impl Into<String>) -> Self {
        self.reading = Some(reading.into());
        self
    }

    pub(super) fn limit(mut self, limit: impl Into<String>) -> Self {
        self.limit = Some(limit.into());
        self
    }

    pub(super) fn cautious(mut self) -> Self {
        self.caution = true;
        self
    }
}

/// What two readings of one pressure may differ by, in. w.c.: no gauge in the trade shows less, and conversion between
/// units at the usual five figures loses less.
pub(super) const HAIR_INWC: f64 = 0.001;

/// True where a reading is under a limit by more than a rounding error. A limit or reading that is no number is taken
/// for the worse.
pub(super) fn under(value: f64, limit: f64) -> bool {
    let at_or_over = value >= limit - HAIR_INWC;
    !at_or_over
}

/// True where a reading is over a limit by more than a rounding error. A limit or reading that is no number is taken for
/// the worse.
pub(super) fn over(value: f64, limit: f64) -> bool {
    let at_or_under = value <= limit + HAIR_INWC;
    !at_or_under
}

/// A reading in inches of water, behind the user's own words where they differ.
pub(super) fn shown(reading: &Reading) -> String {
    let inwc = reading.pressure().to_string();
    if reading.as_str().parse::<f64>().is_ok() { inwc } else { format!("{} = {inwc}", reading.as_str()) }
}

/// `11 to 14 in. w.c.`
pub(super) fn window(least: &Limit, most: &Limit, unit: &str) -> String {
    format!("{} to {} {unit}", rounded(least.value, 2), rounded(most.value, 2))
}
