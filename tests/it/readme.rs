//! The samples in README.md, typed in order into one fleet, answer what README.md says they answer.
//!
//! `UPDATE_README=1 cargo test readme` writes the answers anew; read the difference before keeping it.

use crate::program::{Desk, type_words};
use std::fmt::Write;

const README: &str = "README.md";

#[test]
fn samples_answer_what_they_say() {
    let text = std::fs::read_to_string(README).unwrap();
    let answered = answered(&text);
    if std::env::var_os("UPDATE_README").is_some() {
        std::fs::write(README, &answered).unwrap();
    }
    assert!(answered.matches("$ pigtail ").count() > 5);
    assert_eq!(text, answered, "README.md is not true any more; see the head of this test");
}

/// The text with every sample's answer replaced by what the program says now.
fn answered(text: &str) -> String {
    let desk = Desk::new("2026-03-02");
    let mut answered = String::new();
    let mut inside = false;
    for line in text.lines() {
        match (inside, line) {
            (false, _) => {
                inside = line == "```console";
                writeln!(answered, "{line}").unwrap();
            }
            (true, "```") => {
                inside = false;
                answered.push_str("```\n");
            }
            (true, _) => {
                let Some(typed) = line.strip_prefix("$ ") else { continue };
                writeln!(answered, "{line}").unwrap();
                answered.push_str(&answer(&desk, typed));
            }
        }
    }
    answered
}

fn answer(desk: &Desk, typed: &str) -> String {
    let words = split(typed);
    let mut words: Vec<&str> = words.iter().map(String::as_str).collect();
    let db = desk.db();
    words.extend(["--db", crate::program::path_text(&db), "--today", desk.today]);
    let ran = type_words(&words);
    let moment = |line: &str| {
        // The moment of recording is the one thing that differs from run to run.
        let at =
            line.find("20").filter(|&at| line[at..].get(10..11) == Some("T") && line[at..].get(23..24) == Some("Z"));
        at.map_or_else(|| line.to_owned(), |at| format!("{}2026-03-02T09:00:00.000Z{}", &line[..at], &line[at + 24..]))
    };
    let err = if ran.status >= 2 { ran.err } else { String::new() };
    ran.out.lines().chain(err.lines()).map(|line| moment(line) + "\n").collect()
}

/// Words of a command line, quoted ones whole.
pub fn split(typed: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in typed.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            c => words.last_mut().unwrap().push(c),
        }
    }
    words
}
