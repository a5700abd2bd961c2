//! Rental units and the appliances in them.
//!
//! Owns: what is known of a unit itself. Refuses: its parts, tests and holds, which are facts of their own.

use super::code::{DepotCode, UnitCode};
use super::day::Day;
use super::text::Text;
use super::vin::Vin;
use serde::{Deserialize, Serialize};

/// One rental unit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unit {
    /// Its code.
    pub unit: UnitCode,
    /// Where it belongs.
    pub depot: DepotCode,
    /// What it is, as in "class C" or "travel trailer".
    #[serde(default, skip_serializing_if = "Text::is_blank")]
    pub body: Text,
    /// Vehicle identification number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vin: Option<Vin>,
    /// Licence plate.
    #[serde(default, skip_serializing_if = "Text::is_blank")]
    pub plate: Text,
    /// Model year, 1900 to 2200.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub model_year: Option<i32>,
    /// First day on rent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub in_service_on: Option<Day>,
    /// Day it left the fleet for good.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub retired_on: Option<Day>,
    /// Anything else.
    #[serde(default, skip_serializing_if = "Text::is_blank")]
    pub note: Text,
}

/// A gas appliance on a unit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Appliance {
    /// The unit.
    pub unit: UnitCode,
    /// What the appliance is called there, as in "furnace".
    pub appliance: Text,
    /// Rated input in Btu per hour.
    pub btu_h: f64,
    /// Lowest inlet pressure on its nameplate, in. w.c.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inlet_min_inwc: Option<f64>,
    /// Highest inlet pressure on its nameplate, in. w.c.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inlet_max_inwc: Option<f64>,
}
