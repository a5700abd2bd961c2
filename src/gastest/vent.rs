//! Which way a regulator's vent points.
//!
//! Owns: the angle. Refuses: judging ice, mud and insects, which a person must see.

use super::finding::{Finding, TestCheck};
use crate::model::{GasLimits, Vent, Verdict, rounded};

/// The finding about the vent.
pub(super) fn finding(vent: Vent, limits: &GasLimits) -> Finding {
    let limit = &limits.vent_max_degrees;
    let finding = |verdict, says, reading: String| {
        Finding::new(TestCheck::Vent, verdict, says, &limit.cite)
            .reading(reading)
            .limit(format!("within {}° of straight down", rounded(limit.value, 1)))
    };
    match vent {
        Vent::Unseen => finding(Verdict::Inconclusive, "the vent was not looked at", "unseen".to_owned()),
        Vent::Degrees(degrees) if f64::from(degrees) <= limit.value => {
            finding(Verdict::Pass, "points downward", format!("{degrees}°"))
        }
        Vent::Degrees(degrees) => finding(
            Verdict::Fail,
            "may collect water or dirt; a blocked vent can send high pressure downstream",
            format!("{degrees}°"),
        ),
    }
}
