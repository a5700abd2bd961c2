//! Month arithmetic over thirty years, against stepping one month at a time.

use chrono::{Datelike, NaiveDate};
use pigtail::model::{Dated, Day, Month, Span};

const FIRST_YEAR: i32 = 2000;
const YEARS: i32 = 30;
const MONTHS_AHEAD: u32 = 180;

/// The last day of a month found by trying its days from the 31st down.
fn last_by_trying(year: i32, month: u32) -> NaiveDate {
    (28..=31).rev().find_map(|day| NaiveDate::from_ymd_opt(year, month, day)).unwrap()
}

/// A day in a month, or its last where it has no such day.
fn day_by_trying(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap_or_else(|| last_by_trying(year, month))
}

#[test]
fn days_plus_months_step_by_step() {
    let mut start = NaiveDate::from_ymd_opt(FIRST_YEAR, 1, 1).unwrap();
    let end = NaiveDate::from_ymd_opt(FIRST_YEAR + YEARS, 1, 1).unwrap();
    while start < end {
        let day = Dated::Day(Day::from_date(start).unwrap());
        let (mut year, mut month) = (start.year(), start.month());
        for ahead in 0..=MONTHS_AHEAD {
            let naive = day_by_trying(year, month, start.day());
            assert_eq!(day.plus(Span::Months(ahead)).last_day().date(), naive, "{start} + {ahead} months");
            (year, month) = if month == 12 { (year + 1, 1) } else { (year, month + 1) };
        }
        start = start.succ_opt().unwrap();
    }
}

#[test]
fn months_plus_months_are_good_to_their_last_day() {
    for start_year in FIRST_YEAR..FIRST_YEAR + YEARS {
        for start_month in 1..=12 {
            let stamped = Dated::Month(Month::new(start_year, start_month).unwrap());
            let (mut year, mut month) = (start_year, start_month);
            for ahead in 0..=MONTHS_AHEAD {
                let naive = last_by_trying(year, month);
                let last = stamped.plus(Span::Months(ahead)).last_day().date();
                assert_eq!(last, naive, "{start_year}-{start_month} + {ahead} months");
                assert_eq!(last.succ_opt().unwrap().day(), 1);
                (year, month) = if month == 12 { (year + 1, 1) } else { (year, month + 1) };
            }
        }
    }
}
