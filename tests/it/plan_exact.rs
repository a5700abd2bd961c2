//! One unit by itself gets the best plan there is.
//!
//! Owns: comparison with every assignment of items to days, tried one by one. Refuses: more than one unit, where the
//! planner does not claim to be exact.

use std::num::NonZeroUsize;

use pigtail::plan::check::Violation;
use pigtail::plan::instance::{Instance, Records};
use pigtail::plan::objective::Objective;
use pigtail::plan::visits::{Visit, Work};
use pigtail::plan::{Effort, Plan, check, objective, solve};
use proptest::prelude::*;

use super::plan_instances::{booking, empty, item, resolved, technician, unit};

const HORIZON: i32 = 9;

fn units() -> impl Strategy<Value = Records> {
    let items = prop::collection::vec(
        (-4..12i32, 0..9i32, 0..6i32, prop::sample::select(vec![10, 30, 50]), any::<bool>(), (1..4i64, 0..4i64)),
        1..=3,
    );
    let bookings = prop::collection::vec((-2..9i32, 1..6i32), 0..3);
    let minutes = prop::array::uniform7(prop::sample::select(vec![0, 60, 90, 150]));
    let baseline = prop::option::of(prop::collection::vec(prop::option::of(0..9i32), 3));
    (items, bookings, minutes, baseline).prop_map(|(items, bookings, minutes, baseline)| {
        let mut fleet = Records { horizon: HORIZON, ..empty() };
        fleet.technicians.push(technician("G", &["gas"], minutes));
        fleet.technicians.push(technician("E", &["gas", "elec"], [0, 150, 0, 150, 0, 150, 0]));
        fleet.units.push(unit("U"));
        for (index, (due, window, floor, minutes, elec, (class_weight, waste_per_day))) in items.into_iter().enumerate()
        {
            let mut wanted = item(&format!("I{index}"), "U", due, minutes, if elec { &["elec"] } else { &[] });
            (wanted.earliest, wanted.floor) = (due - window, floor);
            (wanted.class_weight, wanted.waste_per_day) = (class_weight, waste_per_day);
            fleet.items.push(wanted);
        }
        let mut home = 0;
        for (index, (gap, days)) in bookings.into_iter().enumerate() {
            let out = if index == 0 { gap } else { home + gap.max(0) };
            home = out + days;
            fleet.bookings.push(booking(&format!("B{index}"), "U", out, home));
        }
        fleet.baseline =
            baseline.map(|days| days.into_iter().enumerate().map(|(index, day)| (format!("I{index}"), day)).collect());
        fleet
    })
}

/// The best of all plans in which each item is on any day or on none, whoever does it.
fn best(fleet: &Records, instance: &Instance) -> Objective {
    let count = fleet.items.len() as u32;
    let choices = HORIZON + 1;
    let all = (0..choices.pow(count)).filter_map(|code| {
        let day_of = |index: usize| code / choices.pow(index as u32) % choices;
        plan_of(fleet, instance, &day_of)
    });
    all.map(|plan| Objective { peak: 0, ..objective(instance, &plan) }).min().unwrap()
}

/// A plan with these days that keeps the hard rules, if one does; what it derives is not compared.
fn plan_of(fleet: &Records, instance: &Instance, day_of: &dyn Fn(usize) -> i32) -> Option<Plan> {
    let mut plan = Plan::empty();
    for day in 0..HORIZON {
        let there: Vec<usize> = (0..fleet.items.len()).filter(|&index| day_of(index) == day).collect();
        if there.is_empty() {
            continue;
        }
        let people = ["G", "E"];
        let who = |code: usize, at: usize| people[code >> at & 1].to_owned();
        let staffed = (0..1usize << (there.len() + 1)).find_map(|code| {
            let work = there
                .iter()
                .enumerate()
                .map(|(at, &index)| Work { item: fleet.items[index].id.clone(), tech: who(code, at) });
            let visit = Visit { unit: "U".to_owned(), day, setup_tech: who(code, there.len()), work: work.collect() };
            let alone = Plan { visits: vec![visit.clone()], ..plan.clone() };
            sound(instance, &alone, false).then_some(visit)
        })?;
        plan.visits.push(staffed);
    }
    sound(instance, &plan, true).then_some(plan)
}

fn sound(instance: &Instance, plan: &Plan, home: bool) -> bool {
    check(instance, plan).iter().all(|violation| {
        matches!(
            violation,
            Violation::LostDiffers { .. } | Violation::UnplacedDiffers { .. } | Violation::FalseReason { .. }
        ) || (!home && matches!(violation, Violation::Away { .. }))
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn no_assignment_of_days_is_better(fleet in units()) {
        let instance = resolved(&fleet);
        let effort = Effort { rounds_per_unit: 1, rounds_when_far: 1, buffer_days: 0 };
        let plan = solve(&instance, effort, NonZeroUsize::MIN);
        prop_assert_eq!(check(&instance, &plan), []);
        let found = Objective { peak: 0, ..objective(&instance, &plan) };
        prop_assert_eq!(found, best(&fleet, &instance), "{:?}", plan.visits);
    }
}
