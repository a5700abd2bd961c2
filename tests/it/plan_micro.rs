//! Twelve small questions with an answer derived by hand.
//!
//! Owns: the objective, days and reasons expected of each file in `fixtures/plan/micro`, as written there. Refuses:
//! expectations of its own.

use std::collections::BTreeMap;
use std::num::NonZeroUsize;

use pigtail::plan::instance::Instance;
use pigtail::plan::{Effort, check, objective, solve};
use serde::Deserialize;

#[derive(Deserialize)]
struct Question {
    expected: Expected,
}

#[derive(Deserialize)]
struct Expected {
    objective: BTreeMap<String, i64>,
    done: BTreeMap<String, i32>,
    unplaced: BTreeMap<String, String>,
    lost_bookings: Vec<String>,
}

#[test]
fn every_question_gets_the_answer_derived_by_hand() {
    let mut seen = 0;
    let mut paths: Vec<_> =
        std::fs::read_dir("fixtures/plan/micro").unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    for path in paths {
        let text = std::fs::read_to_string(&path).unwrap();
        let expected = serde_json::from_str::<Question>(&text).unwrap().expected;
        let instance = Instance::from_json(&text).unwrap();
        let plan = solve(&instance, Effort::usual(&instance), NonZeroUsize::MIN);
        let file = path.display();
        assert_eq!(check(&instance, &plan), [], "{file}: rules broken");
        let found = serde_json::to_value(objective(&instance, &plan)).unwrap();
        for (level, value) in &expected.objective {
            assert_eq!(found[level].as_i64(), Some(*value), "{file}: {level}");
        }
        let days: BTreeMap<String, i32> =
            plan.visits.iter().flat_map(|visit| visit.work.iter().map(|work| (work.item.clone(), visit.day))).collect();
        assert_eq!(days, expected.done, "{file}: days");
        let written = serde_json::to_value(&plan).unwrap();
        let reasons: BTreeMap<String, String> = written["unplaced"]
            .as_array()
            .unwrap()
            .iter()
            .map(|left| (left["item"].as_str().unwrap().to_owned(), left["reason"].as_str().unwrap().to_owned()))
            .collect();
        assert_eq!(reasons, expected.unplaced, "{file}: reasons");
        assert_eq!(plan.lost_bookings, expected.lost_bookings, "{file}: lost hires");
        seen += 1;
    }
    assert_eq!(seen, 12);
}
