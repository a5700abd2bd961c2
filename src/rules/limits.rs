//! The gas test limits of a pack, read from its `[limits]`.
//!
//! Owns: that every figure is there with a source. Refuses: what the figures mean, which `gastest` knows.

use super::fields::{Fields, Found, number, sentence, span, table, word, wrong};
use super::problem::RuleProblem;
use crate::model::{DropMethod, GasLimits, LimitError};
use serde::Deserialize;
use serde::de::IntoDeserializer;
use toml::Spanned;
use toml::de::DeValue;

const FIGURE_KEYS: &[&str] = &["value", "cite", "practice"];
const SPAN_KEYS: &[&str] = &["span", "cite"];
const SPANS: [&str; 2] = ["dial_check", "digital_check"];

/// Reads `[limits]`.
pub(super) fn parse_limits(value: &Spanned<DeValue<'_>>) -> Found<GasLimits> {
    let written = table("limits", value)?;
    let stranger = written.keys().filter(|key| {
        let name = key.get_ref().as_ref();
        name != "method" && !SPANS.contains(&name) && !GasLimits::NAMES.contains(&name)
    });
    if let Some(key) = stranger.min_by_key(|key| key.span().start) {
        let problem = RuleProblem::Limit(LimitError::Unknown { name: key.get_ref().to_string() });
        return Err(problem.at(key.span()));
    }
    let lacking = |key| RuleProblem::MissingKey { key, table: "[limits]" }.at(value.span());
    word::<DropMethod>("method", written.get("method").ok_or_else(|| lacking("method"))?)?;
    for key in SPANS {
        let figure = written.get(key).ok_or_else(|| lacking(key))?;
        let fields = Fields::new(table(key, figure)?, figure.span(), "a span limit", SPAN_KEYS)?;
        span("span", fields.need("span")?)?;
        fields.sentence("cite")?;
    }
    for &key in GasLimits::NAMES {
        let figure = written.get(key).ok_or_else(|| lacking(key))?;
        let fields = Fields::new(table(key, figure)?, figure.span(), "a limit", FIGURE_KEYS)?;
        number("value", fields.need("value")?)?;
        sentence("cite", fields.need("cite")?)?;
        if let Some(practice) = fields.get("practice").filter(|practice| practice.get_ref().as_bool().is_none()) {
            return Err(wrong("practice", "true or false", practice));
        }
    }
    let limits = GasLimits::deserialize(value.clone().into_deserializer()).map_err(|error| {
        RuleProblem::Syntax { message: error.message().to_owned() }.at(error.span().unwrap_or(value.span()))
    })?;
    limits.checked().map_err(|error| {
        let name = match &error {
            LimitError::NotANumber { name, .. } | LimitError::Order { lower: name, .. } => *name,
            _ => "method",
        };
        let place = written.get(name).map_or(value.span(), Spanned::span);
        RuleProblem::Limit(error).at(place)
    })
}
