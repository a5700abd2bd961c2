//! Flow: the pressure that is left while appliances burn, and how far it sagged from lock-up.
//!
//! Owns: its limits, the load it must be taken at, appliances' own limits, the tap point. Refuses: loosening: an
//! appliance's limits narrow what passes and never widen it.

use super::context::{Context, InletLimits, Readings};
use super::finding::{Finding, TestCheck, over, shown, under, window};
use super::load::needed;
use crate::model::{GasLimits, Reading, Tap, Verdict, rounded};

const RANGE_SOURCE: &str =
    "range makers' manuals: their regulators deliver 10 in. w.c. and want 1 in. more at the inlet";

/// The findings about the pressure under load, if it was read at all.
pub(super) fn findings(readings: &Readings, context: &Context, limits: &GasLimits) -> Vec<Finding> {
    let Some(flow) = &readings.flow else { return Vec::new() };
    let inwc = flow.pressure().inwc();
    let load = readings.load_percent.filter(|load| load.is_finite() && *load >= 0.0);
    let written = match load {
        Some(load) => format!("{} at {} % load", shown(flow), rounded(load, 1)),
        None => shown(flow),
    };
    let finding = |verdict, says: &str, source: &str| {
        Finding::new(TestCheck::Flow, verdict, says, source).reading(written.as_str()).limit(window(
            &limits.flow_min_inwc,
            &limits.flow_max_inwc,
            "in. w.c.",
        ))
    };
    // Behind a range's regulator a low pressure says nothing of the line; a high one does, since the line's is higher.
    let upstream = readings.tap == Tap::Main;

    let mut found = Vec::new();
    if upstream && under(inwc, limits.flow_min_inwc.value) {
        let low = low_flow(readings.lockup.as_ref(), limits);
        found.push(finding(Verdict::Fail, low, &limits.flow_min_inwc.cite));
    }
    if over(inwc, limits.flow_max_inwc.value) {
        found.push(finding(
            Verdict::Fail,
            "above the limit while burning; may point to a regulator set too high or not regulating",
            &limits.flow_max_inwc.cite,
        ));
    }
    found.extend(context.appliances.iter().filter_map(|appliance| outside(appliance, inwc, upstream, &finding)));
    if !upstream {
        found.push(finding(
            Verdict::Inconclusive,
            "read behind a range's own regulator, which hides the line's pressure; read it upstream of that regulator",
            RANGE_SOURCE,
        ));
    }
    match load {
        None => found.push(
            finding(
                Verdict::Inconclusive,
                &format!("the load is unknown, so the reading shows little; {}", needed(context, limits)),
                &limits.load_min_percent.cite,
            )
            .limit(format!("{} % load or more", rounded(limits.load_min_percent.value, 1))),
        ),
        // A hair of a percent, so that 29 999.999 of 60 000 Btu/h is half.
        Some(load) if load < limits.load_min_percent.value - 1e-6 => found.push(
            finding(
                Verdict::Inconclusive,
                &format!("the load was too small to show a restriction; {}", needed(context, limits)),
                &limits.load_min_percent.cite,
            )
            .limit(format!("{} % load or more", rounded(limits.load_min_percent.value, 1))),
        ),
        Some(_) => {}
    }
    if found.is_empty() {
        found.push(passing(inwc, readings, limits, finding));
    }
    found
}

fn low_flow(lockup: Option<&Reading>, limits: &GasLimits) -> &'static str {
    let locks_up = lockup.is_some_and(|lockup| {
        let inwc = lockup.pressure().inwc();
        !under(inwc, limits.lockup_min_inwc.value) && !over(inwc, limits.lockup_max_inwc.value)
    });
    if locks_up {
        "too low under load though lock-up is normal; may point to a restriction: oil or liquid carried into the line, a \
         kinked or undersized line, a failing stage, a cold or low container"
    } else {
        "too low under load; low supply, a restriction, an undersized line or a failing regulator may explain it"
    }
}

fn outside(
    appliance: &InletLimits,
    inwc: f64,
    upstream: bool,
    finding: &impl Fn(Verdict, &str, &str) -> Finding,
) -> Option<Finding> {
    let low = upstream && appliance.least_inwc.is_some_and(|least| under(inwc, least));
    let high = appliance.most_inwc.is_some_and(|most| over(inwc, most));
    if !low && !high {
        return None;
    }
    let name = if appliance.appliance.is_empty() { "an appliance" } else { &appliance.appliance };
    let limit = match (appliance.least_inwc, appliance.most_inwc) {
        (Some(least), Some(most)) => format!("{} to {} in. w.c.", rounded(least, 2), rounded(most, 2)),
        (Some(least), None) => format!("{} in. w.c. or more", rounded(least, 2)),
        (None, most) => format!("{} in. w.c. or less", rounded(most.unwrap_or(f64::NAN), 2)),
    };
    let says = format!("outside the inlet limits of {name}, which decide for this unit");
    Some(finding(Verdict::Fail, &says, "the appliance's own inlet limits").limit(limit))
}

fn passing(
    inwc: f64,
    readings: &Readings,
    limits: &GasLimits,
    finding: impl Fn(Verdict, &str, &str) -> Finding,
) -> Finding {
    if under(inwc, limits.flow_caution_min_inwc.value) || over(inwc, limits.flow_caution_max_inwc.value) {
        let usual = window(&limits.flow_caution_min_inwc, &limits.flow_caution_max_inwc, "in. w.c.");
        let says = format!("caution: accepted, but outside the usual {usual}; an appliance's own inlet limits decide");
        return finding(Verdict::Pass, &says, &limits.flow_caution_min_inwc.cite).cautious();
    }
    if readings.lockup.as_ref().is_some_and(|lockup| over(inwc, lockup.pressure().inwc())) {
        let says = "caution: higher under load than at lock-up, which is unusual; were the two readings exchanged?";
        return finding(Verdict::Pass, says, &limits.flow_max_inwc.cite).cautious();
    }
    finding(Verdict::Pass, "within the limit", &limits.flow_min_inwc.cite)
}

/// The finding about the fall from lock-up to flow, if both were read on the line itself.
pub(super) fn sag(readings: &Readings, limits: &GasLimits) -> Option<Finding> {
    let (lockup, flow) = (readings.lockup.as_ref()?, readings.flow.as_ref()?);
    let (still, burning) = (lockup.pressure().inwc(), flow.pressure().inwc());
    if readings.tap != Tap::Main || still <= 0.0 {
        return None;
    }
    let percent = 100.0 * (still - burning) / still;
    let finding = |verdict, says| {
        Finding::new(TestCheck::Sag, verdict, says, &limits.sag_max_percent.cite)
            .reading(format!("{} % from {} to {}", rounded(percent.max(0.0), 1), lockup.pressure(), flow.pressure()))
            .limit(format!("{} % or less", rounded(limits.sag_max_percent.value, 1)))
    };
    Some(if over(percent, limits.sag_max_percent.value) {
        finding(
            Verdict::Fail,
            "sags too far under load; may point to a restriction, an undersized line or a failing stage",
        )
    } else {
        finding(Verdict::Pass, "within the limit")
    })
}
