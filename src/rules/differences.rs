//! What laying house rules over a pack changes, rule by rule.
//!
//! Owns: saying old and new in the words of the rule file. Refuses: judging whether a change is allowed.

use super::pack::Pack;
use super::rule::{Case, Period, Rule};
use crate::model::Named;

/// One thing that is otherwise under the house rules.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// The rule, or `limits`.
    pub rule: String,
    /// Which of its terms, with the specifications it holds for where the rule has several cases.
    pub term: String,
    /// As it was; none where it is new.
    pub before: Option<String>,
    /// As it is to be; none where it falls away.
    pub after: Option<String>,
}

/// Everything in which `after` differs from `before`, in the order of the pack. Citations follow from the changes and
/// are not listed.
#[must_use]
pub fn differences(before: &Pack, after: &Pack) -> Vec<Difference> {
    let mut found = Vec::new();
    for new in &after.rules {
        match before.rule(&new.id) {
            None => found.push(Difference {
                rule: new.id.to_string(),
                term: "rule".to_owned(),
                before: None,
                after: Some(new.what.clone()),
            }),
            Some(old) => compare(&new.id.to_string(), &terms(old), &terms(new), &mut found),
        }
    }
    for old in before.rules.iter().filter(|old| after.rule(&old.id).is_none()) {
        found.push(Difference {
            rule: old.id.to_string(),
            term: "rule".to_owned(),
            before: Some(old.what.clone()),
            after: None,
        });
    }
    let figures = |pack: &Pack| -> Vec<(String, String)> {
        pack.limits.figures().into_iter().map(|(name, limit)| (name.to_owned(), limit.value.to_string())).collect()
    };
    compare("limits", &figures(before), &figures(after), &mut found);
    found
}

fn compare(rule: &str, old: &[(String, String)], new: &[(String, String)], found: &mut Vec<Difference>) {
    let value = |terms: &[(String, String)], wanted: &str| {
        terms.iter().find(|(term, _)| term == wanted).map(|(_, value)| value.clone())
    };
    for (term, after) in new {
        let before = value(old, term);
        if before.as_ref() != Some(after) {
            found.push(Difference { rule: rule.to_owned(), term: term.clone(), before, after: Some(after.clone()) });
        }
    }
    for (term, before) in old.iter().filter(|(term, _)| value(new, term).is_none()) {
        found.push(Difference { rule: rule.to_owned(), term: term.clone(), before: Some(before.clone()), after: None });
    }
}

fn terms(rule: &Rule) -> Vec<(String, String)> {
    let mut terms = vec![
        ("precision".to_owned(), rule.precision.to_string()),
        ("notice".to_owned(), rule.notice.to_string()),
        ("late".to_owned(), rule.late.to_string()),
        ("label".to_owned(), rule.label.to_string()),
        ("opened_by".to_owned(), names(&rule.opened_by)),
        ("minutes".to_owned(), rule.minutes.to_string()),
        ("skills".to_owned(), names(&rule.skills)),
        ("earliest".to_owned(), rule.earliest.to_string()),
    ];
    for case in &rule.cases {
        let suffix = if rule.cases.len() == 1 { String::new() } else { format!(" ({})", covered(case)) };
        if let Period::Intervals { first, after } = &case.period {
            if let Some((anchor, span)) = first {
                terms.push((format!("first{suffix}"), format!("{span} from {anchor}")));
            }
            terms.extend(after.iter().map(|(fact, span)| (format!("after {fact}{suffix}"), span.to_string())));
        }
    }
    terms
}

fn covered(case: &Case) -> String {
    if case.specs.is_empty() {
        return "all others".to_owned();
    }
    let specs: Vec<String> = case.specs.iter().map(ToString::to_string).collect();
    specs.join(", ")
}

fn names<T: Named>(values: &[T]) -> String {
    let names: Vec<&str> = values.iter().map(|value| value.name()).collect();
    if names.is_empty() { "none".to_owned() } else { names.join(", ") }
}
