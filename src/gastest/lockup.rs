//! Lock-up: the pressure a regulator closes at when nothing burns.
//!
//! Owns: its limits, and creep while it is watched. Refuses: blaming the regulator for what a retest may explain.

use super::context::{Context, Readings};
use super::finding::{Finding, TestCheck, over, shown, under, window};
use crate::model::{GasLimits, Reading, Tap, TimedReading, Verdict};

/// The findings about lock-up, if it was read at all.
pub(super) fn findings(readings: &Readings, context: &Context, limits: &GasLimits) -> Vec<Finding> {
    let taken: Vec<&Reading> =
        readings.lockup.iter().chain(readings.lockup_later.iter().map(|timed| &timed.reading)).collect();
    let (Some(first), Some(last)) = (taken.first(), taken.last()) else { return Vec::new() };
    let highest = taken.iter().map(|reading| reading.pressure().inwc()).fold(f64::NEG_INFINITY, f64::max);
    let lowest = taken.iter().map(|reading| reading.pressure().inwc()).fold(f64::INFINITY, f64::min);
    let written = written(first, &readings.lockup_later, readings.lockup.is_some());
    let finding = |verdict, says: &str, source: &str| {
        Finding::new(TestCheck::Lockup, verdict, says, source).reading(written.as_str()).limit(window(
            &limits.lockup_min_inwc,
            &limits.lockup_max_inwc,
            "in. w.c.",
        ))
    };

    let mut found = Vec::new();
    if over(highest, limits.lockup_max_inwc.value) {
        let crept = !over(first.pressure().inwc(), limits.lockup_max_inwc.value);
        let says = if crept {
            "crept past the limit while it was watched; may point to a regulator that does not close tight"
        } else {
            "above the limit; may point to a regulator that does not close or is set too high, and appliance valves may \
             be over-pressured; keep appliances off until a licensed technician has seen it"
        };
        found.push(finding(Verdict::Fail, says, &limits.lockup_max_inwc.cite));
    }
    let below = under(lowest, limits.lockup_min_inwc.value);
    if readings.tap == Tap::RangeOutlet && !over(highest, limits.lockup_max_inwc.value) {
        found.push(finding(
            Verdict::Inconclusive,
            "read behind a range's own regulator, which holds its own pressure; read it upstream of that regulator",
            "range makers' manuals: their regulators deliver 10 in. w.c.",
        ));
    } else if below {
        found.push(finding(
            Verdict::Fail,
            "below any usual setting; supply shut or empty, a leak, or a wrong or mis-set regulator may explain it; \
             retest before the regulator is blamed",
            &limits.lockup_min_inwc.cite,
        ));
    }
    if found.is_empty() {
        found.push(passing(highest, first, last, context, limits, finding));
    }
    found
}

fn passing(
    highest: f64,
    first: &Reading,
    last: &Reading,
    context: &Context,
    limits: &GasLimits,
    finding: impl Fn(Verdict, &str, &str) -> Finding,
) -> Finding {
    let caution = |says: &str, source: &str| finding(Verdict::Pass, &format!("caution: {says}"), source).cautious();
    if over(highest, limits.lockup_caution_inwc.value) {
        return caution(
            "within the limit, but above what some appliances are made for; compare with their nameplates",
            &limits.lockup_caution_inwc.cite,
        );
    }
    if let Some(appliance) = context.appliances.iter().find(|a| a.most_inwc.is_some_and(|most| over(highest, most))) {
        let name = if appliance.appliance.is_empty() { "an appliance" } else { &appliance.appliance };
        return caution(
            &format!("within the limit, but above the highest inlet pressure of {name} when nothing burns"),
            "the appliance's own inlet limits",
        );
    }
    let step = context.resolution_inwc().unwrap_or(0.0);
    if over(last.pressure().inwc(), first.pressure().inwc() + step) {
        return caution(
            "within the limit, but still rose while it was watched; watch it until it stands",
            &limits.lockup_max_inwc.cite,
        );
    }
    finding(Verdict::Pass, "within the limit", &limits.lockup_max_inwc.cite)
}

fn written(first: &Reading, later: &[TimedReading], first_stands_alone: bool) -> String {
    let mut text = shown(first);
    for timed in later.iter().skip(usize::from(!first_stands_alone)) {
        text.push_str(", then ");
        text.push_str(&shown(&timed.reading));
        if let Some(minutes) = timed.minutes {
            text.push_str(&format!(" after {minutes} min"));
        }
    }
    text
}
