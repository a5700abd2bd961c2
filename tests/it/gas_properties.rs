//! What must hold of any judgement, whatever the readings.

use pigtail::gastest::{Context, GaugeStanding, InletLimits, Judgement, Readings, judge, judge_whole};
use pigtail::model::{
    Day, DropMethod, GasLimits, GasTest, GaugeKind, PackId, Pressure, PressureUnit, Reading, Tap, Temperature, Vent,
    Verdict,
};
use pigtail::rules::RuleBook;
use proptest::prelude::*;
use std::sync::LazyLock;

static LIMITS: LazyLock<GasLimits> = LazyLock::new(|| RuleBook::new(&[]).unwrap().pack(PackId::Us).limits.clone());

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

fn inwc(value: f64) -> Reading {
    format!("{value}").parse().unwrap()
}

/// One part of a test in every state it can be in, and whether a whole test may pass with it in that state.
type States<T> = Vec<(T, bool)>;

fn sound_test() -> GasTest {
    GasTest {
        unit: "R-014".parse().unwrap(),
        on: day("2026-03-02"),
        by: None,
        gauge: None,
        tap: Tap::Main,
        lockup: Some(inwc(12.0)),
        lockup_later: Vec::new(),
        flow: Some(inwc(11.0)),
        load_percent: Some(60.0),
        method: None,
        drop_start: Some(inwc(8.5)),
        drop_between: Vec::new(),
        drop_end: Some(inwc(8.5)),
        minutes: Some(3.0),
        air_f: Some(60.0),
        air_after_f: Some(60.0),
        elevation_ft: Some(200.0),
        vent: None,
    }
}

fn gauges() -> States<Option<GaugeStanding>> {
    let gauge = |kind, checked: Option<&str>| {
        Some(GaugeStanding { kind, resolution_inwc: Some(0.1), last_good_check_on: checked.map(day) })
    };
    let (tube, dial, digital) = (Some(GaugeKind::UTube), Some(GaugeKind::Dial), Some(GaugeKind::Digital));
    vec![
        (None, false),
        (gauge(None, None), false),
        (gauge(tube, None), true),
        (gauge(dial, Some("2026-01-30")), true),
        (gauge(dial, Some("2026-01-29")), false),
        (gauge(dial, Some("2026-03-03")), false),
        (gauge(dial, None), false),
        (gauge(digital, Some("2025-03-02")), true),
        (gauge(digital, Some("2025-03-01")), false),
        (gauge(digital, None), false),
    ]
}

fn readings(values: &[(Option<f64>, bool)]) -> States<Option<Reading>> {
    values.iter().map(|(value, sound)| (value.map(inwc), *sound)).collect()
}

#[test]
fn a_whole_test_passes_only_where_every_part_of_it_is_there_and_sound() {
    let lockups = readings(&[(Some(12.0), true), (None, false), (Some(10.9), false), (Some(14.1), false)]);
    let flows = readings(&[(Some(11.0), true), (None, false), (Some(9.9), false), (Some(13.1), false)]);
    let loads = [(Some(60.0), true), (None, false), (Some(49.9), false)];
    let starts = readings(&[(Some(8.5), true), (None, false), (Some(7.9), false), (Some(12.0), false)]);
    let changes = [(Some(0.0), true), (None, false), (Some(-0.5), false), (Some(0.5), false)];
    let minutes = [(Some(3.0), true), (None, false), (Some(2.9), false)];
    // Nobody is obliged to write temperatures down; a change that was written down must not be able to hide a leak.
    let airs = [((Some(60.0), Some(60.0)), true), ((None, None), true), ((Some(60.0), Some(61.0)), false)];
    let taps = [(Tap::Main, true), (Tap::RangeOutlet, false)];
    let mut seen = [0_u32; 2];
    for (gauge, gauge_sound) in gauges() {
        let context = Context { gauge, ..Context::on(day("2026-03-02")) };
        for (lockup, lockup_sound) in &lockups {
            for (flow, flow_sound) in &flows {
                for (load, load_sound) in loads {
                    for (start, start_sound) in &starts {
                        for (change, change_sound) in changes {
                            for (minutes, minutes_sound) in minutes {
                                for ((air, after), air_sound) in airs {
                                    for (tap, tap_sound) in taps {
                                        let end = change.map(|change| {
                                            inwc(start.as_ref().map_or(8.5, |start| start.pressure().inwc()) + change)
                                        });
                                        let test = GasTest {
                                            tap,
                                            lockup: lockup.clone(),
                                            flow: flow.clone(),
                                            load_percent: load,
                                            drop_start: start.clone(),
                                            drop_end: end,
                                            minutes,
                                            air_f: air,
                                            air_after_f: after,
                                            ..sound_test()
                                        };
                                        let sound = gauge_sound
                                            && *lockup_sound
                                            && *flow_sound
                                            && load_sound
                                            && *start_sound
                                            && change_sound
                                            && minutes_sound
                                            && air_sound
                                            && tap_sound;
                                        let judgement = judge_whole(&test, &context, &LIMITS);
                                        assert_eq!(
                                            judgement.verdict == Verdict::Pass,
                                            sound,
                                            "{test:?} {context:?} {judgement:?}"
                                        );
                                        seen[usize::from(sound)] += 1;
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
    assert_eq!(seen, [138_234, 6], "combinations were lost");
}

/// Faults beside the readings, each alone in an otherwise sound test.
#[test]
fn one_fault_alone_is_enough() {
    let tube =
        || Some(GaugeStanding { kind: Some(GaugeKind::UTube), resolution_inwc: Some(0.1), last_good_check_on: None });
    let check = |expected: Verdict, says: &str, test: GasTest, context: Context| {
        let judgement = judge_whole(&test, &context, &LIMITS);
        assert_eq!(judgement.verdict, expected, "{says}: {judgement:?}");
        assert!(judgement.findings.iter().any(|finding| finding.says.contains(says)), "{says}: {judgement:?}");
    };
    let sound = || Context { gauge: tube(), ..Context::on(day("2026-03-02")) };
    let test = sound_test;
    let (pass, unsure, fail) = (Verdict::Pass, Verdict::Inconclusive, Verdict::Fail);

    check(pass, "within the limit", test(), sound());
    check(unsure, "may freeze", GasTest { air_f: Some(32.0), air_after_f: Some(32.0), ..test() }, sound());
    check(unsure, "may freeze", GasTest { air_f: None, air_after_f: Some(20.0), ..test() }, sound());
    check(unsure, "explain or", GasTest { air_after_f: Some(59.0), ..test() }, sound());
    check(unsure, "is unknown", GasTest { load_percent: Some(f64::NAN), ..test() }, sound());
    check(unsure, "is unknown", GasTest { minutes: Some(f64::NAN), ..test() }, sound());
    check(unsure, "not looked at", GasTest { vent: Some(Vent::Unseen), ..test() }, sound());
    check(fail, "blocked vent", GasTest { vent: Some(Vent::Degrees(46)), ..test() }, sound());
    check(pass, "points downward", GasTest { vent: Some(Vent::Degrees(45)), ..test() }, sound());
    check(fail, "crept", GasTest { lockup_later: vec!["14.2@5".parse().unwrap()], ..test() }, sound());
    check(pass, "still rose", GasTest { lockup_later: vec!["12.9@5".parse().unwrap()], ..test() }, sound());
    check(fail, "a leak", GasTest { drop_between: vec!["8.1@1".parse().unwrap()], ..test() }, sound());
    check(
        unsure,
        "at or above lock-up",
        GasTest { lockup: Some(inwc(11.0)), drop_start: Some(inwc(11.0)), drop_end: Some(inwc(11.0)), ..test() },
        sound(),
    );
    check(
        unsure,
        "too near lock-up",
        GasTest { lockup: Some(inwc(11.0)), drop_start: Some(inwc(10.1)), drop_end: Some(inwc(10.1)), ..test() },
        sound(),
    );
    check(
        unsure,
        "began too low",
        GasTest { method: Some(DropMethod::Air1014), minutes: Some(10.0), ..test() },
        sound(),
    );
    check(unsure, "began too low", GasTest { method: Some(DropMethod::G607), minutes: Some(5.0), ..test() }, sound());
    let coarse = GaugeStanding { resolution_inwc: Some(1.0), ..tube().unwrap() };
    check(unsure, "too coarse", test(), Context { gauge: Some(coarse.clone()), ..sound() });
    check(fail, "a leak", GasTest { drop_end: Some(inwc(7.8)), ..test() }, Context { gauge: Some(coarse), ..sound() });
    let narrow = InletLimits { appliance: "refrigerator".into(), least_inwc: Some(11.1), most_inwc: Some(11.5) };
    check(fail, "refrigerator", test(), Context { appliances: vec![narrow], ..sound() });
    let unreadable = InletLimits { appliance: "heater".into(), least_inwc: Some(f64::NAN), most_inwc: None };
    check(fail, "heater", test(), Context { appliances: vec![unreadable], ..sound() });
    let dial = GaugeStanding { kind: Some(GaugeKind::Dial), ..tube().unwrap() };
    let untrusted = Context { gauge: Some(dial), ..sound() };
    check(fail, "above the limit", GasTest { lockup: Some(inwc(15.0)), ..test() }, untrusted);
    check(unsure, "cannot be reckoned", GasTest { air_f: Some(60.0), air_after_f: Some(500.0), ..test() }, sound());
}

#[test]
fn the_german_drop_counts_its_allowance_and_its_volume() {
    let check = |expected: Verdict, end: &str, minutes: f64, volume_in3: Option<f64>, after: f64| {
        let readings = Readings {
            method: Some(DropMethod::G607),
            drop_start: Some("150mbar".parse().unwrap()),
            drop_end: Some(end.parse().unwrap()),
            minutes: Some(minutes),
            air: Temperature::from_fahrenheit(60.0),
            air_after: Temperature::from_fahrenheit(after),
            ..Readings::default()
        };
        let context = Context { piping_volume_in3: volume_in3, ..Context::on(day("2026-03-02")) };
        let judgement = judge(&readings, &context, &LIMITS);
        assert_eq!(judgement.verdict, expected, "{end} {minutes} {volume_in3:?} {after}: {judgement:?}");
    };
    check(Verdict::Pass, "140mbar", 5.0, None, 60.0);
    check(Verdict::Pass, "140mbar", 5.0, Some(43.0), 60.0);
    check(Verdict::Inconclusive, "140mbar", 5.0, Some(42.0), 60.0);
    check(Verdict::Inconclusive, "140mbar", 4.9, None, 60.0);
    check(Verdict::Fail, "139.9mbar", 5.0, None, 60.0);
    check(Verdict::Fail, "139mbar", 1.0, None, 60.0);
    // 1 °F is some 2.2 mbar at this pressure, taken as 2.8 at most.
    check(Verdict::Pass, "143mbar", 5.0, None, 61.0);
    check(Verdict::Inconclusive, "142mbar", 5.0, None, 61.0);
    check(Verdict::Inconclusive, "138mbar", 5.0, None, 59.0);
    check(Verdict::Fail, "137mbar", 5.0, None, 59.0);
    check(Verdict::Inconclusive, "151mbar", 5.0, None, 60.0);
}

prop_compose! {
    fn any_case()(
        lockup in 9.0..16.0_f64,
        flow in 7.0..14.0_f64,
        load in 0.0..120.0_f64,
        start in 6.0..13.0_f64,
        fall in prop_oneof![Just(0.0), 0.0..3.0_f64],
        minutes in 0.0..12.0_f64,
        warmer in prop_oneof![Just(0.0), -3.0..3.0_f64],
        age_days in 0_i64..60,
        method in prop_oneof![Just(DropMethod::ThreeTest), Just(DropMethod::Air1014)],
        tap in prop_oneof![4 => Just(Tap::Main), 1 => Just(Tap::RangeOutlet)],
        least in proptest::option::of(9.0..11.0_f64),
    ) -> Numbers {
        Numbers { lockup, flow, load, start, fall, minutes, warmer, age_days, method, tap, least }
    }
}

#[derive(Debug, Clone)]
struct Numbers {
    lockup: f64,
    flow: f64,
    load: f64,
    start: f64,
    fall: f64,
    minutes: f64,
    warmer: f64,
    age_days: i64,
    method: DropMethod,
    tap: Tap,
    least: Option<f64>,
}

impl Numbers {
    fn judge(&self, read: impl Fn(f64) -> Reading) -> Judgement {
        let on = day("2026-03-02");
        let readings = Readings {
            lockup: Some(read(self.lockup)),
            flow: Some(read(self.flow)),
            load_percent: Some(self.load),
            tap: self.tap,
            method: Some(self.method),
            drop_start: Some(read(self.start)),
            drop_end: Some(read(self.start - self.fall)),
            minutes: Some(self.minutes),
            air: Temperature::from_fahrenheit(60.0),
            air_after: Temperature::from_fahrenheit(60.0 + self.warmer),
            ..Readings::default()
        };
        let gauge = GaugeStanding {
            kind: Some(GaugeKind::Dial),
            resolution_inwc: Some(0.1),
            last_good_check_on: Some(on.plus_days(-self.age_days)),
        };
        let limits = InletLimits { appliance: String::new(), least_inwc: self.least, most_inwc: None };
        let context = Context { gauge: Some(gauge), appliances: vec![limits], ..Context::on(on) };
        judge(&readings, &context, &LIMITS)
    }

    /// The same with one reading further on the wrong side.
    fn worse(&self, which: usize, by: f64) -> Self {
        let mut worse = self.clone();
        match which {
            0 if self.lockup >= 13.0 => worse.lockup += by,
            0 if self.lockup <= 11.0 => worse.lockup -= by,
            1 if self.flow >= 11.0 => worse.flow += by,
            1 => worse.flow -= by,
            2 => worse.load = (self.load - 10.0 * by).max(0.0),
            3 => worse.fall += by,
            4 => worse.minutes = (self.minutes - by).max(0.0),
            5 => worse.age_days += (10.0 * by) as i64,
            _ => {}
        }
        worse
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_worse_reading_never_improves_a_verdict(numbers in any_case(), which in 0..6_usize, by in 0.0..2.0_f64) {
        let worse = numbers.worse(which, by);
        let (before, after) = (numbers.judge(inwc), worse.judge(inwc));
        prop_assert!(after.verdict >= before.verdict, "{worse:?}\n{before:?}\n{after:?}");
    }

    #[test]
    fn the_same_pressure_in_another_unit_gets_the_same_verdict(
        numbers in any_case(),
        unit in 0..PressureUnit::ALL.len(),
        tenths in any::<bool>(),
    ) {
        let unit = PressureUnit::ALL[unit];
        // Readings on a tenth fall on the limits themselves, where a rounding error would tell.
        let snap = |value: f64| if tenths { (value * 10.0).round() / 10.0 } else { value };
        let converted = |value: f64| -> Reading {
            let pressure = Pressure::from_inwc(snap(value)).unwrap();
            format!("{}{unit}", pressure.to(unit)).parse().unwrap()
        };
        let plain = numbers.judge(|value| inwc(snap(value)));
        prop_assert_eq!(plain.verdict, numbers.judge(converted).verdict);
    }

    #[test]
    fn converting_there_and_back_loses_nothing(value in 1e-3..1e4_f64, from in 0..12_usize, to in 0..12_usize) {
        let (from, to) = (PressureUnit::ALL[from], PressureUnit::ALL[to]);
        let there = Pressure::of(value, from).unwrap().to(to);
        let back = Pressure::of(there, to).unwrap().to(from);
        prop_assert!((back - value).abs() <= 1e-12 * value, "{value} {from} {there} {to} {back}");
    }

    #[test]
    fn reading_a_pressure_never_panics_and_never_yields_nonsense(text in "\\PC{0,24}|[-+0-9.eE ]{0,12}[a-zA-Z/² .]{0,6}") {
        if let Ok(pressure) = text.parse::<Pressure>() {
            prop_assert!(pressure.pascals().is_finite() && pressure.pascals() >= 0.0, "{text:?} {pressure:?}");
        }
    }
}
