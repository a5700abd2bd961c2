//! What a rule is, how packs of rules are read, and how far a house may change them.
//!
//! Owns: intervals, anchors, authority, citations, and the law that law is never loosened.
//! Refuses: knowing what propane is. Everything of the trade stands in `schema/rules/*.toml`.

mod differences;
mod fields;
mod house;
mod limits;
mod looser;
mod pack;
mod parse;
mod problem;
mod rule;
mod source;
mod spec;

pub use differences::{Difference, differences};
pub use house::HouseRules;
pub use looser::{Loosening, Looser};
pub use pack::{Pack, RuleBook};
pub use parse::{is_pack, parse_house, parse_pack};
pub use problem::{MAX_RULE_FILE_BYTES, RuleProblem};
pub use rule::{Anchor, Authority, Case, FactKind, ItemKind, LabelUse, Late, Period, Precision, Rule, gauge_spec};
pub use source::RuleError;
pub use spec::SpecPattern;
