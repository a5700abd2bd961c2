//! Cited stamps as read off collars, through `calc stamp` as it is typed.
//!
//! `fixtures/cases/stamps.jsonl` says where each was seen or why it is none.

use crate::program::type_words;
use serde_json::{Value, json};

#[test]
fn every_cited_stamp() {
    let text = std::fs::read_to_string("fixtures/cases/stamps.jsonl").unwrap();
    let cases: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(cases.len(), 28);
    cases.iter().for_each(check);
}

fn check(case: &Value) {
    let stamp = case["text"].as_str().unwrap();
    let ran = type_words(&["pigtail", "--today", "2026-11-25", "calc", "stamp", stamp, "--format", "json"]);
    if case["valid"] == json!(true) {
        let read: Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{stamp}: {}", ran.err));
        assert_eq!(ran.status, 0, "{stamp}");
        assert_eq!(read, json!({"month": case["date"], "method": case["method"], "rin": case["rin"]}), "{stamp}");
    } else {
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{stamp}: {}", case["why"]);
        assert!(ran.err.starts_with("error: ") && ran.err.contains("\nhint: "), "{stamp}: {}", ran.err);
    }
}
