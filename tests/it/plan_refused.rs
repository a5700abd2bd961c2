//! Instances that are refused, and in which words.
//!
//! Owns: one broken record per case, and that no mangled text makes the reader panic. Refuses: testing the parser of
//! JSON itself.

use pigtail::plan::instance::{Instance, PinRecord, Records};
use proptest::prelude::*;

use super::plan_instances::{booking, empty, item, technician, unit};

const BRIEF: pigtail::plan::Effort = pigtail::plan::Effort { rounds_per_unit: 1, rounds_when_far: 1, buffer_days: 0 };

/// One unit with one item and everybody there.
fn sound() -> Records {
    let mut fleet = empty();
    fleet.technicians.push(technician("G", &["gas"], [240; 7]));
    fleet.units.push(unit("U"));
    fleet.items.push(item("I", "U", 10, 30, &["gas"]));
    fleet.bookings.push(booking("B", "U", 12, 15));
    fleet
}

fn check(spoil: impl FnOnce(&mut Records), words: &str) {
    let mut fleet = sound();
    spoil(&mut fleet);
    let error = Instance::from_records(&fleet).expect_err(words);
    assert_eq!(error.to_string(), words);
}

#[test]
fn the_error_names_record_and_field() {
    assert!(Instance::from_records(&sound()).is_ok());
    check(|fleet| fleet.format = "x".into(), "format is `x`, expected `rvlp-sched-1`");
    check(|fleet| fleet.horizon = 0, "instance field `horizon`: horizon is 0, outside 1 to 3660");
    check(|fleet| fleet.horizon = i32::MAX, "instance field `horizon`: horizon is 2147483647, outside 1 to 3660");
    check(|fleet| fleet.setup_min = -1, "instance field `setup_min`: setup_min is -1, outside 0 to 10000");
    check(|fleet| fleet.units[0].depot = "E".into(), "unit `U` names depot `E`, which is not in the instance");
    check(|fleet| fleet.units.push(unit("U")), "unit `U` appears twice");
    check(|fleet| fleet.items[0].unit = "V".into(), "item `I` names unit `V`, which is not in the instance");
    check(|fleet| fleet.items[0].due = i32::MAX, "item `I`: due is 2147483647, outside -100000 to 100000");
    check(|fleet| fleet.items[0].earliest = i32::MIN, "item `I`: earliest is -2147483648, outside -100000 to 100000");
    check(|fleet| fleet.items[0].minutes = -5, "item `I`: minutes is -5, outside 0 to 10000");
    check(
        |fleet| fleet.items[0].class_weight = i64::MAX,
        "item `I`: class_weight is 9223372036854775807, outside 0 to 1000000",
    );
    check(|fleet| fleet.technicians[0].minutes[6] = 10_001, "technician `G`: minutes is 10001, outside 0 to 10000");
    check(
        |fleet| fleet.technicians[0].depot = "E".into(),
        "technician `G` names depot `E`, which is not in the instance",
    );
    check(|fleet| fleet.bookings[0].back = 11, "booking `B`: in is 11, outside 12 to 100000");
    check(|fleet| fleet.bookings.push(booking("B", "U", 1, 2)), "booking `B` appears twice");
    let pin = |day, items: &[&str]| {
        let items = items.iter().map(|&item| item.to_owned()).collect();
        PinRecord { unit: "U".into(), day, items }
    };
    check(|fleet| fleet.pins = Some(vec![pin(28, &["I"])]), "pin of unit `U`: day is 28, outside 0 to 27");
    check(
        |fleet| fleet.pins = Some(vec![pin(1, &["J"])]),
        "pin of unit `U` names item `J`, which is not in the instance",
    );
    check(|fleet| fleet.pins = Some(vec![pin(1, &["I"]), pin(2, &["I"])]), "item `I` is pinned to two days");
    check(
        |fleet| {
            fleet.units.push(unit("V"));
            fleet.items.push(item("J", "V", 10, 30, &[]));
            fleet.pins = Some(vec![pin(1, &["J"])]);
        },
        "pin of unit `U` names item `J`, which belongs to another unit",
    );
    check(
        |fleet| fleet.technicians[0].skills = (0..65).map(|skill| format!("s{skill}")).collect(),
        "skill `s63` is one too many: 64 distinct skills can be planned",
    );
    check(
        |fleet| fleet.technicians = (0..20_001).map(|index| technician(&format!("T{index}"), &[], [0; 7])).collect(),
        "20001 records in the list of technicians; at most 20000 can be planned",
    );
}

#[test]
fn extreme_numbers_inside_the_ranges_are_planned() {
    let mut fleet = sound();
    fleet.horizon = 60;
    fleet.setup_min = 10_000;
    for index in 0..14 {
        let mut huge = item(&format!("H{index}"), "U", -100_000, 10_000, &["gas"]);
        huge.earliest = 100_000;
        huge.class_weight = 1_000_000;
        huge.waste_per_day = 1_000_000;
        huge.floor = -100_000;
        fleet.items.push(huge);
    }
    fleet.technicians.push(technician("L", &["gas"], [10_000; 7]));
    let instance = Instance::from_records(&fleet).unwrap();
    let plan = pigtail::plan::solve(&instance, BRIEF, std::num::NonZeroUsize::MIN);
    assert_eq!(pigtail::plan::check(&instance, &plan), []);
    assert_eq!(plan.unplaced.len(), 14);
}

proptest! {
    #[test]
    fn mangled_text_is_refused_or_read_but_never_panics(at in 0..1_000usize, with in "[-0-9\\[\\]{}\",a]{0,3}") {
        let text = serde_json::to_string(&sound()).unwrap();
        let at = at % text.len();
        let mangled = format!("{}{with}{}", &text[..at], &text[(at + 1)..]);
        if let Ok(instance) = Instance::from_json(&mangled) {
            let plan = pigtail::plan::solve(&instance, BRIEF, std::num::NonZeroUsize::MIN);
            prop_assert_eq!(pigtail::plan::check(&instance, &plan), []);
        }
    }
}
