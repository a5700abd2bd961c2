//! When schedules come, against two independent computations.
//!
//! Owns: 2024 to 2030 in three zones, by Python's `zoneinfo` (`fixtures/schedule/comings.txt`) and by the `croner`
//! crate; and what is refused. Refuses: the present time.

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::Tz;
use pigtail::digest::{DEFAULT_SCHEDULE, Schedule, latest_slot};
use std::collections::BTreeSet;

const COMINGS: &str = include_str!("../../fixtures/schedule/comings.txt");
const ZONES: [Tz; 3] = [Tz::America__Denver, Tz::Europe__Berlin, Tz::Australia__Lord_Howe];

fn moment(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

fn first() -> DateTime<Utc> {
    moment("2024-01-01T00:00:00Z")
}

fn end() -> DateTime<Utc> {
    moment("2031-01-01T00:00:00Z")
}

/// Every coming from 2024 to 2030, found by stepping with `next_after`.
fn comings(schedule: &Schedule, zone: Tz) -> Vec<DateTime<Utc>> {
    let before = first() - TimeDelta::seconds(1);
    std::iter::successors(schedule.next_after(before, zone), |at| schedule.next_after(*at, zone))
        .take_while(|at| *at < end())
        .collect()
}

/// True on the days next to a change of the clock, to which some cases of the fixture are cut.
fn near_change(at: DateTime<Utc>, zone: Tz) -> bool {
    use chrono::{NaiveTime, Offset, TimeZone};
    let day: NaiveDate = at.with_timezone(&zone).date_naive();
    let noon = zone.from_local_datetime(&day.and_time(NaiveTime::from_hms_opt(12, 0, 0).unwrap())).unwrap();
    let offset = |at: DateTime<Tz>| at.offset().fix();
    offset(noon - TimeDelta::days(1)) != offset(noon + TimeDelta::days(1))
}

#[test]
fn as_python_computes_them() {
    let mut lines = COMINGS.lines().peekable();
    let mut cases = 0;
    while let Some(header) = lines.next() {
        let fields: Vec<&str> = header.split('\t').collect();
        let [zone, expression, kind] = fields[..] else { panic!("{header}") };
        let zone: Tz = zone.parse().unwrap();
        let mut expected = Vec::new();
        while let Some(line) = lines.next_if(|line| line.starts_with(' ')) {
            expected.push(moment(&line.trim().replace('Z', ":00Z")));
        }
        let schedule: Schedule = expression.parse().unwrap();
        let mut ours = comings(&schedule, zone);
        if kind == "near" {
            ours.retain(|at| near_change(*at, zone));
        }
        assert_eq!(ours, expected, "{zone} {expression}");
        // Backwards too: at each coming, just before it, and a while after.
        for pair in expected.windows(2).filter(|_| kind == "all") {
            assert_eq!(schedule.last_at_or_before(pair[1], zone), Some(pair[1]), "{zone} {expression}");
            let before = pair[1] - TimeDelta::seconds(1);
            assert_eq!(schedule.last_at_or_before(before, zone), Some(pair[0]), "{zone} {expression}");
        }
        cases += 1;
    }
    assert_eq!(cases, 27);
}

#[test]
fn as_croner_computes_them() {
    let expressions = [
        "0 7 * * Mon",
        "30 2 * * Sun",
        "15 2 * * *",
        "45 1 * * *",
        "0 9 1 * *",
        "0 6 13 * Fri",
        "5 4 * Apr-Sep 1,4",
        "0 12 29 2 *",
    ];
    let mut told = Vec::new();
    for zone in ZONES {
        for expression in expressions {
            let ours: BTreeSet<_> = comings(&expression.parse().unwrap(), zone).into_iter().collect();
            let cron: croner::Cron = expression.parse().unwrap();
            let from = (first() - TimeDelta::seconds(1)).with_timezone(&zone);
            let theirs: BTreeSet<_> =
                cron.iter_after(from).map(|at| at.with_timezone(&Utc)).take_while(|at| *at < end()).collect();
            let mut differ: Vec<_> = ours
                .symmetric_difference(&theirs)
                .map(|at| format!("{zone} {expression} {at} {}", if ours.contains(at) { "ours" } else { "croner" }))
                .collect();
            told.append(&mut differ);
        }
    }
    assert_eq!(told, Vec::<String>::new());
}

#[test]
fn next_and_last_agree_minute_by_minute_around_changes() {
    let changes = [
        (ZONES[0], ["2026-03-08T08:00:00Z", "2026-11-01T06:30:00Z"]),
        (ZONES[1], ["2026-03-29T00:00:00Z", "2026-10-25T00:00:00Z"]),
        (ZONES[2], ["2026-04-04T14:00:00Z", "2026-10-03T14:30:00Z"]),
    ];
    for (zone, changes) in changes {
        for (change, expression) in
            changes.iter().flat_map(|change| ["*/20 1-2 * * *", "* * * * *", "30 2 * * *"].map(|text| (change, text)))
        {
            let schedule: Schedule = expression.parse().unwrap();
            let mut at = moment(change);
            for _ in 0..180 {
                let next = schedule.next_after(at, zone).unwrap();
                assert!(next > at);
                assert_eq!(schedule.last_at_or_before(next, zone), Some(next), "{zone} {expression} {at}");
                for between in [at, next - TimeDelta::seconds(1)] {
                    let last = schedule.last_at_or_before(between, zone).unwrap();
                    assert!(last <= at, "{zone} {expression}: {last} lies between {at} and {next}");
                    assert_eq!(schedule.next_after(last, zone), Some(next), "{zone} {expression} {between}: {last}");
                }
                at += TimeDelta::minutes(1);
            }
        }
    }
}

#[test]
fn the_default_is_monday_at_seven() {
    let schedule = Schedule::default();
    assert_eq!(schedule.as_str(), DEFAULT_SCHEDULE);
    let next = schedule.next_after(moment("2026-03-04T12:00:00Z"), Tz::America__Denver);
    assert_eq!(next, Some(moment("2026-03-09T13:00:00Z")));
}

#[test]
fn a_slot_belongs_to_the_week_of_its_depot() {
    // 23:30 on Sunday in Denver is Monday in UTC already.
    let late: Schedule = "30 23 * * Sun".parse().unwrap();
    let slot = late.last_slot(moment("2026-03-02T12:00:00Z"), Tz::America__Denver).unwrap();
    assert_eq!((slot.at, slot.week.to_string().as_str()), (moment("2026-03-02T06:30:00Z"), "2026-W09"));
    let monday = Schedule::default();
    let clocks = [(&late, Tz::America__Denver), (&monday, Tz::Europe__Berlin)];
    let latest = latest_slot(clocks, moment("2026-03-02T06:10:00Z")).unwrap();
    assert_eq!((latest.at, latest.week.to_string().as_str()), (moment("2026-03-02T06:00:00Z"), "2026-W10"));
    assert_eq!(latest_slot([], first()), None);
}

#[test]
fn weekdays_are_crontabs() {
    let days = |field: &str| {
        let schedule: Schedule = format!("0 12 * * {field}").parse().unwrap();
        let week: Vec<String> =
            std::iter::successors(Some(moment("2026-03-02T00:00:00Z")), |at| schedule.next_after(*at, Tz::UTC))
                .skip(1)
                .take_while(|at| *at < moment("2026-03-09T00:00:00Z"))
                .map(|at| at.format("%a").to_string())
                .collect();
        week.join(" ")
    };
    let cases = [
        ("0", "Sun"),
        ("7", "Sun"),
        ("1", "Mon"),
        ("6", "Sat"),
        ("MON,wed", "Mon Wed"),
        ("1-5", "Mon Tue Wed Thu Fri"),
        ("Sat-Mon", "Mon Sat Sun"),
        ("5-7", "Fri Sat Sun"),
        ("1-5/2", "Mon Wed Fri"),
    ];
    for (field, expected) in cases {
        assert_eq!(days(field), expected, "{field}");
    }
}

#[test]
fn what_is_no_schedule_is_refused_with_a_reason() {
    let texts = [
        "",
        "0 7 * *",
        "0 0 7 * * Mon",
        "@weekly",
        "60 7 * * Mon",
        "0 24 * * Mon",
        "0 7 0 * *",
        "0 7 32 * *",
        "0 7 * 13 *",
        "0 7 * * 8",
        "0 7 * * Monday",
        "0 7 * * Mon#1",
        "0 7 L * *",
        "0 7 15W * *",
        "0 7 ? * Mon",
        "5-1 7 * * *",
        "*/0 7 * * *",
        "5/15 7 * * *",
        "0 7 */2 * Mon",
        "0 7 * * */2",
        "0 7 30 2 *",
        "0 7 31 Apr,Jun *",
        ", 7 * * *",
        "-5 7 * * *",
        "+5 7 * * *",
        "*/+5 7 * * *",
        "0 7 * * Mon\u{202e}",
    ];
    let told: Vec<String> = texts
        .iter()
        .map(|text| match text.parse::<Schedule>() {
            Ok(schedule) => panic!("{text:?} was taken as {schedule}"),
            Err(error) => format!("{text:?}: {error}"),
        })
        .collect();
    insta::assert_snapshot!(told.join("\n"));
}
