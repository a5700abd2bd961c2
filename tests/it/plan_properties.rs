//! What holds for every plan of every fleet.
//!
//! Owns: the hard rules by the second validator, sameness on any number of threads, and order among objectives.
//! Refuses: large fleets; the faults of small ones are the same and can be read.

use std::num::NonZeroUsize;

use pigtail::plan::instance::{Instance, Records};
use pigtail::plan::objective::Objective;
use pigtail::plan::{Effort, check, explain, objective, solve};
use proptest::prelude::*;

use super::plan_instances::{fleets, resolved};

const QUICK: Effort = Effort { rounds_per_unit: 2, rounds_when_far: 4, buffer_days: 0 };

fn threads(count: usize) -> NonZeroUsize {
    NonZeroUsize::new(count).unwrap()
}

fn shuffled(fleet: &Records) -> Instance {
    let mut fleet = fleet.clone();
    fleet.depots.reverse();
    resolved(&fleet)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, ..ProptestConfig::default() })]

    #[test]
    fn no_hard_rule_is_broken(fleet in fleets(), buffer_days in 0..9i32) {
        let instance = resolved(&fleet);
        let plan = solve(&instance, Effort { buffer_days, ..QUICK }, threads(1));
        prop_assert_eq!(check(&instance, &plan), []);
    }

    #[test]
    fn threads_and_the_order_of_depots_change_nothing(fleet in fleets()) {
        let instance = resolved(&fleet);
        let one = solve(&instance, QUICK, threads(1));
        let two = solve(&instance, QUICK, threads(2));
        prop_assert_eq!(serde_json::to_string(&one).unwrap(), serde_json::to_string(&two).unwrap());
        let mut mine = one.visits;
        let mut theirs = solve(&shuffled(&fleet), QUICK, threads(2)).visits;
        let key = |visit: &pigtail::plan::visits::Visit| (visit.day, visit.unit.clone());
        mine.sort_by_key(key);
        theirs.sort_by_key(key);
        prop_assert_eq!(mine, theirs);
    }

    #[test]
    fn a_buffer_costs_nothing_but_waste(fleet in fleets()) {
        // One unit by itself, so that nothing but the buffer decides.
        let mut fleet = fleet;
        fleet.units.truncate(1);
        let kept = fleet.units[0].id.clone();
        fleet.items.retain(|item| item.unit == kept);
        fleet.bookings.retain(|booking| booking.unit == kept);
        fleet.pins = None;
        let instance = resolved(&fleet);
        let usual = objective(&instance, &solve(&instance, QUICK, threads(1)));
        let early = objective(&instance, &solve(&instance, Effort { buffer_days: 7, ..QUICK }, threads(1)));
        let above_waste = |sum: Objective| {
            (sum.overdue, sum.lost_days, sum.premature, sum.moved, sum.visits)
        };
        prop_assert_eq!(above_waste(usual), above_waste(early));
        prop_assert!(early.waste >= usual.waste);
    }

    #[test]
    fn a_plan_planned_again_stays_where_it_is(fleet in fleets()) {
        let mut fleet = fleet;
        fleet.pins = None;
        fleet.baseline = None;
        let instance = resolved(&fleet);
        let plan = solve(&instance, QUICK, threads(1));
        let first = objective(&instance, &plan);
        if (first.overdue, first.lost_days, first.premature) != (0, 0, 0) {
            return Ok(());
        }
        let days = plan.visits.iter().flat_map(|visit| visit.work.iter().map(|work| (work.item.clone(), Some(visit.day))));
        fleet.baseline = Some(days.collect());
        let instance = resolved(&fleet);
        let again = objective(&instance, &solve(&instance, QUICK, threads(1)));
        prop_assert_eq!((again.overdue, again.lost_days, again.premature, again.moved), (0, 0, 0, 0));
    }

    #[test]
    fn every_item_planned_or_left_out_is_explained(fleet in fleets()) {
        let instance = resolved(&fleet);
        let plan = solve(&instance, QUICK, threads(1));
        let planned: usize = plan.visits.iter().map(|visit| visit.work.len()).sum();
        let explained = explain(&instance, &plan, 0);
        prop_assert_eq!(explained.len(), planned + plan.unplaced.len());
        for explanation in explained {
            let days: Vec<i32> = explanation.later.iter().map(|later| later.day).collect();
            prop_assert!(days.windows(2).all(|pair| pair[1] == pair[0] + 1));
            prop_assert!(days.iter().all(|&day| explanation.day.is_none_or(|done| day > done)));
        }
    }
}
