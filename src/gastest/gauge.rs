//! Whether a gauge can be trusted on the day of a test.
//!
//! Owns: the age of its last good check, and water that may be ice. Refuses: correcting a reading for a known error.

use super::context::{Context, GaugeStanding, Readings};
use super::finding::{Finding, TestCheck};
use crate::model::{Dated, Day, GasLimits, GaugeKind, SpanLimit, Temperature, Verdict, rounded};

/// The finding about the gauge.
pub(super) fn finding(standing: &GaugeStanding, readings: &Readings, context: &Context, limits: &GasLimits) -> Finding {
    match standing.kind {
        Some(GaugeKind::UTube) => water_column(readings, limits),
        Some(GaugeKind::Dial) => checked("dial gauge", standing.last_good_check_on, context.on, &limits.dial_check),
        Some(GaugeKind::Digital) => {
            checked("digital gauge", standing.last_good_check_on, context.on, &limits.digital_check)
        }
        None => {
            let shorter = if limits.dial_check.span.rough_days() <= limits.digital_check.span.rough_days() {
                &limits.dial_check
            } else {
                &limits.digital_check
            };
            checked("gauge of unknown kind", standing.last_good_check_on, context.on, shorter)
        }
    }
}

fn water_column(readings: &Readings, limits: &GasLimits) -> Finding {
    let freezing = &limits.freezing_f;
    let finding = |verdict, says: &str| {
        Finding::new(TestCheck::Gauge, verdict, says, &freezing.cite)
            .limit(format!("above {} °F for plain water", rounded(freezing.value, 1)))
    };
    let coldest =
        [readings.air, readings.air_after].into_iter().flatten().map(Temperature::fahrenheit).reduce(f64::min);
    match coldest {
        Some(coldest) if coldest <= freezing.value => finding(
            Verdict::Inconclusive,
            "plain water may freeze in the tube and hold a false level; use another gauge, or test where it is warmer",
        )
        .reading(format!("u-tube at {} °F", rounded(coldest, 1))),
        Some(coldest) => finding(Verdict::Pass, "a water column is its own reference")
            .reading(format!("u-tube at {} °F", rounded(coldest, 1))),
        None => finding(
            Verdict::Pass,
            "caution: a water column is its own reference, but air temperature was not written down",
        )
        .reading("u-tube")
        .cautious(),
    }
}

fn checked(what: &str, last_good_check_on: Option<Day>, on: Day, lasts: &SpanLimit) -> Finding {
    let finding = |verdict, says: String| {
        Finding::new(TestCheck::Gauge, verdict, says, &lasts.cite)
            .limit(format!("checked against a water column within {}", lasts.span))
    };
    let Some(checked_on) = last_good_check_on else {
        return finding(Verdict::Inconclusive, "no good check against a water column is known".to_owned())
            .reading(what);
    };
    let reading = format!("{what} checked {checked_on}");
    let good_through = Dated::Day(checked_on).plus(lasts.span).last_day();
    let (verdict, says) = if checked_on > on {
        (Verdict::Inconclusive, format!("the check was made after the test of {on}"))
    } else if good_through < on {
        (Verdict::Inconclusive, format!("its check was good through {good_through}; check it and test again"))
    } else {
        (Verdict::Pass, format!("its check is good through {good_through}"))
    };
    finding(verdict, says).reading(reading)
}
