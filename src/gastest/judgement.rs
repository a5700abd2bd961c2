//! Judging readings: what was given, or a whole test with nothing left out.
//!
//! Owns: which findings are asked for and how they add up. Refuses: a pass while anything a whole test needs is missing.

use super::context::{Context, Readings};
use super::finding::{Finding, Judgement, TestCheck};
use super::{drop, flow, gauge, lockup, vent};
use crate::model::{GasLimits, GasTest, Verdict};

/// Judges the readings that are there, each check by itself; what is not there is not asked for.
///
/// A reading that fails with a gauge out of check still fails: the unit stays where it is until a test with a trusted
/// gauge says otherwise.
#[must_use]
pub fn judge(readings: &Readings, context: &Context, limits: &GasLimits) -> Judgement {
    Judgement::of(findings(readings, context, limits))
}

/// Judges a recorded test as the whole of a unit's gas test: it passes only if lock-up, flow at a known load and a timed
/// drop were all made and all pass, with a gauge known to be right.
#[must_use]
pub fn judge_whole(test: &GasTest, context: &Context, limits: &GasLimits) -> Judgement {
    let readings = Readings::from(test);
    let context = Context { on: test.on, ..context.clone() };
    let mut found = findings(&readings, &context, limits);
    for check in [TestCheck::Lockup, TestCheck::Flow, TestCheck::Drop, TestCheck::Gauge] {
        if !found.iter().any(|finding| finding.check == check) {
            found.push(missing(check));
        }
    }
    found.sort_by_key(|finding| finding.check);
    Judgement::of(found)
}

fn findings(readings: &Readings, context: &Context, limits: &GasLimits) -> Vec<Finding> {
    let mut found = lockup::findings(readings, context, limits);
    found.extend(flow::findings(readings, context, limits));
    found.extend(flow::sag(readings, limits));
    found.extend(drop::findings(readings, context, limits));
    found.extend(
        context
            .gauge
            .as_ref()
            .filter(|gauge| gauge.kind.is_some() || gauge.last_good_check_on.is_some())
            .map(|standing| gauge::finding(standing, readings, context, limits)),
    );
    found.extend(readings.vent.map(|position| vent::finding(position, limits)));
    found
}

fn missing(check: TestCheck) -> Finding {
    let says = match check {
        TestCheck::Lockup => "lock-up was not read",
        TestCheck::Flow => "pressure under load was not read",
        TestCheck::Drop => "no timed pressure drop was made",
        TestCheck::Gauge => "nothing is known of the gauge",
        TestCheck::Sag | TestCheck::Vent => "was not looked at",
    };
    Finding::new(check, Verdict::Inconclusive, says, "a whole gas test is lock-up, flow under load and timed drop")
}
