//! Small planning questions whose best answer was derived by hand; the proof stands in each file.

use pigtail::plan::instance::Instance;
use pigtail::plan::{Effort, objective, solve};
use serde_json::{Value, json};
use std::num::NonZeroUsize;

#[test]
fn each_gives_its_expected_objective_on_one_thread_and_two() {
    let mut count = 0;
    for entry in std::fs::read_dir("fixtures/plan/micro").unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        let expected: Value = serde_json::from_str::<Value>(&text).unwrap()["expected"]["objective"].clone();
        let instance = Instance::from_json(&text).unwrap();
        let on = |threads| solve(&instance, Effort::usual(&instance), NonZeroUsize::new(threads).unwrap());
        let plan = on(1);
        let found = objective(&instance, &plan);
        let found = json!({"overdue": found.overdue, "lost_days": found.lost_days, "premature": found.premature,
            "moved": found.moved, "visits": found.visits, "waste": found.waste});
        assert_eq!(found, expected, "{}", path.display());
        assert_eq!(plan, on(2), "{}", path.display());
        count += 1;
    }
    assert_eq!(count, 12);
}
