//! From the facts about one thing and the rules over it to its due items.
//!
//! Owns: which fact governs, the arithmetic, and the sentence that says so. Refuses: figures, which rules hold.

use super::item::{Basis, Item};
use super::subject::{EventFact, MarkFact, Outcome, Subject};
use crate::model::{Dated, Day, Named, Span};
use crate::rules::{Anchor, Case, FactKind, LabelUse, Pack, Period, Precision, Rule};
use std::collections::BTreeMap;

/// Gives every due item of `subject` under the rules of `pack` to `out`, in the pack's order.
pub fn assess(pack: &Pack, subject: &Subject<'_>, mut out: impl FnMut(Item)) {
    for rule in pack.rules_for(subject.kind) {
        let Some((clock, cite)) = clock(rule, subject) else { continue };
        out(Item {
            depot: subject.depot.cloned(),
            unit: subject.unit.cloned(),
            part: subject.part.cloned(),
            kind: subject.kind,
            position: subject.position.to_owned(),
            rule: rule.id.clone(),
            what: rule.what.clone(),
            due_on: clock.due_on,
            notice_from: clock.notice_from,
            authority: rule.authority,
            cite: cite.to_owned(),
            late: rule.late,
            because: clock.because,
            basis: clock.basis,
        });
    }
}

/// A date with its reason, or the reason there is none.
struct Clock {
    due_on: Option<Day>,
    notice_from: Option<Day>,
    because: String,
    basis: Basis,
}

impl Clock {
    fn undated(basis: Basis, because: String) -> Self {
        Self { due_on: None, notice_from: None, because, basis }
    }

    /// In date through `last`, `due` from the notice before it.
    fn through(last: Dated, notice: Span, because: String) -> Self {
        let notice_from = match (last, notice) {
            // The due month itself is the first month of notice.
            (Dated::Month(month), Span::Months(_)) => notice.before(month.plus_months(1).first_day()),
            _ => notice.before(last.last_day()),
        };
        Self { due_on: Some(last.last_day()), notice_from: Some(notice_from), because, basis: Basis::Counted }
    }

    /// Overdue from `day` on.
    fn at_once(day: Day, basis: Basis, because: String) -> Self {
        let last = day.plus_days(-1);
        Self { due_on: Some(last), notice_from: Some(last), because, basis }
    }
}

fn clock<'r>(rule: &'r Rule, subject: &Subject<'_>) -> Option<(Clock, &'r str)> {
    let Some(case) = rule.case_for(subject.spec) else {
        if !rule.needs_spec() {
            return None;
        }
        let missing = if subject.spec.is_empty() {
            "specification missing; read it off the collar".to_owned()
        } else {
            format!("specification {} is none this rule knows", subject.spec)
        };
        return Some((
            Clock::undated(Basis::SpecMissing, missing),
            rule.cases.first().map_or("", |case| case.cite.as_str()),
        ));
    };
    let clock = match &case.period {
        Period::Exempt => return None,
        Period::Undated(reason) => Clock::undated(Basis::NoInterval, reason.clone()),
        Period::Intervals { first, after } => counted(rule, subject, *first, after),
    };
    Some((opened(rule, case, subject, clock), &case.cite))
}

/// The governing fact plus its interval, before events.
fn counted(
    rule: &Rule,
    subject: &Subject<'_>,
    first: Option<(Anchor, Span)>,
    after: &BTreeMap<FactKind, Span>,
) -> Clock {
    if let Some(last) = last_outcome(rule, subject)
        && !last.passed
    {
        return Clock::at_once(last.on, Basis::Failed, format!("failed {}; open until it passes", last.on));
    }
    if let Some((last, doubted_on)) = last_outcome(rule, subject).and_then(|last| Some((last, last.doubted_on?))) {
        let because = format!("passed {}; gauge found out {doubted_on}; test again", last.on);
        return Clock::at_once(doubted_on, Basis::Doubted, because);
    }
    let mark = if after.keys().any(|kind| *kind != FactKind::Pass) { last_mark(subject) } else { None };
    let pass = after.get(&FactKind::Pass).and_then(|span| Some((last_outcome(rule, subject)?.on, *span)));
    let aged = match (mark, pass) {
        (Some(mark), pass) if pass.is_none_or(|(on, _)| on.month() <= mark.month) => {
            let Some(span) = after.get(&mark.method.into()) else {
                let because =
                    format!("mark {} is {}, a method this rule gives no interval for", mark.month, mark.method);
                return Clock::undated(Basis::NoInterval, because);
            };
            let fact = format!("requalified {} by {}", mark.month, spoken(mark.method.name()));
            aged(rule, Dated::Month(mark.month), *span, &fact, "next in")
        }
        (_, Some((on, span))) => aged(rule, Dated::Day(on), span, &format!("passed {on}"), "next in"),
        _ => match first.map(|(anchor, span)| (anchor, span, anchored(anchor, subject))) {
            Some((anchor, span, Some(date))) => {
                aged(rule, date, span, &format!("{} {date}", anchor_word(anchor)), "first period")
            }
            Some((anchor, _, None)) => {
                Err(Clock::undated(anchor_missing(anchor), format!("{} missing", anchor_name(anchor))))
            }
            None => Err(Clock::undated(Basis::PassMissing, format!("no pass on record: {}", rule.what))),
        },
    };
    labelled(rule, subject, aged)
}

/// A last good date and the sentence for it, or the clock that stands for want of one.
type Aged = Result<(Dated, String), Clock>;

fn aged(rule: &Rule, from: Dated, span: Span, fact: &str, wording: &str) -> Aged {
    let from = match rule.precision {
        Precision::Month => Dated::Month(from.month()),
        Precision::Day => from,
    };
    let last = from.plus(span);
    let end = if matches!(last, Dated::Month(_)) { "; to the end of the month" } else { "" };
    let because = match span {
        Span::Months(0) | Span::Days(0) => fact.to_owned(),
        _ => format!("{fact}; {wording} {span}{end}"),
    };
    Ok((last, because))
}

/// Lets a replace-by date printed on the part speak.
fn labelled(rule: &Rule, subject: &Subject<'_>, aged: Aged) -> Clock {
    let label = subject.replace_by.filter(|_| rule.label != LabelUse::Ignored);
    let printed = |label: Dated| {
        let end = if matches!(label, Dated::Month(_)) { "; to the end of the month" } else { "" };
        format!("replace-by date {label} printed on the part{end}")
    };
    match (aged, label, rule.label) {
        (_, Some(label), LabelUse::Governs) => Clock::through(label, rule.notice, printed(label)),
        (Ok((last, _)), Some(label), _) if label.last_day() < last.last_day() => {
            let because = format!("{}; earlier than age gives ({last})", printed(label));
            Clock::through(label, rule.notice, because)
        }
        (Ok((last, because)), _, _) => Clock::through(last, rule.notice, because),
        (Err(undated), _, _) => undated,
    }
}

/// Lets an event that nothing has cleared since speak.
fn opened(rule: &Rule, case: &Case, subject: &Subject<'_>, clock: Clock) -> Clock {
    if matches!(case.period, Period::Undated(_)) {
        return clock;
    }
    let open = subject
        .events
        .iter()
        .filter(|event| rule.opened_by.contains(&event.event))
        .filter(|event| subject.fitted_on.is_none_or(|fitted| fitted <= event.on))
        .filter(|event| !cleared(rule, subject, event))
        .min_by_key(|event| (event.on, event.seq));
    match open {
        Some(event) if clock.due_on.is_none_or(|due_on| event.on <= due_on) => {
            Clock::at_once(event.on, Basis::Event, format!("{} {}; at once", spoken(event.event.name()), event.on))
        }
        _ => clock,
    }
}

fn cleared(rule: &Rule, subject: &Subject<'_>, event: &EventFact) -> bool {
    let trusted = subject.outcomes.iter().filter(|outcome| outcome.passed && outcome.doubted_on.is_none());
    let by_pass = trusted
        .filter(|outcome| outcome.rule == rule.id)
        .any(|outcome| (outcome.on, outcome.seq) > (event.on, event.seq));
    let by_mark = subject
        .marks
        .iter()
        .any(|mark| mark.month > event.on.month() || (mark.month == event.on.month() && mark.seq > event.seq));
    by_pass || by_mark
}

fn last_outcome<'s>(rule: &Rule, subject: &'s Subject<'_>) -> Option<&'s Outcome> {
    subject.outcomes.iter().filter(|outcome| outcome.rule == rule.id).max_by_key(|outcome| (outcome.on, outcome.seq))
}

fn last_mark<'s>(subject: &'s Subject<'_>) -> Option<&'s MarkFact> {
    subject.marks.iter().max_by_key(|mark| (mark.month, mark.seq))
}

fn anchored(anchor: Anchor, subject: &Subject<'_>) -> Option<Dated> {
    match anchor {
        Anchor::Made => subject.made,
        Anchor::Fitted => subject.fitted_on.map(Dated::Day),
        Anchor::InService => subject.in_service_on.map(Dated::Day),
        Anchor::CredentialUntil => subject.credential_until.map(Dated::Day),
    }
}

fn anchor_word(anchor: Anchor) -> &'static str {
    match anchor {
        Anchor::Made => "made",
        Anchor::Fitted => "fitted",
        Anchor::InService => "in service",
        Anchor::CredentialUntil => "credential valid until",
    }
}

fn anchor_name(anchor: Anchor) -> &'static str {
    match anchor {
        Anchor::Made => "make date",
        Anchor::Fitted => "day fitted",
        Anchor::InService => "day put in service",
        Anchor::CredentialUntil => "credential's last day",
    }
}

fn anchor_missing(anchor: Anchor) -> Basis {
    match anchor {
        Anchor::Made => Basis::MadeMissing,
        Anchor::Fitted => Basis::FittedMissing,
        Anchor::InService => Basis::InServiceMissing,
        Anchor::CredentialUntil => Basis::CredentialMissing,
    }
}

/// A hyphenated name as said in a sentence.
fn spoken(name: &str) -> String {
    name.replace('-', " ")
}
