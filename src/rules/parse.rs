//! Rule files read into rules; the first thing that is wrong is named with its line and column.
//!
//! Owns: the format of packs and of house files (`docs/rules.md`). Refuses: reading files, and any figure of its own: an
//! interval that is not written is not there.

use super::fields::{Fields, Found, Placed, array, interval, number, span, table, text, wrong};
use super::house::{HouseChange, HouseLimit, HouseRule, HouseRules};
use super::limits::parse_limits;
use super::pack::Pack;
use super::problem::{MAX_ENTRIES, MAX_RULE_FILE_BYTES, MAX_WHAT_CHARS, RuleProblem};
use super::rule::{Anchor, Authority, Case, FactKind, ItemKind, LabelUse, Period, Rule, service_of};
use super::source::{Misplaced, Place, RuleError};
use super::spec::SpecPattern;
use crate::model::{RuleId, Service, Span};
use std::collections::{BTreeMap, HashMap};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

const PACK_KEYS: &[&str] = &["pack", "title", "scope", "rule", "limits"];
const HOUSE_KEYS: &[&str] = &["pack", "change", "limit", "rule"];
const RULE_KEYS: &[&str] = &[
    "id",
    "what",
    "kinds",
    "service",
    "authority",
    "precision",
    "notice",
    "late",
    "label",
    "opened_by",
    "minutes",
    "skills",
    "earliest",
    "note",
    "caution",
    "case",
];
const HOUSE_RULE_KEYS: &[&str] = &[
    "id",
    "reason",
    "what",
    "kinds",
    "service",
    "precision",
    "notice",
    "late",
    "label",
    "opened_by",
    "minutes",
    "skills",
    "earliest",
    "note",
    "caution",
    "case",
];
const CASE_KEYS: &[&str] = &["specs", "cite", "first", "after", "undated", "exempt"];
const FIRST_KEYS: &[&str] = &["from", "span"];
const CHANGE_KEYS: &[&str] = &[
    "rule",
    "spec",
    "reason",
    "first",
    "after",
    "precision",
    "notice",
    "late",
    "label",
    "opened_by",
    "minutes",
    "skills",
    "earliest",
];
const LIMIT_KEYS: &[&str] = &["name", "value", "reason"];
/// More than any job in the trade takes; the planner counts in minutes of one day.
const MOST_MINUTES: u32 = 1440;

/// Reads a pack from the text of its file; `origin` names the file in errors.
///
/// # Errors
/// [`RuleError`] with the first problem and where it stands.
pub fn parse_pack(origin: &str, text: &str) -> Result<Pack, RuleError> {
    read(text).and_then(|root| pack(&root, text)).map_err(|found| RuleError::locate(origin, text, found))
}

/// Reads a house file: changes to a pack's rules, limits of the house's own, and wholly new rules. Whether the pack
/// allows them shows when they are applied.
///
/// # Errors
/// [`RuleError`] with the first problem and where it stands.
pub fn parse_house(origin: &str, text: &str) -> Result<HouseRules, RuleError> {
    read(text).and_then(|root| house(&root, origin, text)).map_err(|found| RuleError::locate(origin, text, found))
}

/// True if a rule file is meant as a whole pack rather than as changes to one: only packs have a title, a scope or a
/// table of limits. Unreadable text is taken for a pack.
#[must_use]
pub fn is_pack(text: &str) -> bool {
    read(text).map_or(true, |root| ["title", "scope", "limits"].iter().any(|key| root.get_ref().contains_key(*key)))
}

fn read(text: &str) -> Found<Spanned<DeTable<'_>>> {
    if text.len() > MAX_RULE_FILE_BYTES {
        return Err(RuleProblem::TooLarge { bytes: text.len() }.at(0..0));
    }
    DeTable::parse(text).map_err(|error| {
        let words: Vec<&str> = error.message().split_whitespace().collect();
        RuleProblem::Syntax { message: words.join(" ") }.at(error.span().unwrap_or(0..0))
    })
}

fn pack(root: &Spanned<DeTable<'_>>, text: &str) -> Found<Pack> {
    let fields = Fields::new(root.get_ref(), 0..0, "a pack", PACK_KEYS)?;
    let (id, title, scope) = (fields.word("pack")?, fields.sentence("title")?, fields.sentence("scope")?);
    let mut rules = Vec::new();
    let mut first_places: HashMap<RuleId, Place> = HashMap::new();
    for written in entries(&fields, "rule", "rules")? {
        let fields = Fields::new(written.value, written.place, "a rule", RULE_KEYS)?;
        let authority = fields.word("authority")?;
        let rule = rule(&fields, authority, None)?;
        note_rule(&mut first_places, &fields, &rule.id, text)?;
        rules.push(rule);
    }
    if rules.is_empty() {
        return Err(RuleProblem::MissingKey { key: "rule", table: "a pack" }.at(0..0));
    }
    Ok(Pack { id, title, scope, rules, limits: parse_limits(fields.need("limits")?)? })
}

fn house(root: &Spanned<DeTable<'_>>, origin: &str, text: &str) -> Found<HouseRules> {
    let fields = Fields::new(root.get_ref(), 0..0, "a house file", HOUSE_KEYS)?;
    let pack = fields.word("pack")?;
    let changes = entries(&fields, "change", "changes")?.into_iter().map(change).collect::<Found<_>>()?;
    let limits = entries(&fields, "limit", "limits")?.into_iter().map(limit).collect::<Found<_>>()?;
    let mut rules = Vec::new();
    let mut first_places: HashMap<RuleId, Place> = HashMap::new();
    for written in entries(&fields, "rule", "rules")? {
        if let Some(key) = written.value.keys().find(|key| key.get_ref() == "authority") {
            return Err(RuleProblem::AuthorityGiven.at(key.span()));
        }
        let fields = Fields::new(written.value, written.place, "a house's own rule", HOUSE_RULE_KEYS)?;
        let reason = fields.sentence("reason")?;
        let rule = rule(&fields, Authority::House, Some(&reason))?;
        note_rule(&mut first_places, &fields, &rule.id, text)?;
        rules.push(HouseRule { rule, place: fields.need("id")?.span() });
    }
    Ok(HouseRules { pack, text: text.to_owned(), origin: origin.to_owned(), changes, limits, rules })
}

fn entries<'t>(fields: &Fields<'t>, key: &'static str, what: &'static str) -> Found<Vec<Placed<&'t DeTable<'t>>>> {
    let tables = fields.tables(key)?;
    match tables.get(MAX_ENTRIES) {
        Some(over) => Err(RuleProblem::TooMany { what }.at(over.place.clone())),
        None => Ok(tables),
    }
}

fn note_rule(places: &mut HashMap<RuleId, Place>, fields: &Fields<'_>, id: &RuleId, text: &str) -> Found<()> {
    let place = fields.need("id")?.span();
    match places.insert(id.clone(), place.clone()) {
        Some(first) => {
            let first_line = text[..first.start].matches('\n').count() + 1;
            Err(RuleProblem::DuplicateRule { rule: id.clone(), first_line }.at(place))
        }
        None => Ok(()),
    }
}

fn rule_id(fields: &Fields<'_>, key: &'static str) -> Found<RuleId> {
    let value = fields.need(key)?;
    text(key, value)?.parse().map_err(|error| RuleProblem::BadRuleId(error).at(value.span()))
}

/// Reads one rule. `reason` is the house's, and stands as citation where a case has none of its own.
fn rule(fields: &Fields<'_>, authority: Authority, reason: Option<&str>) -> Found<Rule> {
    let id = rule_id(fields, "id")?;
    let what = fields.sentence("what")?;
    let chars = what.chars().count();
    if chars > MAX_WHAT_CHARS {
        let problem = RuleProblem::TooLong { key: "what".to_owned(), chars, most: MAX_WHAT_CHARS };
        return Err(problem.at(fields.need("what")?.span()));
    }
    let kinds = fields
        .words_if_any::<ItemKind>("kinds")?
        .ok_or_else(|| RuleProblem::MissingKey { key: "kinds", table: "a rule" }.at(fields.place.clone()))?;
    if kinds.value.is_empty() {
        return Err(RuleProblem::Empty { key: "kinds".to_owned() }.at(kinds.place));
    }
    let service = fields.word_if_any::<Service>("service")?;
    if let Some(service) = &service
        && let Some(&kind) = kinds.value.iter().find(|&&kind| service_of(kind) != Some(service.value))
    {
        let problem = RuleProblem::ServiceOfKind { kind, service: service.value };
        return Err(problem.at(service.place.clone()));
    }
    let notice = fields.span("notice")?;
    let opened_by = fields.words_if_any("opened_by")?.map(|words| words.value).unwrap_or_default();
    let cases = cases(fields, &id, &kinds.value, reason)?;
    Ok(Rule {
        id,
        what,
        kinds: kinds.value,
        service: service.map(|service| service.value),
        authority,
        precision: fields.word("precision")?,
        notice,
        late: fields.word("late")?,
        label: fields.word_if_any::<LabelUse>("label")?.map(|label| label.value).unwrap_or_default(),
        opened_by,
        cases,
        note: fields.sentence_if_any("note")?,
        caution: fields.sentence_if_any("caution")?,
        minutes: minutes(fields)?
            .ok_or_else(|| RuleProblem::MissingKey { key: "minutes", table: "a rule" }.at(fields.place.clone()))?,
        skills: fields.words_if_any("skills")?.map(|words| words.value).unwrap_or_default(),
        earliest: fields.span_if_any("earliest")?.unwrap_or(notice),
    })
}

fn minutes(fields: &Fields<'_>) -> Found<Option<u32>> {
    fields.count_if_any("minutes", MOST_MINUTES)
}

fn cases(fields: &Fields<'_>, id: &RuleId, kinds: &[ItemKind], reason: Option<&str>) -> Found<Vec<Case>> {
    let mut cases: Vec<Case> = Vec::new();
    let mut specs_so_far = 0;
    for written in entries(fields, "case", "cases of a rule")? {
        let fields = Fields::new(written.value, written.place, "a case", CASE_KEYS)?;
        let specs = specs(&fields, id, &cases)?;
        specs_so_far += specs.len();
        if specs_so_far > MAX_ENTRIES {
            return Err(RuleProblem::TooMany { what: "specifications of a rule" }.at(fields.need("specs")?.span()));
        }
        if specs.is_empty() && cases.iter().any(|case| case.specs.is_empty()) {
            return Err(RuleProblem::TwoDefaults { rule: id.clone() }.at(fields.place.clone()));
        }
        let cite = match (fields.sentence_if_any("cite")?, reason) {
            (Some(cite), _) => cite,
            (None, Some(reason)) => format!("house rule: {reason}"),
            (None, None) => fields.sentence("cite")?,
        };
        let period = period(&fields, id, kinds)?;
        cases.push(Case { specs, cite, period });
    }
    if cases.is_empty() {
        return Err(RuleProblem::NoCase { rule: id.clone() }.at(fields.need("id")?.span()));
    }
    Ok(cases)
}

fn specs(fields: &Fields<'_>, id: &RuleId, earlier: &[Case]) -> Found<Vec<SpecPattern>> {
    let Some(value) = fields.get("specs") else { return Ok(Vec::new()) };
    let items = array("specs", value)?;
    if items.is_empty() {
        return Err(RuleProblem::Empty { key: "specs".to_owned() }.at(value.span()));
    }
    if items.len() > MAX_ENTRIES {
        return Err(RuleProblem::TooMany { what: "specifications of a rule" }.at(items[MAX_ENTRIES].span()));
    }
    let mut specs = Vec::with_capacity(items.len());
    for item in items {
        let written = text("specs", item)?;
        let Ok(pattern) = written.parse::<SpecPattern>();
        if pattern.is_boundless() {
            return Err(RuleProblem::BroadSpec { spec: written.to_owned() }.at(item.span()));
        }
        let clash = earlier.iter().flat_map(|case| &case.specs).find(|other| other.overlaps(&pattern));
        if let Some(other) = clash {
            let problem =
                RuleProblem::OverlappingSpecs { rule: id.clone(), spec: pattern.to_string(), other: other.to_string() };
            return Err(problem.at(item.span()));
        }
        specs.push(pattern);
    }
    Ok(specs)
}

fn period(fields: &Fields<'_>, id: &RuleId, kinds: &[ItemKind]) -> Found<Period> {
    const WAYS: [&str; 4] = ["first", "after", "undated", "exempt"];
    let given: Vec<&'static str> = WAYS.into_iter().filter(|way| fields.get(way).is_some()).collect();
    match given[..] {
        [] => Err(RuleProblem::NoPeriod { rule: id.clone() }.at(fields.place.clone())),
        ["undated"] => Ok(Period::Undated(fields.sentence("undated")?)),
        ["exempt"] => {
            let value = fields.need("exempt")?;
            match value.get_ref() {
                DeValue::Boolean(true) => Ok(Period::Exempt),
                DeValue::Boolean(false) => Err(RuleProblem::NoPeriod { rule: id.clone() }.at(value.span())),
                _ => Err(wrong("exempt", "true", value)),
            }
        }
        ["first"] | ["after"] | ["first", "after"] => {
            let first = fields.get("first").map(|value| first(value, kinds)).transpose()?;
            let after = fields.get("after").map(|value| after(value, kinds)).transpose()?.unwrap_or_default();
            let after = after.into_iter().map(|(fact, span)| (fact, span.value)).collect();
            Ok(Period::Intervals { first, after })
        }
        [one, .., other] => {
            let place = fields.need(other)?.span();
            Err(RuleProblem::TwoPeriods { rule: id.clone(), one, other }.at(place))
        }
        [_] => Err(RuleProblem::NoPeriod { rule: id.clone() }.at(fields.place.clone())),
    }
}

fn first(value: &Spanned<DeValue<'_>>, kinds: &[ItemKind]) -> Found<(Anchor, Span)> {
    let fields = Fields::new(table("first", value)?, value.span(), "a first interval", FIRST_KEYS)?;
    let anchor: Anchor = fields.word("from")?;
    if let Some(&kind) = kinds.iter().find(|&&kind| !anchor.exists_on(kind)) {
        return Err(RuleProblem::AnchorOfKind { anchor, kind }.at(fields.need("from")?.span()));
    }
    let length = fields.need("span")?;
    // A credential's last day is itself the due date.
    let span = if anchor == Anchor::CredentialUntil { span("span", length)? } else { interval("span", length)? };
    Ok((anchor, span))
}

fn after(value: &Spanned<DeValue<'_>>, kinds: &[ItemKind]) -> Found<BTreeMap<FactKind, Placed<Span>>> {
    let written = table("after", value)?;
    if written.is_empty() {
        return Err(RuleProblem::Empty { key: "after".to_owned() }.at(value.span()));
    }
    let mut spans = BTreeMap::new();
    for (key, length) in written {
        let fact: FactKind = key.get_ref().parse().map_err(|error| RuleProblem::UnknownWord(error).at(key.span()))?;
        if let Some(&kind) = kinds.iter().find(|&&kind| !fact.exists_on(kind)) {
            return Err(RuleProblem::FactOfKind { fact, kind }.at(key.span()));
        }
        let placed = Placed { value: interval(key.get_ref(), length)?, place: length.span() };
        if spans.insert(fact, placed).is_some() {
            let problem = RuleProblem::Repeated { key: "after".to_owned(), word: fact.to_string() };
            return Err(problem.at(key.span()));
        }
    }
    Ok(spans)
}

fn change(written: Placed<&DeTable<'_>>) -> Found<HouseChange> {
    let fields = Fields::new(written.value, written.place, "a change", CHANGE_KEYS)?;
    let rule = Placed { value: rule_id(&fields, "rule")?, place: fields.need("rule")?.span() };
    let first = fields.get("first").map(|value| match value.get_ref() {
        DeValue::String(_) => Ok(Placed { value: (None, span("first", value)?), place: value.span() }),
        _ => {
            let fields = Fields::new(table("first", value)?, value.span(), "a first interval", FIRST_KEYS)?;
            let anchor = fields.word("from")?;
            Ok(Placed { value: (Some(anchor), span("span", fields.need("span")?)?), place: value.span() })
        }
    });
    let minutes = minutes(&fields)?;
    let spec = fields
        .get("spec")
        .map(|value| Ok::<_, Misplaced>(Placed { value: text("spec", value)?.to_owned(), place: value.span() }));
    Ok(HouseChange {
        reason: fields.sentence("reason")?,
        spec: spec.transpose()?,
        first: first.transpose()?,
        after: fields.get("after").map(changed_after).transpose()?.unwrap_or_default(),
        precision: fields.word_if_any("precision")?,
        notice: fields.span_if_any("notice")?,
        late: fields.word_if_any("late")?,
        label: fields.word_if_any("label")?,
        opened_by: fields.words_if_any("opened_by")?,
        minutes,
        skills: fields.words_if_any("skills")?,
        earliest: fields.span_if_any("earliest")?,
        rule,
    })
}

/// Of which kinds the rule is shows only when the change meets its pack.
fn changed_after(value: &Spanned<DeValue<'_>>) -> Found<BTreeMap<FactKind, Placed<Span>>> {
    after(value, &[])
}

fn limit(written: Placed<&DeTable<'_>>) -> Found<HouseLimit> {
    let fields = Fields::new(written.value, written.place, "a limit", LIMIT_KEYS)?;
    let value = fields.need("value")?;
    Ok(HouseLimit {
        name: fields.sentence("name")?,
        value: number("value", value)?,
        reason: fields.sentence("reason")?,
        place: fields.need("name")?.span(),
        value_place: value.span(),
    })
}
