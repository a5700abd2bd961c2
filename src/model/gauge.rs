//! Gauges: what pressures are read with, and how it is known that they read true.
//!
//! Owns: kinds of gauge and their checks. Refuses: how long a check lasts, which rules say.

use super::code::{GaugeCode, PersonCode};
use super::day::Day;
use super::test::Reading;
use super::text::Text;
use crate::named;
use serde::{Deserialize, Serialize};

/// What a gauge is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum GaugeKind {
    /// Water column in a bent tube: its own reference.
    UTube,
    /// Spring gauge.
    Dial,
    /// Electronic gauge.
    Digital,
}

named!(GaugeKind, "a gauge kind", { UTube = "u-tube", Dial = "dial", Digital = "digital" });

/// One gauge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Gauge {
    /// Its code.
    pub gauge: GaugeCode,
    /// What it is.
    pub kind: GaugeKind,
    /// Smallest step that can be read, in. w.c.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resolution_inwc: Option<f64>,
    /// Anything else.
    #[serde(default, skip_serializing_if = "Text::is_blank")]
    pub note: Text,
}

/// One comparison of a gauge with a water column.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GaugeCheck {
    /// The gauge.
    pub gauge: GaugeCode,
    /// Day of the check.
    pub on: Day,
    /// Who made it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<PersonCode>,
    /// What the gauge showed.
    pub reading: Reading,
    /// What the water column showed.
    pub reference: Reading,
}

/// Largest difference from the water column, in. w.c., where the gauge's resolution is finer or unknown: common
/// practice, no source.
const LEAST_TOLERANCE_INWC: f64 = 0.2;

impl GaugeCheck {
    /// True if the gauge agreed with the column to within its own resolution or 0.2 in. w.c., whichever is more.
    #[must_use]
    pub fn agrees(&self, gauge: &Gauge) -> bool {
        let difference = (self.reading.pressure().inwc() - self.reference.pressure().inwc()).abs();
        difference <= gauge.resolution_inwc.unwrap_or(0.0).max(LEAST_TOLERANCE_INWC) + 1e-9
    }
}
