//! Reading the tables of a rule file key by key, keeping where each key stood.
//!
//! Owns: types, blank texts, unknown keys, words of closed lists. Refuses: knowing what a rule is.

use super::problem::{MAX_SENTENCE_CHARS, RuleProblem};
use super::source::{Misplaced, Place};
use crate::model::code::is_deceptive;
use crate::model::{Named, Span};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

pub(super) type Found<T> = Result<T, Misplaced>;

/// A value and where it stood.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Placed<T> {
    pub(super) value: T,
    pub(super) place: Place,
}

/// One table whose keys are all known.
pub(super) struct Fields<'t> {
    table: &'t DeTable<'t>,
    /// Where the table begins.
    pub(super) place: Place,
    name: &'static str,
}

impl<'t> Fields<'t> {
    pub(super) fn new(
        table: &'t DeTable<'t>,
        place: Place,
        name: &'static str,
        known: &'static [&'static str],
    ) -> Found<Self> {
        let strangers = table.keys().filter(|key| !known.contains(&key.get_ref().as_ref()));
        match strangers.min_by_key(|key| key.span().start) {
            Some(key) => {
                let problem = RuleProblem::UnknownKey { key: key.get_ref().to_string(), table: name, known };
                Err(problem.at(key.span()))
            }
            None => Ok(Self { table, place, name }),
        }
    }

    pub(super) fn get(&self, key: &str) -> Option<&'t Spanned<DeValue<'t>>> {
        self.table.get(key)
    }

    pub(super) fn need(&self, key: &'static str) -> Found<&'t Spanned<DeValue<'t>>> {
        self.get(key).ok_or_else(|| RuleProblem::MissingKey { key, table: self.name }.at(self.place.clone()))
    }

    /// A sentence that must be there and say something.
    pub(super) fn sentence(&self, key: &'static str) -> Found<String> {
        sentence(key, self.need(key)?)
    }

    pub(super) fn sentence_if_any(&self, key: &'static str) -> Found<Option<String>> {
        self.get(key).map(|value| sentence(key, value)).transpose()
    }

    pub(super) fn word<T: Named>(&self, key: &'static str) -> Found<T> {
        word(key, self.need(key)?)
    }

    pub(super) fn word_if_any<T: Named>(&self, key: &'static str) -> Found<Option<Placed<T>>> {
        self.get(key).map(|value| Ok(Placed { value: word(key, value)?, place: value.span() })).transpose()
    }

    /// A list of words without repetition; none where the key is absent.
    pub(super) fn words_if_any<T: Named + PartialEq>(&self, key: &'static str) -> Found<Option<Placed<Vec<T>>>> {
        let Some(value) = self.get(key) else { return Ok(None) };
        let mut words = Vec::new();
        for item in array(key, value)? {
            let next: T = word(key, item)?;
            if words.contains(&next) {
                let problem = RuleProblem::Repeated { key: key.to_owned(), word: next.name().to_owned() };
                return Err(problem.at(item.span()));
            }
            words.push(next);
        }
        Ok(Some(Placed { value: words, place: value.span() }))
    }

    pub(super) fn span(&self, key: &'static str) -> Found<Span> {
        span(key, self.need(key)?)
    }

    pub(super) fn span_if_any(&self, key: &'static str) -> Found<Option<Span>> {
        self.get(key).map(|value| span(key, value)).transpose()
    }

    pub(super) fn count_if_any(&self, key: &'static str, most: u32) -> Found<Option<u32>> {
        let Some(value) = self.get(key) else { return Ok(None) };
        let DeValue::Integer(number) = value.get_ref() else {
            return Err(wrong(key, "a whole number", value));
        };
        match u32::from_str_radix(number.as_str(), number.radix()) {
            Ok(count) if count <= most => Ok(Some(count)),
            _ => Err(RuleProblem::OutOfRange { key: key.to_owned(), most }.at(value.span())),
        }
    }

    /// The tables of `[[key]]`, in order; none where there are none.
    pub(super) fn tables(&self, key: &'static str) -> Found<Vec<Placed<&'t DeTable<'t>>>> {
        let Some(value) = self.get(key) else { return Ok(Vec::new()) };
        array(key, value)?.iter().map(|item| Ok(Placed { value: table(key, item)?, place: item.span() })).collect()
    }
}

/// The problem of a value that is of another type than wanted.
pub(super) fn wrong(key: &str, wanted: &'static str, value: &Spanned<DeValue<'_>>) -> Misplaced {
    let found = match value.get_ref() {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    };
    RuleProblem::WrongType { key: key.to_owned(), wanted, found }.at(value.span())
}

/// The text of a value, in quotes in the file.
pub(super) fn text<'t>(key: &str, value: &'t Spanned<DeValue<'_>>) -> Found<&'t str> {
    value.get_ref().as_str().ok_or_else(|| wrong(key, "a text in quotes", value))
}

/// A text on one line that says something and can be shown anywhere.
pub(super) fn sentence(key: &str, value: &Spanned<DeValue<'_>>) -> Found<String> {
    let words: Vec<&str> = text(key, value)?.split_whitespace().collect();
    let sentence = words.join(" ");
    let chars = sentence.chars().count();
    let key = || key.to_owned();
    let problem = if sentence.is_empty() {
        RuleProblem::Blank { key: key() }
    } else if chars > MAX_SENTENCE_CHARS {
        RuleProblem::TooLong { key: key(), chars, most: MAX_SENTENCE_CHARS }
    } else if let Some(character) = sentence.chars().find(|&character| is_deceptive(character)) {
        RuleProblem::Character { key: key(), character }
    } else {
        return Ok(sentence);
    };
    Err(problem.at(value.span()))
}

pub(super) fn word<T: Named>(key: &str, value: &Spanned<DeValue<'_>>) -> Found<T> {
    T::from_name(text(key, value)?).map_err(|error| RuleProblem::from(error).at(value.span()))
}

pub(super) fn span(key: &str, value: &Spanned<DeValue<'_>>) -> Found<Span> {
    let written = value.get_ref().as_str().ok_or_else(|| wrong(key, "a span such as \"12 months\"", value))?;
    written.parse().map_err(|error| RuleProblem::BadSpan(error).at(value.span()))
}

/// A span that is longer than nothing.
pub(super) fn interval(key: &str, value: &Spanned<DeValue<'_>>) -> Found<Span> {
    match span(key, value)? {
        Span::Months(0) | Span::Days(0) => Err(RuleProblem::ZeroSpan { key: key.to_owned() }.at(value.span())),
        span => Ok(span),
    }
}

pub(super) fn array<'t>(key: &str, value: &'t Spanned<DeValue<'t>>) -> Found<&'t [Spanned<DeValue<'t>>]> {
    match value.get_ref() {
        DeValue::Array(items) => Ok(items),
        _ => Err(wrong(key, "a list in [ ]", value)),
    }
}

pub(super) fn table<'t>(key: &str, value: &'t Spanned<DeValue<'t>>) -> Found<&'t DeTable<'t>> {
    value.get_ref().as_table().ok_or_else(|| wrong(key, "a table", value))
}

pub(super) fn number(key: &str, value: &Spanned<DeValue<'_>>) -> Found<f64> {
    let parsed = match value.get_ref() {
        DeValue::Float(number) => number.as_str().parse().ok(),
        DeValue::Integer(number) if number.radix() == 10 => number.as_str().parse().ok(),
        _ => None,
    };
    parsed.ok_or_else(|| wrong(key, "a number", value))
}
