//! Rules laid out: the list, one rule whole, a pack's gas test limits, and what house rules change.
//!
//! Owns: layout and the JSON form of a rule. Refuses: choosing packs, and dates.

use super::reasons::{late_means, line};
use super::table::{Column, elastic, fixed};
use crate::model::{EventKind, Limit, Named, PackId, Service, Skill, Span};
use crate::rules::{
    Anchor, Authority, Case, Difference, FactKind, ItemKind, LabelUse, Late, Pack, Period, Precision, Rule,
};
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt::Write;

/// A rule as JSON has it.
#[derive(Debug, Serialize)]
pub struct RuleRecord<'a> {
    pack: PackId,
    rule: &'a str,
    what: &'a str,
    kinds: &'a [ItemKind],
    service: Option<Service>,
    authority: Authority,
    precision: Precision,
    notice: Span,
    late: Late,
    label: LabelUse,
    opened_by: &'a [EventKind],
    minutes: u32,
    skills: &'a [Skill],
    earliest: Span,
    note: Option<&'a str>,
    caution: Option<&'a str>,
    cases: Vec<CaseRecord<'a>>,
}

#[derive(Debug, Serialize)]
struct CaseRecord<'a> {
    specs: Vec<String>,
    cite: &'a str,
    first: Option<FirstRecord>,
    after: BTreeMap<FactKind, Span>,
    undated: Option<&'a str>,
    exempt: bool,
}

#[derive(Debug, Serialize)]
struct FirstRecord {
    from: Anchor,
    span: Span,
}

impl<'a> RuleRecord<'a> {
    /// The rule with the pack it stands in.
    #[must_use]
    pub fn of(pack: &'a Pack, rule: &'a Rule) -> Self {
        Self {
            pack: pack.id,
            rule: rule.id.as_str(),
            what: &rule.what,
            kinds: &rule.kinds,
            service: rule.service,
            authority: rule.authority,
            precision: rule.precision,
            notice: rule.notice,
            late: rule.late,
            label: rule.label,
            opened_by: &rule.opened_by,
            minutes: rule.minutes,
            skills: &rule.skills,
            earliest: rule.earliest,
            note: rule.note.as_deref(),
            caution: rule.caution.as_deref(),
            cases: rule.cases.iter().map(CaseRecord::of).collect(),
        }
    }
}

impl<'a> CaseRecord<'a> {
    fn of(case: &'a Case) -> Self {
        let (first, after, undated, exempt) = match &case.period {
            Period::Intervals { first, after } => {
                (first.map(|(from, span)| FirstRecord { from, span }), after.clone(), None, false)
            }
            Period::Undated(reason) => (None, BTreeMap::new(), Some(reason.as_str()), false),
            Period::Exempt => (None, BTreeMap::new(), None, true),
        };
        let specs = case.specs.iter().map(ToString::to_string).collect();
        Self { specs, cite: &case.cite, first, after, undated, exempt }
    }
}

/// A limit as JSON has it.
#[derive(Debug, Serialize)]
pub struct LimitRecord<'a> {
    pack: PackId,
    limit: &'static str,
    #[serde(flatten)]
    figure: &'a Limit,
}

/// The gas test limits of a pack.
#[must_use]
pub fn limit_records(pack: &Pack) -> Vec<LimitRecord<'_>> {
    let figures = pack.limits.figures().into_iter();
    figures.map(|(limit, figure)| LimitRecord { pack: pack.id, limit, figure }).collect()
}

/// Columns of the list of rules.
pub const RULE_COLUMNS: [Column; 4] = [fixed("PACK"), elastic("RULE"), fixed("AUTHORITY"), elastic("INTERVAL")];

/// One line of the list of rules.
#[must_use]
pub fn rule_row(pack: &Pack, rule: &Rule) -> Vec<String> {
    vec![pack.id.to_string(), rule.id.to_string(), rule.authority.to_string(), interval(rule)]
}

/// First and later intervals over all cases, as in `5–12 years from made, then 5–12 years`.
fn interval(rule: &Rule) -> String {
    let mut firsts: Vec<Span> = Vec::new();
    let mut anchors: Vec<&str> = Vec::new();
    let mut afters: Vec<Span> = Vec::new();
    for case in &rule.cases {
        let Period::Intervals { first, after } = &case.period else { continue };
        if let Some((anchor, span)) = first {
            firsts.push(*span);
            if !anchors.contains(&anchor.name()) {
                anchors.push(anchor.name());
            }
        }
        afters.extend(after.values());
    }
    let later = if afters.is_empty() { None } else { Some(range(&afters)) };
    match (firsts.is_empty(), later) {
        (true, None) => "undated".to_owned(),
        (true, Some(later)) => format!("every {later}"),
        (false, _) if anchors == [Anchor::CredentialUntil.name()] => "to its last day".to_owned(),
        (false, None) => format!("{} from {}", range(&firsts), anchors.join(" or ")),
        (false, Some(later)) if later == range(&firsts) => format!("{later} from {}, then again", anchors.join(" or ")),
        (false, Some(later)) => format!("{} from {}, then {later}", range(&firsts), anchors.join(" or ")),
    }
}

/// The shortest and the longest of some spans, as in `5–12 years`.
fn range(spans: &[Span]) -> String {
    let by_length = |a: &&Span, b: &&Span| a.rough_days().total_cmp(&b.rough_days());
    let (Some(shortest), Some(longest)) = (spans.iter().min_by(by_length), spans.iter().max_by(by_length)) else {
        return String::new();
    };
    let (short, long) = (shortest.to_string(), longest.to_string());
    match (short.split_once(' '), long.split_once(' ')) {
        _ if short == long => long,
        (Some((count, unit)), Some((_, other))) if unit == other => format!("{count}–{long}"),
        _ => format!("{short} to {long}"),
    }
}

/// One rule whole: its terms, its cases with figures and citations, note and caution, wrapped to `width`.
#[must_use]
pub fn rule_page(pack: &Pack, rule: &Rule, width: usize) -> String {
    let mut text = format!("{}: {}\n", rule.id, rule.what);
    let mut say = |label: &str, words: &str| line(&mut text, label, words, width);
    say("pack", &format!("{} ({})", pack.id, pack.title));
    let service = rule.service.map(|service| format!(", in {service} service")).unwrap_or_default();
    say("about", &format!("{}{service}", names(&rule.kinds)));
    say("authority", &authority_means(rule.authority));
    say(
        "precision",
        match rule.precision {
            Precision::Month => "to the month, good to its last day",
            Precision::Day => "a day keeps its day, a month is good to its last day",
        },
    );
    say("notice", &format!("due for {} before its last day", rule.notice));
    say("late", late_means(rule.late));
    say(
        "label",
        match rule.label {
            LabelUse::Ignored => "a replace-by date printed on it is of no account here",
            LabelUse::Earlier => "a replace-by date printed on it counts where it is earlier",
            LabelUse::Governs => "a replace-by date printed on it stands in place of the rule's",
        },
    );
    if !rule.opened_by.is_empty() {
        say("opened by", &format!("{}; due at once", names(&rule.opened_by)));
    }
    let skills = if rule.skills.is_empty() { String::new() } else { format!(", skills {}", names(&rule.skills)) };
    say("work", &format!("{} minutes{skills}; sensible from {} before its last day", rule.minutes, rule.earliest));
    for case in &rule.cases {
        text.push('\n');
        case_lines(&mut text, case, width);
    }
    if rule.note.is_some() || rule.caution.is_some() {
        text.push('\n');
    }
    for (label, words) in [("note", &rule.note), ("caution", &rule.caution)] {
        if let Some(words) = words {
            line(&mut text, label, words, width);
        }
    }
    text
}

fn authority_means(authority: Authority) -> String {
    let house = match authority {
        Authority::Law | Authority::Standard => "a house may tighten it, never loosen it",
        Authority::Maker | Authority::Practice => "a house may change it with a reason",
        Authority::House => "this fleet's own",
    };
    format!("{authority}; {house}")
}

fn case_lines(text: &mut String, case: &Case, width: usize) {
    let specs: Vec<String> = case.specs.iter().map(ToString::to_string).collect();
    line(text, "for", &if specs.is_empty() { "all others".to_owned() } else { specs.join(", ") }, width);
    match &case.period {
        Period::Intervals { first, after } => {
            match first {
                Some((anchor, Span::Days(0) | Span::Months(0))) => line(text, "first", anchor.name(), width),
                Some((anchor, span)) => line(text, "first", &format!("{span} from {anchor}"), width),
                None => line(text, "first", "no date before the first pass on record", width),
            }
            for (fact, span) in after {
                line(text, "after", &format!("{fact}: {span}"), width);
            }
        }
        Period::Undated(reason) => line(text, "undated", reason, width),
        Period::Exempt => line(text, "exempt", "the rule asks nothing of it", width),
    }
    line(text, "source", &case.cite, width);
}

fn names<T: Named>(values: &[T]) -> String {
    let names: Vec<&str> = values.iter().map(|value| value.name()).collect();
    names.join(", ")
}

/// The gas test limits of a pack with their sources, wrapped to `width`.
#[must_use]
pub fn limits_page(pack: &Pack, width: usize) -> String {
    let mut text = format!("limits: what gas tests are judged by ({}, {})\n", pack.id, pack.title);
    line(&mut text, "method", pack.limits.method.name(), width);
    let spans = [("dial_check", &pack.limits.dial_check), ("digital_check", &pack.limits.digital_check)];
    for (name, limit) in spans {
        text.push('\n');
        line(&mut text, "limit", &format!("{name}: {}", limit.span), width);
        line(&mut text, "source", &limit.cite, width);
    }
    for (name, limit) in pack.limits.figures() {
        let house = if limit.practice { "; a house may set its own with a reason" } else { "" };
        text.push('\n');
        line(&mut text, "limit", &format!("{name}: {}{house}", limit.value), width);
        line(&mut text, "source", &limit.cite, width);
    }
    text
}

/// What house rules change, old above new, wrapped to `width`.
#[must_use]
pub fn difference_page(differences: &[Difference], width: usize) -> String {
    let mut text = String::new();
    for found in differences {
        if !text.is_empty() {
            text.push('\n');
        }
        let _ = writeln!(text, "{}", found.rule);
        line(&mut text, "term", &found.term, width);
        line(&mut text, "before", found.before.as_deref().unwrap_or("-"), width);
        line(&mut text, "after", found.after.as_deref().unwrap_or("-"), width);
    }
    text
}
