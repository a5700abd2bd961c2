//! The load a flow reading was taken at.
//!
//! Owns: the fraction of a unit's connected input that is running. Refuses: trusting a load nobody measured.

use crate::model::GasLimits;

use super::context::Context;
use super::orifice::{OrificeGas, drill_for_at_least};
use crate::model::{Pressure, rounded};

/// Why a load cannot be worked out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LoadError {
    /// The unit's total is not a number above zero.
    #[error("connected input is {btu_h} Btu/h; it must be above zero")]
    NothingConnected {
        /// The total.
        btu_h: f64,
    },
    /// What is running is not a number of zero or more.
    #[error("running input is {btu_h} Btu/h; it must be zero or more")]
    Running {
        /// The input.
        btu_h: f64,
    },
}

/// Load in percent of a unit's connected input, both in Btu per hour. What runs is the sum of the appliances that burn, or
/// the flow of a test orifice.
///
/// # Errors
/// [`LoadError`] where either is no sensible number.
pub fn load_percent(running_btu_h: f64, connected_btu_h: f64) -> Result<f64, LoadError> {
    if !(connected_btu_h.is_finite() && connected_btu_h > 0.0) {
        return Err(LoadError::NothingConnected { btu_h: connected_btu_h });
    }
    if !(running_btu_h.is_finite() && running_btu_h >= 0.0) {
        return Err(LoadError::Running { btu_h: running_btu_h });
    }
    Ok(100.0 * running_btu_h / connected_btu_h)
}

/// What load is needed at least, and the drill that makes it, where the unit's total is known; else nothing.
pub(super) fn needed(context: &Context, limits: &GasLimits) -> String {
    let percent = rounded(limits.load_min_percent.value, 1);
    let Some(connected) = context.connected_btu_h.filter(|total| total.is_finite() && *total > 0.0) else {
        return format!("take it with {percent} % or more of the connected input running");
    };
    let wanted = connected * limits.load_min_percent.value / 100.0;
    let drill = Pressure::from_inwc(11.0)
        .and_then(|pressure| drill_for_at_least(wanted, pressure, OrificeGas::PROPANE).ok().flatten())
        .map(|(drill, flow)| format!(", about a {drill} test orifice ({:.0} Btu/h, ±15 %)", flow.btu_h))
        .unwrap_or_default();
    format!("take it with {wanted:.0} Btu/h or more running, {percent} % of this unit's {connected:.0}{drill}")
}
