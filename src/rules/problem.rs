//! Everything that can be wrong with a rule file.
//!
//! Owns: the closed list of problems, their wording, and what to do about each. Refuses: positions, which `source` adds.

use super::looser::Looser;
use super::rule::{Anchor, FactKind, ItemKind};
use crate::model::occurrence::RuleIdError;
use crate::model::{DayError, LimitError, NameError, RuleId, Service, nearest};

/// Longest rule file read, in bytes: ten times the longest shipped pack still fits.
pub const MAX_RULE_FILE_BYTES: usize = 256 * 1024;

/// Most rules, cases of a rule, or specifications of a rule.
pub const MAX_ENTRIES: usize = 200;

/// Longest sentence in a rule file, in characters.
pub const MAX_SENTENCE_CHARS: usize = 1200;

/// Longest `what`, in characters: it shares an 80-column line with a date.
pub const MAX_WHAT_CHARS: usize = 48;

/// What is wrong with a rule file.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RuleProblem {
    /// Over [`MAX_RULE_FILE_BYTES`].
    #[error("the file has {bytes} bytes; at most {MAX_RULE_FILE_BYTES} are read")]
    TooLarge {
        /// How many it has.
        bytes: usize,
    },
    /// Not TOML, in the words of the parser.
    #[error("not TOML: {message}")]
    Syntax {
        /// The parser's words.
        message: String,
    },
    /// A key that no such table has.
    #[error("`{}` is no key of {table}{}", .key.escape_debug(), near(.key, .known))]
    UnknownKey {
        /// As written.
        key: String,
        /// In which table.
        table: &'static str,
        /// The keys it may have.
        known: &'static [&'static str],
    },
    /// A key that such a table must have.
    #[error("{table} lacks `{key}`")]
    MissingKey {
        /// Which key.
        key: &'static str,
        /// Which table.
        table: &'static str,
    },
    /// A value of another type.
    #[error("`{key}` is {found}, where {wanted} belongs")]
    WrongType {
        /// Which key.
        key: String,
        /// What belongs there.
        wanted: &'static str,
        /// What stands there.
        found: &'static str,
    },
    /// A word that is not on its list.
    #[error(transparent)]
    UnknownWord(#[from] NameError),
    /// No rule name.
    #[error(transparent)]
    BadRuleId(#[from] RuleIdError),
    /// No span of time.
    #[error(transparent)]
    BadSpan(#[from] DayError),
    /// An interval of no length.
    #[error("`{key}` is an interval of no length")]
    ZeroSpan {
        /// Which key.
        key: String,
    },
    /// A number outside its range.
    #[error("`{key}` is no whole number from 0 to {most}")]
    OutOfRange {
        /// Which key.
        key: String,
        /// The largest allowed.
        most: u32,
    },
    /// Nothing written where something must be.
    #[error("`{key}` is blank")]
    Blank {
        /// Which key.
        key: String,
    },
    /// A sentence too long to show.
    #[error("`{key}` has {chars} characters; at most {most} are shown")]
    TooLong {
        /// Which key.
        key: String,
        /// How many it has.
        chars: usize,
        /// How many it may have.
        most: usize,
    },
    /// A character that hides, or moves the cursor.
    #[error("`{key}` holds the character {}, which cannot be shown", .character.escape_unicode())]
    Character {
        /// Which key.
        key: String,
        /// The offending character.
        character: char,
    },
    /// More entries than any pack needs.
    #[error("more than {MAX_ENTRIES} {what}")]
    TooMany {
        /// What there are too many of.
        what: &'static str,
    },
    /// The same word twice in a list.
    #[error("`{key}` names `{word}` twice")]
    Repeated {
        /// Which key.
        key: String,
        /// The word.
        word: String,
    },
    /// Two rules of one name.
    #[error("the rule `{rule}` stands here a second time; the first is on line {first_line}")]
    DuplicateRule {
        /// The name.
        rule: RuleId,
        /// Line of the first.
        first_line: usize,
    },
    /// A list or table that must not be empty.
    #[error("`{key}` is empty")]
    Empty {
        /// Which key.
        key: String,
    },
    /// A rule without a case has no interval at all.
    #[error("the rule `{rule}` has no case, so no interval")]
    NoCase {
        /// The rule.
        rule: RuleId,
    },
    /// A case that says nothing.
    #[error("this case of `{rule}` has neither an interval nor a reason for having none")]
    NoPeriod {
        /// The rule.
        rule: RuleId,
    },
    /// A case that says two things.
    #[error("this case of `{rule}` says `{one}` and `{other}`; it can be only one of them")]
    TwoPeriods {
        /// The rule.
        rule: RuleId,
        /// The one key.
        one: &'static str,
        /// The other key.
        other: &'static str,
    },
    /// Two cases that cover the same specification.
    #[error("`{spec}` overlaps `{other}` of an earlier case of `{rule}`")]
    OverlappingSpecs {
        /// The rule.
        rule: RuleId,
        /// The later pattern.
        spec: String,
        /// The earlier one.
        other: String,
    },
    /// Two cases that cover all that no other case does.
    #[error("`{rule}` has a second case without `specs`")]
    TwoDefaults {
        /// The rule.
        rule: RuleId,
    },
    /// A pattern for everything.
    #[error("`{}` would cover every specification", .spec.escape_debug())]
    BroadSpec {
        /// As written.
        spec: String,
    },
    /// A service that nothing the rule is about is in.
    #[error("kind {kind} is not in {service} service")]
    ServiceOfKind {
        /// The kind.
        kind: ItemKind,
        /// The service.
        service: Service,
    },
    /// A fact that such things do not have.
    #[error("kind {kind} has no fact `{anchor}` to count from")]
    AnchorOfKind {
        /// The fact.
        anchor: Anchor,
        /// The kind.
        kind: ItemKind,
    },
    /// A kind of fact that is never recorded of such things.
    #[error("`{fact}` is never recorded of kind {kind}")]
    FactOfKind {
        /// The fact.
        fact: FactKind,
        /// The kind.
        kind: ItemKind,
    },
    /// A gas test limit that is wrong or not the house's to set.
    #[error(transparent)]
    Limit(#[from] LimitError),
    /// A change to a rule the pack does not have.
    #[error("the pack has no rule `{rule}`{}", near(.rule.as_str(), .known))]
    UnknownRule {
        /// As written.
        rule: RuleId,
        /// The rules it has.
        known: Vec<String>,
    },
    /// A change to a specification no case covers.
    #[error("`{rule}` has no case for `{}`", .spec.escape_debug())]
    UnknownSpec {
        /// The rule.
        rule: RuleId,
        /// As written.
        spec: String,
    },
    /// A change to an interval that is not there.
    #[error("`{rule}` has no {interval} to change")]
    NoInterval {
        /// The rule.
        rule: RuleId,
        /// Which interval.
        interval: &'static str,
    },
    /// A change that changes nothing.
    #[error("this change of `{rule}` changes nothing")]
    NothingChanged {
        /// The rule.
        rule: RuleId,
    },
    /// A rule of the house's own that says on whose word it stands.
    #[error("a rule of the house stands on the house's word; leave `authority` out")]
    AuthorityGiven,
    /// A rule of the house's own under a name the pack has.
    #[error("the pack has a rule `{rule}` already")]
    RuleExists {
        /// The name.
        rule: RuleId,
    },
    /// Law or standard loosened.
    #[error(transparent)]
    Loosened(#[from] Looser),
}

fn near<T: AsRef<str>>(text: &str, known: &[T]) -> String {
    nearest(text, known.iter().map(AsRef::as_ref)).map(|near| format!("; nearest is `{near}`")).unwrap_or_default()
}

impl RuleProblem {
    /// What to write or type instead.
    #[must_use]
    pub fn hint(&self) -> String {
        match self {
            Self::TooLarge { .. } | Self::TooMany { .. } => "split it: one file a pack, only what differs".to_owned(),
            Self::Syntax { .. } => "texts stand in double quotes, lists in [ ], one key a line".to_owned(),
            Self::UnknownKey { table, known, .. } => format!("{table} may have: {}", known.join(", ")),
            Self::MissingKey { key: "rule", .. } => "add [[rule]]; docs/rules.md shows one".to_owned(),
            Self::MissingKey { key: "limits", .. } => {
                "add [limits] with every figure; schema/rules/us.toml shows them".to_owned()
            }
            Self::MissingKey { key, table: "[limits]" } => format!("add [limits.{key}] with its figure and `cite`"),
            Self::MissingKey { key, .. } => format!("add a line `{key} = …`; docs/rules.md shows one"),
            Self::WrongType { key, wanted, .. } => match (key.as_str(), *wanted) {
                ("first", _) => "write it like `first = { from = \"made\", span = \"10 years\" }`".to_owned(),
                ("after", _) => "write it like `after = { pass = \"12 months\" }`".to_owned(),
                ("rule" | "case" | "change" | "limit", _) => {
                    "write it as a table of its own, like `[[rule]]`".to_owned()
                }
                (_, "a text in quotes") => format!("put the value of `{key}` in double quotes"),
                _ => format!("give `{key}` {wanted}"),
            },
            Self::UnknownWord(error) => format!("choose one of: {}", error.known.join(", ")),
            Self::BadRuleId(_) => "name it like `hose` or `lp-detector`".to_owned(),
            Self::BadSpan(_) | Self::ZeroSpan { .. } => {
                "write a span like \"12 years\", \"18 months\" or \"31 days\"".to_owned()
            }
            Self::OutOfRange { most, .. } => format!("write a whole number from 0 to {most}"),
            Self::Blank { key } if ["note", "caution"].contains(&key.as_str()) => {
                format!("write something in `{key}`, or leave it out")
            }
            Self::Blank { key } => format!("write something in `{key}`"),
            Self::TooLong { most, .. } => format!("shorten it to {most} characters"),
            Self::Character { .. } => "retype the text without it".to_owned(),
            Self::Repeated { .. } => "leave the second one out".to_owned(),
            Self::DuplicateRule { .. } => "put all cases under one [[rule]]".to_owned(),
            Self::Empty { key } if key == "kinds" => "name at least one in `kinds`".to_owned(),
            Self::Empty { key } => format!("name at least one in `{key}`, or leave it out"),
            Self::NoCase { .. } => "add [[rule.case]] with a citation and an interval".to_owned(),
            Self::NoPeriod { .. } => "add `first`, `after`, `undated = \"why\"` or `exempt = true`".to_owned(),
            Self::TwoPeriods { one, other, .. } => format!("leave out `{one}` or `{other}`"),
            Self::OverlappingSpecs { .. } => "let each specification fall under one case".to_owned(),
            Self::TwoDefaults { .. } => "give one of them `specs`".to_owned(),
            Self::BroadSpec { .. } => "leave `specs` out of the case that covers all others".to_owned(),
            Self::ServiceOfKind { .. } => "leave `service` out, or give the rule other `kinds`".to_owned(),
            Self::AnchorOfKind { .. } => {
                "parts count from made or fitted, units from in-service, people from credential-until".to_owned()
            }
            Self::FactOfKind { .. } => {
                "only cylinders and extinguishers carry marks; units, parts and gauges can `pass`".to_owned()
            }
            Self::Limit(_) => "`pigtail rules show limits` lists them with their sources".to_owned(),
            Self::UnknownRule { .. } | Self::RuleExists { .. } => {
                "`pigtail rules list` names the rules there are".to_owned()
            }
            Self::UnknownSpec { rule, .. } | Self::NoInterval { rule, .. } => {
                format!("`pigtail rules show {rule}` lists its cases")
            }
            Self::NothingChanged { .. } => "say what is to be otherwise, as in `first = \"8 years\"`".to_owned(),
            Self::AuthorityGiven => "remove the line".to_owned(),
            Self::Loosened(looser) => {
                format!("law and standards may only be tightened; `pigtail rules show {}` has the source", looser.rule)
            }
        }
    }
}
