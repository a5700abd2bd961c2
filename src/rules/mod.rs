//! What a rule is. Owns: the vocabulary. Refuses: everything else (temporary stand-in while `rules` is being written).

mod rule;
mod spec;

pub use rule::{Anchor, Authority, Case, FactKind, ItemKind, LabelUse, Late, Period, Precision, Rule, gauge_spec};
pub use spec::SpecPattern;
