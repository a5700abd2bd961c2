//! What a rule is, how packs of rules are read, and how far a house may change them.
//!
//! Owns: intervals, anchors, authority, citations, and the law that law is never loosened.
//! Refuses: knowing what propane is. Everything of the trade stands in `schema/rules/*.toml`.

mod house;
mod pack;
mod parse;
mod rule;
mod source;
mod spec;

pub use house::{HouseRules, Looser};
pub use pack::{Pack, RuleBook};
pub use parse::{parse_house, parse_pack};
pub use rule::{gauge_spec, Anchor, Authority, Case, FactKind, ItemKind, LabelUse, Late, Period, Precision, Rule};
pub use source::{RuleError, RuleProblem};
pub use spec::SpecPattern;
