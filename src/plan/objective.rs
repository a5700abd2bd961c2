//! How good a plan is: seven numbers, the first six compared in order.
//!
//! Owns: the evaluation of a finished plan, from the plan's records alone. Refuses: the search's running costs; that
//! the two agree is tested.

use std::collections::BTreeMap;
use std::collections::HashMap;

use serde::{Deserialize, Serialize};

use super::instance::{Before, Instance};
use super::reasons::{days_done, lost};
use super::visits::Plan;

/// The objective. Comparison is lexicographic in field order; the peak, last, only breaks exact ties.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Objective {
    /// Class weight times days overdue; an item never done counts to the horizon.
    pub overdue: i64,
    /// Days of lost hires.
    pub lost_days: i64,
    /// Days done before the first sensible day.
    pub premature: i64,
    /// Items on another day than in the earlier plan.
    pub moved: i64,
    /// Visits.
    pub visits: i64,
    /// Weighted days done before due.
    pub waste: i64,
    /// Minutes of each depot's busiest week, added up. Reported, not minimised.
    pub peak: i64,
}

/// Evaluates a plan.
pub fn objective(instance: &Instance, plan: &Plan) -> Objective {
    let days = days_done(instance, plan);
    let mut sum = Objective { visits: plan.visits.len() as i64, ..Objective::default() };
    for (item, &day) in instance.items.iter().zip(&days) {
        if day.is_none() && !item.is_mandatory(instance.horizon) {
            continue;
        }
        let late = day.unwrap_or(instance.horizon) - item.due.max(-1);
        sum.overdue += item.class_weight * i64::from(late.max(0));
        if let Some(day) = day {
            sum.premature += i64::from((item.earliest.max(0) - day).max(0));
            sum.waste += item.waste_per_day * i64::from((item.due - day).max(0));
        }
        let now = day.map_or(Before::Unplanned, Before::On);
        sum.moved += i64::from(item.before != Before::Unknown && item.before != now);
    }
    for (booking, lost) in instance.bookings.iter().zip(lost(instance, &days)) {
        if lost {
            sum.lost_days += i64::from(booking.back - booking.out);
        }
    }
    sum.peak = peak(instance, plan);
    sum
}

fn peak(instance: &Instance, plan: &Plan) -> i64 {
    let depots: HashMap<&str, usize> = instance.units.iter().map(|unit| (unit.id.as_str(), unit.depot)).collect();
    let minutes: HashMap<&str, i32> = instance.items.iter().map(|item| (item.id.as_str(), item.minutes)).collect();
    let mut weeks: BTreeMap<(usize, i32), i64> = BTreeMap::new();
    for visit in &plan.visits {
        let Some(&depot) = depots.get(visit.unit.as_str()) else {
            continue;
        };
        let work: i32 = visit.work.iter().filter_map(|work| minutes.get(work.item.as_str())).sum();
        *weeks.entry((depot, visit.day / 7)).or_insert(0) += i64::from(work + instance.setup_minutes);
    }
    let mut busiest: BTreeMap<usize, i64> = BTreeMap::new();
    for ((depot, _), minutes) in weeks {
        let most = busiest.entry(depot).or_insert(0);
        *most = minutes.max(*most);
    }
    busiest.values().sum()
}
