//! Why an item is not done later, day by day.
//!
//! Owns: one small fleet per obstacle. Refuses: wording; the command renders these.

use std::num::NonZeroUsize;

use pigtail::plan::explain::{Explanation, Obstacle};
use pigtail::plan::instance::{PinRecord, Records};
use pigtail::plan::{Effort, explain, solve};

use super::plan_instances::{booking, empty, item, resolved, technician, unit};

fn explained(fleet: &Records, id: &str) -> Explanation {
    let instance = resolved(fleet);
    let plan = solve(&instance, Effort::usual(&instance), NonZeroUsize::MIN);
    explain(&instance, &plan, 0).into_iter().find(|explanation| explanation.item == id).unwrap()
}

/// Days and obstacles in short: `12 away B`.
fn lines(explanation: &Explanation) -> Vec<String> {
    let short = |obstacle: &Obstacle| match obstacle {
        Obstacle::Away { booking } => format!("away {booking}"),
        Obstacle::Closed => "closed".to_owned(),
        Obstacle::NobodyQualified { unavailable } => format!("nobody {}", unavailable.join("+")),
        Obstacle::Full { technician, minutes_free, minutes_needed, units } => {
            format!("full {technician} {minutes_free}/{minutes_needed} {}", units.join("+"))
        }
        Obstacle::Pinned => "pinned".to_owned(),
        Obstacle::LeavesEarlierPlan => "earlier plan".to_owned(),
        Obstacle::AnotherVisit { together_with } => format!("another visit, with {}", together_with.join("+")),
        Obstacle::InsideBuffer => "inside buffer".to_owned(),
        Obstacle::Possible => "possible".to_owned(),
    };
    explanation.later.iter().map(|later| format!("{} {}", later.day, short(&later.obstacle))).collect()
}

fn check(fleet: &Records, id: &str, day: Option<i32>, expected: &[&str], binding: Option<&str>) {
    let explanation = explained(fleet, id);
    assert_eq!(explanation.day, day, "{id}");
    assert_eq!(lines(&explanation), expected, "{id}");
    let all = lines(&explanation);
    let at = explanation
        .binding()
        .map(|later| all[explanation.later.iter().position(|other| other == later).unwrap()].as_str());
    assert_eq!(at, binding, "{id}: binding");
}

/// A gas technician on weekdays and one unit with an item due on day 10, a Thursday.
fn one_unit() -> Records {
    let mut fleet = empty();
    fleet.technicians.push(technician("G", &["gas"], [60, 60, 60, 60, 60, 0, 0]));
    fleet.units.push(unit("U"));
    fleet.items.push(item("I", "U", 10, 30, &["gas"]));
    fleet
}

#[test]
fn on_the_last_day_nothing_is_later() {
    check(&one_unit(), "I", Some(10), &[], None);
}

#[test]
fn hires_closed_days_and_days_off_stand_in_the_way() {
    let mut fleet = one_unit();
    fleet.bookings.push(booking("B", "U", 9, 14));
    fleet.depots[0].closed = vec![8];
    fleet.technicians[0].off = vec![7];
    let expected = ["5 nobody G", "6 nobody G", "7 nobody G", "8 closed", "9 away B", "10 away B"];
    check(&fleet, "I", Some(4), &expected, Some("9 away B"));
}

#[test]
fn a_full_day_names_who_is_short_and_whom_they_serve() {
    let mut fleet = one_unit();
    fleet.units.push(unit("V"));
    let mut rival = item("J", "V", 10, 30, &["gas"]);
    rival.waste_per_day = 5;
    fleet.items.push(rival);
    check(&fleet, "I", Some(9), &["10 full G 0/30 V"], Some("10 full G 0/30 V"));
}

#[test]
fn minutes_that_do_for_work_or_set_up_but_not_for_both_are_too_few() {
    let mut fleet = one_unit();
    fleet.technicians[0].minutes = [100, 100, 100, 100, 100, 0, 0];
    fleet.units.push(unit("V"));
    let mut rival = item("J", "V", 10, 30, &["gas"]);
    rival.waste_per_day = 5;
    fleet.items.push(rival);
    check(&fleet, "I", Some(9), &["10 full G 40/60 V"], Some("10 full G 40/60 V"));
}

#[test]
fn what_is_done_together_would_need_another_visit() {
    let mut fleet = one_unit();
    fleet.technicians[0].minutes = [120, 120, 120, 120, 120, 0, 0];
    fleet.items.push(item("J", "U", 14, 30, &["gas"]));
    let expected = ["11 another visit, with I", "12 nobody G", "13 nobody G", "14 another visit, with I"];
    check(&fleet, "J", Some(10), &expected, Some("11 another visit, with I"));
}

#[test]
fn pins_and_the_earlier_plan_hold_an_item_back() {
    let mut fleet = one_unit();
    fleet.pins = Some(vec![PinRecord { unit: "U".to_owned(), day: 9, items: vec!["I".to_owned()] }]);
    check(&fleet, "I", Some(9), &["10 pinned"], Some("10 pinned"));
    let mut fleet = one_unit();
    fleet.baseline = Some([("I".to_owned(), Some(9))].into());
    check(&fleet, "I", Some(9), &["10 earlier plan"], Some("10 earlier plan"));
}

#[test]
fn an_item_left_out_is_explained_over_all_its_days() {
    let mut fleet = one_unit();
    fleet.horizon = 9;
    fleet.items[0].due = 6;
    fleet.items[0].floor = 4;
    fleet.items[0].skills = vec!["rin".to_owned()];
    check(&fleet, "I", None, &["4 nobody ", "5 nobody ", "6 nobody ", "7 nobody ", "8 nobody "], Some("4 nobody "));
}
