//! Why something is due: fact, rule, arithmetic, date, source and caution.
//!
//! Owns: the wording of `why`. Refuses: finding reasons, which items carry.

use super::legible::one_line;
use crate::due::{Item, Late, State};
use crate::model::Day;
use crate::rules::Rule;
use std::fmt::Write;

/// What being late means, said to whoever stands before the unit.
#[must_use]
pub fn late_means(late: Late) -> &'static str {
    match late {
        Late::OffRent => "once past its last day the unit stays off rent",
        Late::NotToBeRefilled => {
            "once past its last day it is not to be refilled; gas filled before then may lawfully be used up, \
             but the unit is not ready to rent"
        }
        Late::Advise => "once past its last day it is not to be relied on until this is done",
    }
}

/// The state of an item in words with the days.
#[must_use]
pub fn standing(item: &Item, today: Day) -> String {
    match (item.state(today), item.due_on, item.days(today)) {
        (State::Undated, _, _) | (_, None, _) | (_, _, None) => "undated; counts as overdue".to_owned(),
        (State::Overdue, Some(due_on), Some(days)) => {
            format!("overdue since {} ({})", due_on.plus_days(1), day_count(-days))
        }
        (State::Due, Some(due_on), Some(days)) => format!("due by {due_on} ({} left)", day_count(days)),
        (State::InDate, Some(due_on), Some(days)) => format!("in date through {due_on} ({} left)", day_count(days)),
    }
}

fn day_count(days: i64) -> String {
    format!("{days} day{}", if days == 1 { "" } else { "s" })
}

/// One item with its reasons, wrapped to `width`.
#[must_use]
pub fn reasons(item: &Item, rule: Option<&Rule>, today: Day, width: usize) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "{}: {}", item.what, standing(item, today));
    let mut steps = item.because.split("; ");
    line(&mut text, "fact", steps.next().unwrap_or_default(), width);
    for step in steps {
        line(&mut text, "then", step, width);
    }
    if let Some(due_on) = item.due_on {
        line(&mut text, "last day", &due_on.to_string(), width);
    }
    line(&mut text, "rule", &format!("{} ({})", item.rule, item.authority), width);
    line(&mut text, "source", &item.cite, width);
    line(&mut text, "late", late_means(item.late), width);
    if let Some(note) = rule.and_then(|rule| rule.note.as_deref()) {
        line(&mut text, "note", note, width);
    }
    if let Some(caution) = rule.and_then(|rule| rule.caution.as_deref()) {
        line(&mut text, "caution", caution, width);
    }
    text
}

/// Widest label and the space after it.
const LABEL: usize = 10;

/// A labelled line, continued under its text.
pub fn line(text: &mut String, label: &str, words: &str, width: usize) {
    let mut used = 0;
    let _ = write!(text, "  {label:<LABEL$}");
    for word in one_line(words).split(' ') {
        let length = word.chars().count();
        if used > 0 && LABEL + 2 + used + 1 + length > width {
            let _ = write!(text, "\n  {:LABEL$}", "");
            used = 0;
        }
        if used > 0 {
            text.push(' ');
            used += 1;
        }
        text.push_str(word);
        used += length;
    }
    text.push('\n');
}
