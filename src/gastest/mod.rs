//! What gas test readings are worth: a verdict with findings, and the physics behind it.
//!
//! Owns: judgement by the limits it is given, leak rates, temperature and elevation effects, orifices, tube volumes.
//! Refuses: figures of its own (those are `GasLimits`), clocks, storage, and telling anybody how to repair a gas system.

mod altitude;
mod atmosphere;
mod context;
mod drop;
mod finding;
mod flow;
mod gauge;
mod judgement;
mod leak;
mod load;
mod lockup;
mod orifice;
mod piping;
mod range;
mod vapour;
mod vent;

pub use altitude::{Convention, derated_btu_h, derating_percent, natural_fraction};
pub use atmosphere::{atmosphere, u_tube_fraction, warmed_inwc};
pub use context::{Context, GaugeStanding, InletLimits, Readings};
pub use finding::{Finding, Judgement, TestCheck};
pub use judgement::{judge, judge_whole};
pub use leak::{CUBIC_FOOT_IN3, CUBIC_INCH_CM3, LeakRate, PROPANE_BTU_FT3, leak_rate, smallest_leak};
pub use load::{LoadError, load_percent};
pub use orifice::{Drill, DrillError, OrificeFlow, OrificeGas, drill_for_at_least, nearest_drill, orifice_flow};
pub use piping::{Tube, volume_in3};
pub use range::OutOfRange;
pub use vapour::{propane_absolute, propane_psig};
