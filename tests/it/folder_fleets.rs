//! Random fleets for the fleet folder's tests, with texts that are awkward on the way to a spreadsheet and back.

use pigtail::model::{
    Appliance, Booking, CalendarLine, Check, Dated, Day, Depot, DepotCode, Event, Fleet, Gauge, GaugeCheck, Hold, Mark,
    Month, Named, Part, Person, Text, TimedReading, Unit, Vent, Vin,
};
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::{Just, Strategy, any};
use proptest::sample::select;
use std::collections::BTreeMap;
use std::str::FromStr;

/// Characters that have a meaning somewhere on the way: to CSV, to spreadsheets, to trimming, to encodings.
pub fn character() -> impl Strategy<Value = char> {
    let special: Vec<char> = ",;\"'=+-@\n\r\t |\\\u{1}\u{1c}\u{7f}\u{85}\u{a0}\u{feff}\u{2028}éÜ世0e".chars().collect();
    proptest::prop_oneof![4 => select(special), 2 => proptest::char::range('a', 'z'), 1 => any::<char>()]
}

pub fn spelled<T: FromStr + std::fmt::Debug>(characters: usize) -> impl Strategy<Value = T> {
    vec(character(), 1..characters)
        .prop_filter_map("not of this type", |chars| chars.into_iter().collect::<String>().parse().ok())
}

fn text() -> impl Strategy<Value = Text> {
    proptest::prop_oneof![Just(Text::default()), spelled::<Text>(12)]
}

fn filled() -> impl Strategy<Value = Text> {
    spelled::<Text>(12).prop_filter("blank", |text| !text.is_blank())
}

fn day() -> impl Strategy<Value = Day> {
    (0_i64..30_000).prop_map(|days| Day::from_str("2000-01-31").unwrap().plus_days(days))
}

fn dated(years: std::ops::RangeInclusive<i32>) -> impl Strategy<Value = Dated> {
    (years, 1_u32..=12, of(1_u32..=28)).prop_map(|(year, month, day)| match day {
        None => Dated::Month(Month::new(year, month).unwrap()),
        Some(day) => format!("{year}-{month:02}-{day:02}").parse().unwrap(),
    })
}

pub fn one_of<T: Named + std::fmt::Debug>() -> impl Strategy<Value = T> {
    select(T::ALL.to_vec())
}

fn pressure() -> impl Strategy<Value = pigtail::model::Reading> {
    (0.0..40.0_f64, 0_usize..4).prop_map(|(inwc, places)| format!("{inwc:.places$}").parse().unwrap())
}

fn timed() -> impl Strategy<Value = TimedReading> {
    (pressure(), of(number(0.0..1440.0))).prop_map(|(reading, minutes)| TimedReading { reading, minutes })
}

/// A number as somebody might type it, or with every digit a calculation may leave.
fn number(range: std::ops::Range<f64>) -> impl Strategy<Value = f64> {
    (range, 0_u32..3).prop_map(|(value, kind)| match kind {
        0 => value.trunc() + 0.0,
        1 => (value * 100.0).round() / 100.0 + 0.0,
        _ => value,
    })
}

fn address() -> impl Strategy<Value = pigtail::model::Email> {
    "[a-z=+@'-]{1,6}@[a-z]{1,5}\\.org".prop_filter_map("no address", |text| text.parse().ok())
}

fn vin() -> impl Strategy<Value = (Option<Vin>, Option<i32>)> {
    let modern = (vec(select("0123456789ABCDEFGHJKLMNPRSTUVWXYZ".chars().collect::<Vec<_>>()), 17), 1981_i32..2030);
    let modern = modern.prop_map(|(mut chars, year)| {
        let right = "0123456789X".chars().find_map(|digit| {
            chars[8] = digit;
            chars.iter().collect::<String>().parse().ok()
        });
        (right, Some(year))
    });
    let older = ("[A-Z0-9]{1,17}", 1950_i32..1981)
        .prop_map(|(text, year)| (Some(Vin::for_model_year(&text, Some(year)).unwrap()), Some(year)));
    proptest::prop_oneof![modern, older, Just((None, None))]
}

/// One list with one item a key.
fn keyed<T: std::fmt::Debug, K: Ord>(
    item: impl Strategy<Value = T>,
    key: impl Fn(&T) -> K,
) -> impl Strategy<Value = Vec<T>> {
    vec(item, 0..5).prop_map(move |items| {
        items.into_iter().map(|item| (key(&item), item)).collect::<BTreeMap<K, T>>().into_values().collect()
    })
}

pub fn nouns() -> impl Strategy<Value = Fleet> {
    let depot = (
        spelled::<DepotCode>(9),
        text(),
        select(chrono_tz::TZ_VARIANTS.to_vec()),
        of(number(-2000.0..30_000.0)),
        one_of(),
    )
        .prop_flat_map(|(depot, name, timezone, elevation_ft, rules)| {
            keyed(address(), Clone::clone).prop_map(move |digest_to| Depot {
                depot: depot.clone(),
                name: name.clone(),
                timezone,
                elevation_ft,
                rules,
                digest_to,
            })
        });
    let unit = (spelled(9), spelled(9), text(), vin(), text(), of(day()), of(day()), text()).prop_map(
        |(unit, depot, body, (vin, model_year), plate, in_service_on, retired_on, note)| Unit {
            unit,
            depot,
            body,
            vin,
            plate,
            model_year,
            in_service_on,
            retired_on,
            note,
        },
    );
    let inlet = || (0.0..10.0_f64, 0.0..10.0_f64);
    let appliance =
        (spelled(9), filled(), number(1.0..10_000_000.0), of(inlet())).prop_map(|(unit, appliance, btu_h, inlet)| {
            Appliance {
                unit,
                appliance,
                btu_h,
                inlet_min_inwc: inlet.map(|(least, _)| least),
                inlet_max_inwc: inlet.map(|(least, more)| least + more),
            }
        });
    let part =
        (
            (spelled(9), of(spelled(9)), one_of(), text(), text(), text()),
            (of(dated(1950..=2014)), of(day()), of(dated(2000..=2060)), text()),
        )
            .prop_map(|((part, unit, kind, position, spec, serial), (made, fitted_on, replace_by, note))| {
                Part { part, unit, kind, position, spec, serial, made, fitted_on, replace_by, note }
            });
    let person = (spelled(9), text(), of(address()), keyed(one_of(), |skill| *skill), of("[A-Z][0-9]{3}"), of(day()))
        .prop_map(|(person, name, email, skills, rin, credential_until)| Person {
            person,
            name,
            email,
            skills,
            rin: rin.map(|rin| rin.parse().unwrap()),
            credential_until,
        });
    let gauge = (spelled(9), one_of(), of(number(0.0..10.0)), text())
        .prop_map(|(gauge, kind, resolution_inwc, note)| Gauge { gauge, kind, resolution_inwc, note });
    (
        keyed(depot, |depot| depot.depot.clone()),
        keyed(unit, |unit| unit.unit.clone()),
        keyed(appliance, |appliance| (appliance.unit.clone(), appliance.appliance.clone())),
        keyed(part, |part| part.part.clone()),
        keyed(person, |person| person.person.clone()),
        keyed(gauge, |gauge| gauge.gauge.clone()),
    )
        .prop_map(|(depots, units, appliances, parts, people, gauges)| Fleet {
            depots,
            units,
            appliances,
            parts,
            people,
            gauges,
            ..Fleet::default()
        })
}

pub fn happenings() -> impl Strategy<Value = Fleet> {
    let mark =
        (spelled(9), dated(2015..=2025), one_of(), of("[A-Z][0-9]{3}")).prop_map(|(part, month, method, rin)| Mark {
            part,
            month: month.month(),
            method,
            rin: rin.map(|rin| rin.parse().unwrap()),
        });
    let gauge_check = (spelled(9), day(), of(spelled(9)), pressure(), pressure())
        .prop_map(|(gauge, on, by, reading, reference)| GaugeCheck { gauge, on, by, reading, reference });
    let gas_test = (
        (spelled(9), day(), of(spelled(9)), of(spelled(9)), one_of()),
        (of(pressure()), of(pressure()), of(number(0.0..1000.0)), of(pressure()), of(pressure())),
        (
            of(number(0.0..10_080.0)),
            of(number(-100.0..200.0)),
            of(number(-100.0..200.0)),
            of(number(-2000.0..30_000.0)),
        ),
        (
            of(one_of()),
            vec(timed(), 0..3),
            vec(timed(), 0..3),
            of(proptest::prop_oneof![Just(Vent::Unseen), (0_u8..=180).prop_map(Vent::Degrees)]),
        ),
    )
        .prop_map(
            |((unit, on, by, gauge, tap), (lockup, flow, load_percent, drop_start, drop_end), numbers, more)| {
                let (method, lockup_later, drop_between, vent) = more;
                let (minutes, air_f, air_after_f, elevation_ft) = numbers;
                pigtail::model::GasTest {
                    unit,
                    on,
                    by,
                    gauge,
                    tap,
                    lockup,
                    flow,
                    load_percent,
                    drop_start,
                    drop_end,
                    minutes,
                    air_f,
                    air_after_f,
                    elevation_ft,
                    method,
                    lockup_later,
                    drop_between,
                    vent,
                }
            },
        );
    let check = (spelled(9), of(spelled(9)), day(), of(spelled(9)), "[a-z0-9][a-z0-9-]{0,9}", one_of(), text())
        .prop_map(|(unit, part, on, by, rule, result, note)| Check {
            unit,
            part,
            on,
            by,
            rule: rule.parse().unwrap(),
            result,
            note,
        });
    let booking = (spelled(9), spelled(9), day(), 0_i64..40).prop_map(|(booking, unit, out_on, days)| Booking {
        booking,
        unit,
        out_on,
        back_on: out_on.plus_days(days),
    });
    let hold =
        (spelled(9), day(), filled(), of((0_i64..40, text()))).prop_map(|(unit, placed_on, reason, lifted)| Hold {
            unit,
            placed_on,
            reason,
            lifted_on: lifted.as_ref().map(|(days, _)| placed_on.plus_days(*days)),
            lifted_because: lifted.map(|(_, because)| because).unwrap_or_default(),
        });
    let event =
        (spelled(9), day(), one_of(), text()).prop_map(|(unit, on, event, note)| Event { unit, on, event, note });
    let when = proptest::prop_oneof![
        select(vec!["mon", "tue", "wed", "thu", "fri", "sat", "sun"]).prop_map(str::to_owned),
        day().prop_map(|day| day.to_string())
    ];
    let line = (spelled(9), of(spelled(9)), when, 0_u32..=1440).prop_map(|(depot, person, when, minutes)| {
        CalendarLine { depot, person, when: when.parse().unwrap(), minutes }
    });
    (
        vec(mark, 0..5),
        vec(gauge_check, 0..5),
        vec(gas_test, 0..5),
        vec(check, 0..5),
        keyed(booking, |booking| booking.booking.clone()),
        vec(hold, 0..5),
        vec(event, 0..5),
        keyed(line, |line| (line.depot.clone(), line.person.clone(), line.when.to_string())),
    )
        .prop_map(|(marks, gauge_checks, gas_tests, checks, bookings, holds, events, calendar)| Fleet {
            marks,
            gauge_checks,
            gas_tests,
            checks,
            bookings,
            holds,
            events,
            calendar,
            ..Fleet::default()
        })
}
