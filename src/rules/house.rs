//! House rules: how one fleet's own decisions are laid over a pack.
//!
//! Owns: changes with reasons, and the refusal to loosen law or standard. Refuses: hiding a change; every changed
//! interval cites the house's reason beside the pack's source.

use super::fields::Placed;
use super::looser::{
    Loosening, Looser, can_be_longer, dropped_event, dropped_skill, looser_label, looser_late, looser_precision,
};
use super::pack::Pack;
use super::problem::RuleProblem;
use super::rule::{Anchor, Case, FactKind, ItemKind, LabelUse, Late, Period, Precision, Rule};
use super::source::{Misplaced, Place, RuleError};
use crate::model::{EventKind, GasLimits, LimitError, PackId, RuleId, Skill, Span};
use std::collections::BTreeMap;

/// A house file, read but not yet applied.
#[derive(Debug, Clone, PartialEq)]
pub struct HouseRules {
    /// The pack it changes.
    pub pack: PackId,
    /// The file as written.
    pub text: String,
    pub(super) origin: String,
    pub(super) changes: Vec<HouseChange>,
    pub(super) limits: Vec<HouseLimit>,
    pub(super) rules: Vec<HouseRule>,
}

/// One `[[change]]`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct HouseChange {
    pub(super) rule: Placed<RuleId>,
    pub(super) reason: String,
    pub(super) spec: Option<Placed<String>>,
    pub(super) first: Option<Placed<(Option<Anchor>, Span)>>,
    pub(super) after: BTreeMap<FactKind, Placed<Span>>,
    pub(super) precision: Option<Placed<Precision>>,
    pub(super) notice: Option<Span>,
    pub(super) late: Option<Placed<Late>>,
    pub(super) label: Option<Placed<LabelUse>>,
    pub(super) opened_by: Option<Placed<Vec<EventKind>>>,
    pub(super) minutes: Option<u32>,
    pub(super) skills: Option<Placed<Vec<Skill>>>,
    pub(super) earliest: Option<Span>,
}

/// One `[[limit]]`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct HouseLimit {
    pub(super) name: String,
    pub(super) value: f64,
    pub(super) reason: String,
    pub(super) place: Place,
    pub(super) value_place: Place,
}

/// One `[[rule]]` of the house's own.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct HouseRule {
    pub(super) rule: Rule,
    pub(super) place: Place,
}

impl HouseRules {
    /// Lays the house rules over `pack`, which stays as it was if they are refused.
    ///
    /// # Errors
    /// [`RuleError`] at the line that names what is not there or loosens what may not be loosened.
    pub fn apply(&self, pack: &mut Pack) -> Result<(), RuleError> {
        *pack = self.laid_over(pack).map_err(|found| RuleError::locate(&self.origin, &self.text, found))?;
        Ok(())
    }

    fn laid_over(&self, pack: &Pack) -> Result<Pack, Misplaced> {
        let mut laid = pack.clone();
        for change in &self.changes {
            let Some(rule) = laid.rules.iter_mut().find(|rule| rule.id == change.rule.value) else {
                let known = pack.rules.iter().map(|rule| rule.id.to_string()).collect();
                let problem = RuleProblem::UnknownRule { rule: change.rule.value.clone(), known };
                return Err(problem.at(change.rule.place.clone()));
            };
            *rule = change.changed(rule)?;
        }
        for own in &self.rules {
            if laid.rule(&own.rule.id).is_some() {
                return Err(RuleProblem::RuleExists { rule: own.rule.id.clone() }.at(own.place.clone()));
            }
            laid.rules.push(own.rule.clone());
        }
        for limit in &self.limits {
            laid.limits = limit.changed(laid.limits)?;
        }
        Ok(laid)
    }
}

impl HouseLimit {
    fn changed(&self, limits: GasLimits) -> Result<GasLimits, Misplaced> {
        limits.with(&self.name, self.value, &self.reason).map_err(|error| {
            let place = match error {
                LimitError::NotANumber { .. } | LimitError::Order { .. } => &self.value_place,
                LimitError::Unknown { .. } | LimitError::Fixed { .. } | LimitError::NoReason { .. } => &self.place,
            };
            RuleProblem::Limit(error).at(place.clone())
        })
    }
}

impl HouseChange {
    fn changed(&self, rule: &Rule) -> Result<Rule, Misplaced> {
        let mut new = rule.clone();
        self.change_terms(rule, &mut new)?;
        self.change_intervals(rule, &mut new)?;
        if new == *rule {
            return Err(RuleProblem::NothingChanged { rule: rule.id.clone() }.at(self.rule.place.clone()));
        }
        if new.cases == rule.cases {
            let reason = format!("House rule: {}", self.reason);
            new.note = Some(rule.note.as_ref().map_or(reason.clone(), |note| format!("{note} {reason}")));
        }
        Ok(new)
    }

    /// Refuses a loosening where the rule's authority does not allow one.
    fn allow(rule: &Rule, cite: &str, loosening: Option<Loosening>, place: &Place) -> Result<(), Misplaced> {
        match loosening.filter(|_| !rule.authority.may_be_loosened()) {
            None => Ok(()),
            Some(loosening) => {
                let looser =
                    Looser { rule: rule.id.clone(), authority: rule.authority, cite: cite.to_owned(), loosening };
                Err(RuleProblem::Loosened(looser).at(place.clone()))
            }
        }
    }

    /// What holds for the whole rule. Notice and planning figures are the house's to choose.
    fn change_terms(&self, rule: &Rule, new: &mut Rule) -> Result<(), Misplaced> {
        let cite = rule.cases.first().map_or("", |case| case.cite.as_str());
        if let Some(precision) = &self.precision {
            Self::allow(rule, cite, looser_precision(rule.precision, precision.value), &precision.place)?;
            new.precision = precision.value;
        }
        if let Some(late) = &self.late {
            Self::allow(rule, cite, looser_late(rule.late, late.value), &late.place)?;
            new.late = late.value;
        }
        if let Some(label) = &self.label {
            Self::allow(rule, cite, looser_label(rule.label, label.value), &label.place)?;
            new.label = label.value;
        }
        if let Some(events) = &self.opened_by {
            Self::allow(rule, cite, dropped_event(&rule.opened_by, &events.value), &events.place)?;
            new.opened_by.clone_from(&events.value);
        }
        if let Some(skills) = &self.skills {
            Self::allow(rule, cite, dropped_skill(&rule.skills, &skills.value), &skills.place)?;
            new.skills.clone_from(&skills.value);
        }
        new.notice = self.notice.unwrap_or(rule.notice);
        new.minutes = self.minutes.unwrap_or(rule.minutes);
        new.earliest = self.earliest.unwrap_or(rule.earliest);
        Ok(())
    }

    fn change_intervals(&self, rule: &Rule, new: &mut Rule) -> Result<(), Misplaced> {
        if self.first.is_none() && self.after.is_empty() {
            return Ok(());
        }
        let chosen = self.chosen_case(rule)?;
        let here = |position: usize| chosen.is_none_or(|chosen| chosen == position);
        let timed = |case: &Case| matches!(case.period, Period::Intervals { .. });
        if !rule.cases.iter().enumerate().any(|(position, case)| here(position) && timed(case)) {
            let problem = RuleProblem::NoInterval { rule: rule.id.clone(), interval: "interval" };
            return Err(problem.at(self.rule.place.clone()));
        }
        if let Some(first) = &self.first {
            let fits = |anchor: Anchor| rule.kinds.iter().all(|&kind| anchor.exists_on(kind));
            if let Some(anchor) = first.value.0.filter(|&anchor| !fits(anchor)) {
                let problem = RuleProblem::AnchorOfKind { anchor, kind: rule.kinds[0] };
                return Err(problem.at(first.place.clone()));
            }
            let (Span::Months(length) | Span::Days(length)) = first.value.1;
            if length == 0 && !rule.kinds.contains(&ItemKind::Person) {
                return Err(RuleProblem::ZeroSpan { key: "first".to_owned() }.at(first.place.clone()));
            }
            let anchored = |case: &Case| matches!(case.period, Period::Intervals { first: Some(_), .. });
            let any = rule.cases.iter().enumerate().any(|(position, case)| here(position) && anchored(case));
            if first.value.0.is_none() && !any {
                let problem = RuleProblem::NoInterval { rule: rule.id.clone(), interval: "first interval" };
                return Err(problem.at(first.place.clone()));
            }
        }
        for (fact, span) in &self.after {
            if let Some(&kind) = rule.kinds.iter().find(|&&kind| !fact.exists_on(kind)) {
                return Err(RuleProblem::FactOfKind { fact: *fact, kind }.at(span.place.clone()));
            }
        }
        for (position, case) in new.cases.iter_mut().enumerate().filter(|(position, _)| here(*position)) {
            self.change_case(rule, &rule.cases[position], case)?;
        }
        Ok(())
    }

    /// Position of the case that the change's `spec` falls under; none where the change is for all cases.
    fn chosen_case(&self, rule: &Rule) -> Result<Option<usize>, Misplaced> {
        let Some(spec) = &self.spec else { return Ok(None) };
        let found = rule.case_for(&spec.value).and_then(|case| rule.cases.iter().position(|other| other == case));
        found.map(Some).ok_or_else(|| {
            RuleProblem::UnknownSpec { rule: rule.id.clone(), spec: spec.value.clone() }.at(spec.place.clone())
        })
    }

    fn change_case(&self, rule: &Rule, old: &Case, new: &mut Case) -> Result<(), Misplaced> {
        let Period::Intervals { first, after } = &mut new.period else { return Ok(()) };
        if let Some(wanted) = &self.first {
            let (anchor, to) = wanted.value;
            let loosening = match (*first, anchor) {
                (None, Some(_)) => Some(Loosening::FirstAdded),
                (Some((from, _)), Some(to)) if from != to => Some(Loosening::OtherAnchor { from, to }),
                (Some((_, from)), _) => can_be_longer(from, to).then_some(Loosening::LongerFirst { from, to }),
                (None, None) => None,
            };
            Self::allow(rule, &old.cite, loosening, &wanted.place)?;
            *first = anchor.or(first.map(|(anchor, _)| anchor)).map(|anchor| (anchor, to));
        }
        for (&fact, wanted) in &self.after {
            let to = wanted.value;
            let loosening = match after.get(&fact) {
                None => Some(Loosening::AfterAdded { fact }),
                Some(&from) => can_be_longer(from, to).then_some(Loosening::LongerAfter { fact, from, to }),
            };
            Self::allow(rule, &old.cite, loosening, &wanted.place)?;
            after.insert(fact, to);
        }
        if new.period != old.period {
            new.cite = format!("{}; house rule: {}", old.cite, self.reason);
        }
        Ok(())
    }
}
