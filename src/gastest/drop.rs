//! The timed pressure drop: does the line hold, and does the container valve?
//!
//! Owns: the methods, their windows, and what a temperature change could explain or hide. Refuses: an allowed leak under
//! `three-test`. One inch in three minutes on a small line is a leak of a few Btu per hour, and still a leak.

use super::atmosphere::warmed_inwc;
use super::context::{Context, Readings};
use super::finding::{Finding, HAIR_INWC, TestCheck, over, shown, under, window};
use super::leak::{CUBIC_FOOT_IN3, CUBIC_INCH_CM3, smallest_leak};
use crate::model::{
    DropMethod, Elevation, GasLimits, Limit, Pressure, PressureUnit, Reading, Temperature, Verdict, rounded,
};

/// What a method asks for, in inches of water and minutes.
struct Terms<'a> {
    least: &'a Limit,
    most: &'a Limit,
    unit: PressureUnit,
    minutes: &'a Limit,
    /// Fall that still passes beyond the gauge's own step.
    allowed_fall_inwc: f64,
    hold_cite: &'a str,
}

impl<'a> Terms<'a> {
    fn of(method: DropMethod, limits: &'a GasLimits) -> Self {
        match method {
            DropMethod::ThreeTest => Self {
                least: &limits.three_test_start_min_inwc,
                most: &limits.three_test_start_max_inwc,
                unit: PressureUnit::InchOfWater,
                minutes: &limits.three_test_minutes,
                allowed_fall_inwc: 0.0,
                hold_cite: &limits.three_test_minutes.cite,
            },
            DropMethod::Air1014 => Self {
                least: &limits.air_start_min_inwc,
                most: &limits.air_start_max_inwc,
                unit: PressureUnit::InchOfWater,
                minutes: &limits.air_minutes,
                allowed_fall_inwc: 0.0,
                hold_cite: &limits.air_minutes.cite,
            },
            DropMethod::G607 => Self {
                least: &limits.g607_start_min_mbar,
                most: &limits.g607_start_max_mbar,
                unit: PressureUnit::Millibar,
                minutes: &limits.g607_minutes,
                allowed_fall_inwc: inwc(limits.g607_fall_max_mbar.value, PressureUnit::Millibar),
                hold_cite: &limits.g607_fall_max_mbar.cite,
            },
        }
    }

    fn start_window(&self) -> String {
        let unit = if self.unit == PressureUnit::Millibar { "mbar" } else { "in. w.c." };
        window(self.least, self.most, unit)
    }
}

fn inwc(value: f64, unit: PressureUnit) -> f64 {
    value * unit.pascals() / PressureUnit::InchOfWater.pascals()
}

/// What one later reading says, given what temperature may have done to it.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Movement {
    Even,
    Fell,
    Rose,
    Unclear,
}

/// The range of what the line itself may have done, in. w.c., once what temperature may have done is taken off.
struct Residue {
    least: f64,
    most: f64,
}

impl Residue {
    fn of(change: f64, warmth: f64) -> Self {
        // The pipe may not have followed the air at all, or have gone further, so any part of `warmth` is possible.
        Self { least: change - warmth.max(0.0), most: change - warmth.min(0.0) }
    }

    fn movement(&self, allowed_fall: f64, allowed_rise: f64) -> Movement {
        if self.most < -allowed_fall - HAIR_INWC {
            Movement::Fell
        } else if self.least > allowed_rise + HAIR_INWC {
            Movement::Rose
        } else if self.least >= -allowed_fall - HAIR_INWC && self.most <= allowed_rise + HAIR_INWC {
            Movement::Even
        } else {
            Movement::Unclear
        }
    }
}

/// The findings about the timed drop, if one was begun.
pub(super) fn findings(readings: &Readings, context: &Context, limits: &GasLimits) -> Vec<Finding> {
    if readings.drop_start.is_none() && readings.drop_end.is_none() && readings.drop_between.is_empty() {
        return Vec::new();
    }
    let method = readings.method.unwrap_or(limits.method);
    let terms = Terms::of(method, limits);
    let minutes = readings.minutes.filter(|minutes| minutes.is_finite() && *minutes >= 0.0);
    let (Some(start), Some(end)) = (&readings.drop_start, &readings.drop_end) else {
        let says = if readings.drop_start.is_none() { "its start was not read" } else { "its end was not read" };
        return vec![Finding::new(TestCheck::Drop, Verdict::Inconclusive, says, terms.hold_cite)];
    };

    let step = context.resolution_inwc().unwrap_or(0.0).min(limits.resolution_max_inwc.value);
    let allowed_fall = terms.allowed_fall_inwc.max(step);
    let warmth = warmth_inwc(start.pressure(), readings, limits);
    let movements: Vec<Movement> = readings
        .drop_between
        .iter()
        .map(|timed| &timed.reading)
        .chain([end])
        .map(|later| match warmth {
            Warmth::Unreckonable => Movement::Unclear,
            Warmth::Unknown => change(start, later, 0.0).movement(allowed_fall, step),
            Warmth::Change { inwc, .. } => change(start, later, inwc).movement(allowed_fall, step),
        })
        .collect();

    let written = written(method, start, readings, end, minutes);
    let finding = |verdict, says: &str, source: &str| {
        Finding::new(TestCheck::Drop, verdict, says, source).reading(written.as_str()).limit(hold_limit(&terms, step))
    };
    if movements.contains(&Movement::Fell) {
        return vec![finding(
            Verdict::Fail,
            "fell more than can be explained: a leak; shut the supply and let a licensed technician find it; test again \
             after repair",
            terms.hold_cite,
        )];
    }
    if movements.contains(&Movement::Rose) {
        return vec![rise(method, finding)];
    }

    let mut found = Vec::new();
    if movements.contains(&Movement::Unclear) {
        found.push(finding(Verdict::Inconclusive, &unclear(&warmth), &limits.temperature_margin_percent.cite));
    }
    found.extend(unmet(start, minutes, &terms, readings, context, limits, &finding));
    if found.is_empty() {
        found.push(passing(minutes, warmth, step, context, finding, &terms));
    }
    found
}

fn change(start: &Reading, later: &Reading, warmth: f64) -> Residue {
    Residue::of(later.pressure().inwc() - start.pressure().inwc(), warmth)
}

fn rise(method: DropMethod, finding: impl Fn(Verdict, &str, &str) -> Finding) -> Finding {
    match method {
        DropMethod::ThreeTest => finding(
            Verdict::Fail,
            "rose: gas may pass the shut container or service valve",
            "a heater maker's manual: a rise means the container valve is not tight, a fall means a leak",
        ),
        DropMethod::Air1014 | DropMethod::G607 => finding(
            Verdict::Inconclusive,
            "rose: the line may have warmed, or something still feeds it; test again at a steady temperature",
            "a closed line of air does not rise at a steady temperature",
        ),
    }
}

/// What the change of air temperature may have done to the line at most.
#[derive(Clone, Copy)]
enum Warmth {
    /// Not both temperatures were written down.
    Unknown,
    /// Outside the range in which it can be reckoned.
    Unreckonable,
    /// Temperatures in °F, and up to this many in. w.c. with its sign.
    Change { from: Temperature, to: Temperature, inwc: f64 },
}

fn warmth_inwc(start: Pressure, readings: &Readings, limits: &GasLimits) -> Warmth {
    let (Some(from), Some(to)) = (readings.air, readings.air_after) else { return Warmth::Unknown };
    if from == to {
        return Warmth::Change { from, to, inwc: 0.0 };
    }
    let elevation = readings.elevation.unwrap_or(Elevation::SEA_LEVEL);
    match warmed_inwc(start, from, to, elevation) {
        Ok(end) => {
            let margin = 1.0 + limits.temperature_margin_percent.value / 100.0;
            Warmth::Change { from, to, inwc: (end - start.inwc()) * margin }
        }
        Err(_) => Warmth::Unreckonable,
    }
}

fn unclear(warmth: &Warmth) -> String {
    match warmth {
        Warmth::Change { from, to, inwc } => format!(
            "the air went from {from} to {to}, which alone may move a closed line by up to {} in. w.c. and so explain or \
             hide a change; test again at a steady temperature",
            rounded(inwc.abs(), 2)
        ),
        Warmth::Unknown | Warmth::Unreckonable => {
            "what the temperature did to the line cannot be reckoned; test again at a steady temperature".to_owned()
        }
    }
}

/// What keeps a drop without a change from counting.
fn unmet(
    start: &Reading,
    minutes: Option<f64>,
    terms: &Terms<'_>,
    readings: &Readings,
    context: &Context,
    limits: &GasLimits,
    finding: &impl Fn(Verdict, &str, &str) -> Finding,
) -> Vec<Finding> {
    let method = readings.method.unwrap_or(limits.method);
    let start_inwc = start.pressure().inwc();
    let inconclusive = |says: &str, source: &str| finding(Verdict::Inconclusive, says, source);
    let mut found = Vec::new();

    if under(start_inwc, inwc(terms.least.value, terms.unit)) {
        found.push(inconclusive("began too low", &terms.least.cite).limit(terms.start_window()));
    }
    if over(start_inwc, inwc(terms.most.value, terms.unit)) {
        let says = if method == DropMethod::ThreeTest {
            "began too high: near its set pressure a regulator may be shut or feeding, and a leak or a passing valve \
             would not show"
        } else {
            "began too high"
        };
        found.push(inconclusive(says, &terms.most.cite).limit(terms.start_window()));
    }
    if method == DropMethod::ThreeTest {
        found.extend(against_lockup(start_inwc, readings, limits, inconclusive));
    }
    match minutes {
        None => found.push(inconclusive("the time it was held is unknown", &terms.minutes.cite)),
        Some(minutes) if minutes < terms.minutes.value - 1e-9 => {
            found.push(inconclusive("held too short to pass", &terms.minutes.cite));
        }
        Some(_) => {}
    }
    if context.resolution_inwc().is_some_and(|step| over(step, limits.resolution_max_inwc.value)) {
        let limit = &limits.resolution_max_inwc;
        found.push(
            inconclusive("the gauge is too coarse to show a small fall", &limit.cite)
                .limit(format!("a gauge that shows {} in. w.c. or less", rounded(limit.value, 2))),
        );
    }
    let least_cm3 = &limits.g607_volume_min_cm3;
    if method == DropMethod::G607
        && context.piping_volume_in3.is_some_and(|in3| over(least_cm3.value, in3 * CUBIC_INCH_CM3))
    {
        found.push(
            inconclusive("the volume under test is smaller than the method asks for", &least_cm3.cite)
                .limit(format!("{} cm³ or more", rounded(least_cm3.value, 0))),
        );
    }
    found
}

fn against_lockup(
    start_inwc: f64,
    readings: &Readings,
    limits: &GasLimits,
    inconclusive: impl Fn(&str, &str) -> Finding,
) -> Option<Finding> {
    let lowest = readings
        .lockup
        .iter()
        .chain(readings.lockup_later.iter().map(|timed| &timed.reading))
        .map(|reading| reading.pressure().inwc())
        .reduce(f64::min)?;
    let margin = &limits.three_test_below_lockup_inwc;
    let says = if start_inwc >= lowest - HAIR_INWC {
        "began at or above lock-up, where a passing container valve would not show"
    } else if over(start_inwc, lowest - margin.value) {
        "began too near lock-up, where a passing container valve may not show"
    } else {
        return None;
    };
    Some(inconclusive(says, &margin.cite).limit(format!(
        "{} in. w.c. or more below lock-up of {} in. w.c.",
        rounded(margin.value, 2),
        rounded(lowest, 2)
    )))
}

fn passing(
    minutes: Option<f64>,
    warmth: Warmth,
    step: f64,
    context: &Context,
    finding: impl Fn(Verdict, &str, &str) -> Finding,
    terms: &Terms<'_>,
) -> Finding {
    let shown = match (context.piping_volume_in3, minutes, Pressure::from_inwc(step)) {
        (Some(in3), Some(minutes), Some(step_pressure)) if step > 0.0 => {
            smallest_leak(in3 / CUBIC_FOOT_IN3, step_pressure, minutes).ok().map_or_else(String::new, |leak| {
                format!(
                    "; the smallest leak this could have shown is about {} ft³/h, {} Btu/h",
                    rounded(leak.scfh, 5),
                    rounded(leak.btu_h, 2)
                )
            })
        }
        _ => String::new(),
    };
    let held = if terms.allowed_fall_inwc > 0.0 { "within the allowed fall" } else { "held" };
    match warmth {
        Warmth::Change { .. } => finding(Verdict::Pass, &format!("{held}{shown}"), terms.hold_cite),
        Warmth::Unknown | Warmth::Unreckonable => finding(
            Verdict::Pass,
            &format!(
                "caution: {held}, but air temperature was not written down before and after, and 1 °F moves a closed line \
                 by about 0.8 in. w.c.{shown}"
            ),
            terms.hold_cite,
        )
        .cautious(),
    }
}

fn hold_limit(terms: &Terms<'_>, step: f64) -> String {
    let minutes = rounded(terms.minutes.value, 1);
    if terms.allowed_fall_inwc > 0.0 {
        let fall = terms.allowed_fall_inwc * PressureUnit::InchOfWater.pascals() / terms.unit.pascals();
        return format!("{minutes} min, fall of {} {} or less", rounded(fall, 2), terms.unit);
    }
    if step > 0.0 {
        return format!("{minutes} min, no change over the gauge's {} in. w.c.", rounded(step, 3));
    }
    format!("{minutes} min, no change")
}

fn written(method: DropMethod, start: &Reading, readings: &Readings, end: &Reading, minutes: Option<f64>) -> String {
    let mut text = format!("{method}: {}", shown(start));
    for timed in &readings.drop_between {
        text.push_str(&format!(", {}", shown(&timed.reading)));
    }
    text.push_str(&format!(" to {}", shown(end)));
    match minutes {
        Some(minutes) => text.push_str(&format!(" in {} min", rounded(minutes, 2))),
        None => text.push_str(" in unknown time"),
    }
    text
}
