//! Flow through a drilled orifice, and the drill that puts a wanted load on a line.
//!
//! Owns: the formula and the drill sizes. Refuses: rating an appliance; its nameplate wins, and makers' figures spread by
//! some 15 % about the formula.

use super::leak::PROPANE_BTU_FT3;
use super::range::{Input, OutOfRange};
use crate::model::Pressure;
use std::fmt;
use std::str::FromStr;

/// Number drills and their diameters in inches, 80 to 40. Numbers 80 to 62 as in the published orifice table the formula
/// was checked against, 58 to 53 as in the check cases; the others from the common number drill series, from memory.
const DRILLS: [(u8, f64); 41] = [
    (80, 0.0135),
    (79, 0.0145),
    (78, 0.0160),
    (77, 0.0180),
    (76, 0.0200),
    (75, 0.0210),
    (74, 0.0225),
    (73, 0.0240),
    (72, 0.0250),
    (71, 0.0260),
    (70, 0.0280),
    (69, 0.0292),
    (68, 0.0310),
    (67, 0.0320),
    (66, 0.0330),
    (65, 0.0350),
    (64, 0.0360),
    (63, 0.0370),
    (62, 0.0380),
    (61, 0.0390),
    (60, 0.0400),
    (59, 0.0410),
    (58, 0.0420),
    (57, 0.0430),
    (56, 0.0465),
    (55, 0.0520),
    (54, 0.0550),
    (53, 0.0595),
    (52, 0.0635),
    (51, 0.0670),
    (50, 0.0700),
    (49, 0.0730),
    (48, 0.0760),
    (47, 0.0785),
    (46, 0.0810),
    (45, 0.0820),
    (44, 0.0860),
    (43, 0.0890),
    (42, 0.0935),
    (41, 0.0960),
    (40, 0.0980),
];

/// A number drill, 80 (finest) to 40.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drill {
    number: u8,
    diameter_in: f64,
}

/// A text that is no drill on the list.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{}` is not a number drill; write #40 to #80, or give the diameter", .text.escape_debug())]
pub struct DrillError {
    /// What was written.
    pub text: String,
}

impl Drill {
    /// Its diameter in inches.
    #[must_use]
    pub fn diameter_in(self) -> f64 {
        self.diameter_in
    }

    /// Every drill, finest first.
    pub fn all() -> impl Iterator<Item = Self> {
        DRILLS.into_iter().map(|(number, diameter_in)| Self { number, diameter_in })
    }
}

impl fmt::Display for Drill {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("#{}", self.number))
    }
}

impl FromStr for Drill {
    type Err = DrillError;
    /// Reads `#75`, `75` or `no. 75`.
    fn from_str(text: &str) -> Result<Self, DrillError> {
        let lower = text.trim().to_ascii_lowercase();
        let digits = lower.trim_start_matches("no").trim_start_matches(['.', '#', ' ']);
        let number: Option<u8> = digits.bytes().all(|b| b.is_ascii_digit()).then(|| digits.parse().ok()).flatten();
        Self::all()
            .find(|drill| Some(drill.number) == number)
            .ok_or_else(|| DrillError { text: text.trim().to_owned() })
    }
}

/// What flows through an orifice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrificeFlow {
    /// Cubic feet per hour.
    pub cfh: f64,
    /// Btu per hour as propane, 2516 Btu/ft³.
    pub btu_h: f64,
}

/// An orifice's coefficient and the gas that flows through it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrificeGas {
    /// Specific gravity of the gas, air 1.
    pub gravity: f64,
    /// Discharge coefficient.
    pub coefficient: f64,
}

impl OrificeGas {
    /// Propane, specific gravity 1.50, through an orifice of coefficient 0.90, as in the published table.
    pub const PROPANE: Self = Self { gravity: 1.50, coefficient: 0.90 };
}

const DIAMETER: Input = Input { what: "orifice diameter", unit: "in", least: 0.004, most: 0.25 };
const PRESSURE: Input = Input { what: "pressure", unit: "in. w.c.", least: 0.5, most: 28.0 };
const GRAVITY: Input = Input { what: "specific gravity", unit: "(air = 1)", least: 0.4, most: 2.1 };
const COEFFICIENT: Input = Input { what: "orifice coefficient", unit: "(ratio)", least: 0.5, most: 1.0 };
const LOAD: Input = Input { what: "load", unit: "Btu/h", least: 1.0, most: 1e6 };

/// Flow through an orifice: `1658.5 × K × π/4 × d² × √(h / SG)` cubic feet per hour, `d` in inches, `h` in inches of
/// water.
///
/// Source: the usual low-pressure orifice formula, from memory; it reproduces all nineteen rows (#80 to #62) of a
/// published table to 0.1 %. Makers' ratings imply K from 0.80 to 0.98. Range: 0.004 to 0.25 in., 0.5 to 28 in. w.c.
///
/// # Errors
/// [`OutOfRange`] naming the input outside its range.
pub fn orifice_flow(diameter_in: f64, pressure: Pressure, gas: OrificeGas) -> Result<OrificeFlow, OutOfRange> {
    let diameter_in = DIAMETER.check(diameter_in)?;
    let pressure_inwc = PRESSURE.check(pressure.inwc())?;
    let gravity = GRAVITY.check(gas.gravity)?;
    let coefficient = COEFFICIENT.check(gas.coefficient)?;
    let area_in2 = std::f64::consts::FRAC_PI_4 * diameter_in * diameter_in;
    let cfh = 1658.5 * coefficient * area_in2 * (pressure_inwc / gravity).sqrt();
    Ok(OrificeFlow { cfh, btu_h: cfh * PROPANE_BTU_FT3 })
}

/// The drill whose flow is nearest to a wanted load, with its flow; none where even the nearest is over twice the load
/// or under half of it.
///
/// Source and range: as [`orifice_flow`], loads from 1 to 1 000 000 Btu/h.
///
/// # Errors
/// [`OutOfRange`] naming the input outside its range.
pub fn nearest_drill(
    load_btu_h: f64,
    pressure: Pressure,
    gas: OrificeGas,
) -> Result<Option<(Drill, OrificeFlow)>, OutOfRange> {
    LOAD.check(load_btu_h)?;
    let mut best: Option<(Drill, OrificeFlow)> = None;
    for drill in Drill::all() {
        let flow = orifice_flow(drill.diameter_in, pressure, gas)?;
        let nearer = best.is_none_or(|(_, known)| (flow.btu_h - load_btu_h).abs() < (known.btu_h - load_btu_h).abs());
        if nearer {
            best = Some((drill, flow));
        }
    }
    Ok(best.filter(|(_, flow)| (0.5..=2.0).contains(&(flow.btu_h / load_btu_h))))
}

/// The finest drill that puts at least a wanted load on the line, with its flow; none where the widest does not.
///
/// Source and range: as [`orifice_flow`].
///
/// # Errors
/// [`OutOfRange`] naming the input outside its range.
pub fn drill_for_at_least(
    load_btu_h: f64,
    pressure: Pressure,
    gas: OrificeGas,
) -> Result<Option<(Drill, OrificeFlow)>, OutOfRange> {
    LOAD.check(load_btu_h)?;
    for drill in Drill::all() {
        let flow = orifice_flow(drill.diameter_in, pressure, gas)?;
        if flow.btu_h >= load_btu_h {
            return Ok(Some((drill, flow)));
        }
    }
    Ok(None)
}
