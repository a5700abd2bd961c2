//! Answers of the calculator as lines for reading.
//!
//! Owns: layout of figures, findings, sources and cautions. Refuses: working anything out.

use crate::gastest::Judgement;
use std::fmt;

/// A few figures, where the formula stands and what to beware of.
#[derive(Debug, Clone, Default)]
pub struct Sheet {
    rows: Vec<(&'static str, String)>,
    source: &'static str,
    caution: &'static str,
}

impl Sheet {
    /// An empty sheet resting on `source`.
    #[must_use]
    pub fn resting_on(source: &'static str) -> Self {
        Self { source, ..Self::default() }
    }

    /// One figure more.
    #[must_use]
    pub fn row(mut self, label: &'static str, value: impl fmt::Display) -> Self {
        self.rows.push((label, value.to_string()));
        self
    }

    /// What to beware of.
    #[must_use]
    pub fn caution(mut self, caution: &'static str) -> Self {
        self.caution = caution;
        self
    }
}

impl fmt::Display for Sheet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let width = self.rows.iter().map(|(label, _)| label.chars().count()).max().unwrap_or(0);
        for (label, value) in &self.rows {
            writeln!(f, "{label:width$}  {value}")?;
        }
        for (label, text) in [("source", self.source), ("caution", self.caution)] {
            if !text.is_empty() {
                writeln!(f, "{label}: {text}")?;
            }
        }
        Ok(())
    }
}

/// What stands under every judgement.
pub const SNAPSHOT: &str =
    "a pass is a snapshot, not a certificate; a licensed technician, local code and the authority decide";

/// A judgement as lines: the verdict, then each finding with reading, limit, meaning and source.
#[must_use]
pub fn judgement(judgement: &Judgement) -> String {
    let mut text = format!("{}\n", judgement.verdict);
    for finding in &judgement.findings {
        let reading = finding.reading.as_deref().map(|reading| format!("  {reading}")).unwrap_or_default();
        text.push_str(&format!("\n{}: {}{reading}\n", finding.check, finding.verdict));
        text.push_str(&format!("  {}\n", finding.says));
        if let Some(limit) = &finding.limit {
            text.push_str(&format!("  limit: {limit}\n"));
        }
        text.push_str(&format!("  source: {}\n", finding.source));
    }
    text.push_str(&format!("\ncaution: {SNAPSHOT}\n"));
    text
}
