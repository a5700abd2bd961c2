//! Which changes loosen a rule.
//!
//! Owns: the comparison of old and new, in doubt for the cautious side. Refuses: applying anything.

use super::rule::{Anchor, Authority, FactKind, LabelUse, Late, Precision};
use crate::model::{Day, EventKind, Month, RuleId, Skill, Span};

/// A loosening that the rule's authority does not allow.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{rule}` stands on {} and may not be loosened: {loosening}; source: {cite}", match .authority {
    Authority::Law => "law",
    _ => "a standard",
})]
pub struct Looser {
    /// The rule.
    pub rule: RuleId,
    /// On whose word it stands.
    pub authority: Authority,
    /// Where.
    pub cite: String,
    /// How the change would loosen it.
    pub loosening: Loosening,
}

/// One way in which a change loosens a rule.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Loosening {
    /// A first interval that may end later.
    #[error("a first interval of {to} can be longer than {from}")]
    LongerFirst {
        /// As the pack has it.
        from: Span,
        /// As the house wants it.
        to: Span,
    },
    /// A first interval where the pack counts only from a passed check.
    #[error("it has no first interval, so nothing is in date before its first check")]
    FirstAdded,
    /// A first interval that runs from another fact.
    #[error("its first interval runs from {from}, and {to} may be later")]
    OtherAnchor {
        /// As the pack has it.
        from: Anchor,
        /// As the house wants it.
        to: Anchor,
    },
    /// An interval after a kind of fact that may end later.
    #[error("{to} after {fact} can be longer than {from}")]
    LongerAfter {
        /// The kind of fact.
        fact: FactKind,
        /// As the pack has it.
        from: Span,
        /// As the house wants it.
        to: Span,
    },
    /// A kind of fact that starts no interval in the pack.
    #[error("{fact} starts no interval under it")]
    AfterAdded {
        /// The kind of fact.
        fact: FactKind,
    },
    /// An event that would no longer open the work.
    #[error("{event} would no longer open the work")]
    EventDropped {
        /// The event.
        event: EventKind,
    },
    /// A weaker consequence of being late.
    #[error("being late would mean `{to}` instead of `{from}`")]
    WeakerLate {
        /// As the pack has it.
        from: Late,
        /// As the house wants it.
        to: Late,
    },
    /// A printed date that may stand in place of an earlier one.
    #[error("its use of the printed date would be `{to}` instead of `{from}`")]
    OtherLabel {
        /// As the pack has it.
        from: LabelUse,
        /// As the house wants it.
        to: LabelUse,
    },
    /// Dates kept to the month, good to its end.
    #[error("days would be rounded up to the end of their month")]
    MonthPrecision,
    /// Work that somebody without the skill could then do.
    #[error("the work would no longer need the skill {skill}")]
    SkillDropped {
        /// The skill.
        skill: Skill,
    },
}

pub(super) fn looser_late(from: Late, to: Late) -> Option<Loosening> {
    let weight = |late| match late {
        Late::Advise => 0,
        Late::OffRent => 1,
        // Keeps the unit off rent as well.
        Late::NotToBeRefilled => 2,
    };
    (weight(to) < weight(from)).then_some(Loosening::WeakerLate { from, to })
}

/// A printed date can be later than the rule's own, so only `earlier` is never looser.
pub(super) fn looser_label(from: LabelUse, to: LabelUse) -> Option<Loosening> {
    (to != from && to != LabelUse::Earlier).then_some(Loosening::OtherLabel { from, to })
}

pub(super) fn looser_precision(from: Precision, to: Precision) -> Option<Loosening> {
    (from == Precision::Day && to == Precision::Month).then_some(Loosening::MonthPrecision)
}

pub(super) fn dropped_event(from: &[EventKind], to: &[EventKind]) -> Option<Loosening> {
    from.iter().find(|event| !to.contains(event)).map(|&event| Loosening::EventDropped { event })
}

pub(super) fn dropped_skill(from: &[Skill], to: &[Skill]) -> Option<Loosening> {
    from.iter().find(|skill| !to.contains(skill)).map(|&skill| Loosening::SkillDropped { skill })
}

/// True if counting `to` can from some day reach a later day than counting `from` does.
pub(super) fn can_be_longer(from: Span, to: Span) -> bool {
    match (from, to) {
        (Span::Months(from), Span::Months(to)) => to > from,
        (Span::Days(from), Span::Days(to)) => to > from,
        (Span::Months(from), Span::Days(to)) => i64::from(to) > days_in(from).0,
        // Counted from a month, days run from its first day and months to the last day of theirs.
        (Span::Days(from), Span::Months(to)) => days_in(to).1 + LONGEST_MONTH_DAYS > i64::from(from),
    }
}

const LONGEST_MONTH_DAYS: i64 = 31;

/// The fewest and the most days that a span of months can take, from any day.
///
/// Tried from the first and the last day of every month of nine years about 2100, which is no leap year: there the
/// leap days are both sparsest and, from 2104 on, as dense as they come.
fn days_in(months: u32) -> (i64, i64) {
    let months = i32::try_from(months).unwrap_or(i32::MAX / 2);
    let starts = (2096..=2104).flat_map(|year| (1..=12).filter_map(move |month| Month::new(year, month)));
    let lengths = starts
        .flat_map(|month| [month.first_day(), month.last_day()])
        .map(|start: Day| start.days_until(start.plus_months(months)));
    lengths.fold((i64::MAX, 0), |(fewest, most), days| (fewest.min(days), most.max(days)))
}

#[cfg(test)]
mod tests {
    use super::can_be_longer;
    use crate::model::{Dated, Month, Span};
    use proptest::prelude::{ProptestConfig, Strategy, prop_assert, proptest};

    /// Two spans of nearly the same length, in any units: far apart ones would show nothing.
    fn near_spans() -> impl Strategy<Value = (Span, Span)> {
        let days = |months: u32, off: u32| (months * 487 / 16 + off).saturating_sub(20).max(1);
        (1..400_u32, 0..90_u32, 0..4_u32).prop_map(move |(months, off, units)| match units {
            0 => (Span::Months(months), Span::Days(days(months, off.min(40)))),
            1 => (Span::Days(days(months, off)), Span::Months(months)),
            2 => (Span::Days(days(months, off)), Span::Days(days(months, 20))),
            _ => (Span::Months(months), Span::Months((months + off / 30).saturating_sub(1).max(1))),
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]

        /// What is held to be no longer is no later from any day, and from any month.
        #[test]
        fn what_is_not_longer_never_ends_later((from, to) in near_spans(), year in 1990..2150, month in 1..=12_u32, day in 0..31_i64) {
            let month = Month::new(year, month).ok_or_else(|| proptest::test_runner::TestCaseError::reject("no month"))?;
            for start in [Dated::Month(month), Dated::Day(month.first_day().plus_days(day))] {
                prop_assert!(can_be_longer(from, to) || start.plus(to).last_day() <= start.plus(from).last_day());
            }
        }
    }

    #[test]
    fn spans_are_compared_at_their_worst() {
        let check = |from: &str, to: &str, longer: bool| {
            let span = |text: &str| text.parse().unwrap_or(Span::Days(0));
            assert_eq!(can_be_longer(span(from), span(to)), longer, "{to} for {from}");
        };
        check("12 months", "365 days", false);
        check("12 months", "366 days", true);
        check("1 month", "28 days", false);
        check("1 month", "29 days", true);
        check("5 years", "60 months", false);
        check("5 years", "61 months", true);
        check("31 days", "1 month", true);
        check("62 days", "1 month", false);
        check("2 weeks", "15 days", true);
    }
}
