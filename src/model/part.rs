//! Parts: everything on a unit that carries its own dates.
//!
//! Owns: the kinds of part and their fields. Refuses: how long a part lasts, which rules say.

use super::code::{PartCode, UnitCode};
use super::day::{Dated, Day};
use super::text::Text;
use crate::named;
use serde::{Deserialize, Serialize};

/// What a part is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PartKind {
    /// Removable LP-gas cylinder.
    Cylinder,
    /// Permanently mounted ASME container, as on motor homes.
    Tank,
    /// LP-gas regulator.
    Regulator,
    /// Hose, pigtails included.
    Hose,
    /// LP-gas detector, alone or combined with a CO alarm.
    LpDetector,
    /// Carbon monoxide detector.
    CoDetector,
    /// Smoke alarm.
    SmokeAlarm,
    /// Portable fire extinguisher.
    Extinguisher,
}

named!(PartKind, "a part kind", {
    Cylinder = "cylinder",
    Tank = "tank",
    Regulator = "regulator",
    Hose = "hose",
    LpDetector = "lp-detector",
    CoDetector = "co-detector",
    SmokeAlarm = "smoke-alarm",
    Extinguisher = "extinguisher",
});

/// What a pressure container is used for; the same specification has other periods in other service.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Service {
    /// Holds LP-gas.
    LpGas,
    /// Holds an extinguishing agent.
    FireExtinguisher,
}

named!(Service, "a service", {
    LpGas = "lp-gas",
    FireExtinguisher = "fire-extinguisher",
});

impl PartKind {
    /// The service a container of this kind is in; none for what is no container.
    #[must_use]
    pub fn service(self) -> Option<Service> {
        match self {
            Self::Cylinder | Self::Tank => Some(Service::LpGas),
            Self::Extinguisher => Some(Service::FireExtinguisher),
            Self::Regulator | Self::Hose | Self::LpDetector | Self::CoDetector | Self::SmokeAlarm => None,
        }
    }

    /// True where requalification marks are stamped on this kind of part.
    #[must_use]
    pub fn takes_marks(self) -> bool {
        matches!(self, Self::Cylinder | Self::Extinguisher)
    }
}

/// One part: on a unit, or on the shelf when `unit` is none.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part {
    /// Its code.
    pub part: PartCode,
    /// The unit it is fitted to; none on the shelf.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<UnitCode>,
    /// What it is.
    pub kind: PartKind,
    /// Where on the unit, as in "front left".
    #[serde(default, skip_serializing_if = "Text::is_blank")]
    pub position: Text,
    /// Specification or model as marked, as in `DOT-4BA240`.
    #[serde(default, skip_serializing_if = "Text::is_blank")]
    pub spec: Text,
    /// Serial number; kept as text, leading zeros and all.
    #[serde(default, skip_serializing_if = "Text::is_blank")]
    pub serial: Text,
    /// Make date; none where it cannot be read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub made: Option<Dated>,
    /// Day it was fitted, where known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fitted_on: Option<Day>,
    /// Replace-by date printed on it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub replace_by: Option<Dated>,
    /// Anything else.
    #[serde(default, skip_serializing_if = "Text::is_blank")]
    pub note: Text,
}
