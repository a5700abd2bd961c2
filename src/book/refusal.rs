//! Why a fact cannot be: it contradicts the calendar, the rules or what is already recorded.
//!
//! Owns: the wording, which names the record, and what to type. Refuses: positions in files, which importers know.

use crate::model::{Day, Month, PartKind, RuleId};
use crate::rules::ItemKind;

/// One fact that cannot be recorded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// Its place among the facts offered.
    pub index: usize,
    /// Why.
    pub refusal: Refusal,
}

/// Why a fact cannot be recorded.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// It names something that is not in the book.
    #[error("{what} {code} is not in the book{}", near(.nearest.as_deref()))]
    Unknown {
        /// What kind of thing.
        what: &'static str,
        /// Its code as given.
        code: String,
        /// The nearest code there is.
        nearest: Option<String>,
    },
    /// It names a rule that the unit's pack does not have.
    #[error("rule {rule} is not in pack {pack}{}", near(.nearest.as_deref()))]
    UnknownRule {
        /// As given.
        rule: RuleId,
        /// The pack looked in.
        pack: String,
        /// The nearest rule there is.
        nearest: Option<String>,
    },
    /// Its date is after today.
    #[error("{what} {date} is in the future (today is {today})")]
    Future {
        /// Which date, naming the record.
        what: String,
        /// The date.
        date: String,
        /// Today.
        today: Day,
    },
    /// Two dates contradict each other.
    #[error("{what} {date} is before {than_what} {than}")]
    Before {
        /// Which date, naming the record.
        what: String,
        /// The date.
        date: String,
        /// The date it may not precede.
        than_what: &'static str,
        /// That date.
        than: String,
    },
    /// No rule knows the specification.
    #[error("part {part}: specification {spec} is none of {}", .known.join(", "))]
    UnknownSpec {
        /// The part.
        part: String,
        /// As given.
        spec: String,
        /// What the rule knows.
        known: Vec<String>,
    },
    /// A mark on something that carries none.
    #[error("part {part} is a {kind}, which carries no requalification marks")]
    NoMarks {
        /// The part.
        part: String,
        /// What it is.
        kind: PartKind,
    },
    /// A mark by a method the rule has no interval for.
    #[error("part {part}: {method} is no method for specification {spec}; known are {}", .known.join(", "))]
    UnknownMethod {
        /// The part.
        part: String,
        /// As marked.
        method: String,
        /// The part's specification.
        spec: String,
        /// What the rule knows.
        known: Vec<String>,
    },
    /// A mark older than its cylinder.
    #[error("part {part}: mark {month} is before its make date {made}")]
    MarkBeforeMade {
        /// The part.
        part: String,
        /// The mark.
        month: Month,
        /// The make date's month.
        made: Month,
    },
    /// A code that stands for something of another kind.
    #[error("part {part} is a {recorded}, not a {given}")]
    KindChanged {
        /// The part.
        part: String,
        /// As recorded.
        recorded: PartKind,
        /// As given.
        given: PartKind,
    },
    /// Something that is over: scrapped, retired, lifted.
    #[error("{record} {over}")]
    Over {
        /// Which.
        record: String,
        /// What happened to it.
        over: String,
    },
    /// A part that is on no unit, or not on that one.
    #[error("part {part} is {place}")]
    Elsewhere {
        /// The part.
        part: String,
        /// Where it is.
        place: String,
    },
    /// A rule that is not settled by looking.
    #[error("rule {rule} is not settled by a check; {instead}")]
    NotByCheck {
        /// The rule.
        rule: RuleId,
        /// What settles it.
        instead: &'static str,
    },
    /// A rule about other things.
    #[error("rule {rule} is not about a {kind}; it is about {}", .about.join(", "))]
    NotAbout {
        /// The rule.
        rule: RuleId,
        /// What the check was on.
        kind: ItemKind,
        /// What the rule is about.
        about: Vec<String>,
    },
    /// A rule for a kind of part that the unit has none of.
    #[error("unit {unit} has no {} for rule {rule} to be about", .about.join(" or "))]
    NothingToCheck {
        /// The unit.
        unit: String,
        /// The rule.
        rule: RuleId,
        /// What it is about.
        about: Vec<String>,
    },
    /// A figure that cannot be.
    #[error("{record}: {what} {figure} cannot be; it must be {must}")]
    Figure {
        /// The record.
        record: String,
        /// Which figure.
        what: &'static str,
        /// As given.
        figure: String,
        /// What it must be.
        must: &'static str,
    },
    /// A reason was left out.
    #[error("{record} needs a reason")]
    NoReason {
        /// The record.
        record: String,
    },
    /// House rules that cannot be adopted.
    #[error("{message}")]
    Rules {
        /// The rule reader's own words.
        message: String,
    },
    /// An entry that cannot be struck.
    #[error("entry {seq} {why}")]
    NotVoidable {
        /// The entry.
        seq: u64,
        /// Why.
        why: &'static str,
    },
    /// An entry that others rest on.
    #[error("entry {seq} may not be voided; these could not stand then: {}", resting(.dependents))]
    RestedOn {
        /// The entry.
        seq: u64,
        /// The entries that could not stand, and why not, in order.
        dependents: Vec<(u64, String)>,
    },
}

fn near(nearest: Option<&str>) -> String {
    nearest.map_or_else(String::new, |code| format!("; nearest is {code}"))
}

/// Dependents named in a refusal to void; the rest are counted.
const MOST_DEPENDENTS: usize = 20;

fn resting(dependents: &[(u64, String)]) -> String {
    let mut listed: Vec<String> =
        dependents.iter().take(MOST_DEPENDENTS).map(|(seq, why)| format!("{seq} ({why})")).collect();
    if dependents.len() > MOST_DEPENDENTS {
        listed.push(format!("and {} more", dependents.len() - MOST_DEPENDENTS));
    }
    listed.join("; ")
}

impl Refusal {
    /// The fleet-folder column the fault is in.
    #[must_use]
    pub fn column(&self) -> &'static str {
        match self {
            Self::Unknown { what, .. } => what,
            Self::UnknownRule { .. }
            | Self::NotByCheck { .. }
            | Self::NotAbout { .. }
            | Self::NothingToCheck { .. } => "rule",
            Self::Future { .. } | Self::Before { .. } => "date",
            Self::UnknownSpec { .. } => "spec",
            Self::NoMarks { .. } | Self::Elsewhere { .. } => "part",
            Self::UnknownMethod { .. } => "method",
            Self::MarkBeforeMade { .. } => "month",
            Self::KindChanged { .. } => "kind",
            Self::Figure { what, .. } => what,
            Self::NoReason { .. } => "reason",
            Self::Over { .. } | Self::Rules { .. } | Self::NotVoidable { .. } | Self::RestedOn { .. } => "record",
        }
    }

    /// What to type.
    #[must_use]
    pub fn hint(&self) -> String {
        match self {
            Self::Unknown { what, code, nearest } => match nearest {
                Some(near) => format!("pigtail {what} show {near}, or pigtail {what} add {code} …"),
                None => format!("pigtail {what} list, or pigtail {what} add {code} …"),
            },
            Self::UnknownRule { pack, .. } => format!("pigtail rules list --pack {pack}"),
            Self::UnknownSpec { .. } | Self::UnknownMethod { .. } => {
                "pigtail rules show cylinder-requalification".to_owned()
            }
            Self::Future { .. } | Self::Before { .. } => {
                "check the date; write days as YYYY-MM-DD and months as YYYY-MM".to_owned()
            }
            Self::MarkBeforeMade { part, .. } | Self::KindChanged { part, .. } | Self::NoMarks { part, .. } => {
                format!("pigtail part show {part}")
            }
            Self::Elsewhere { part, .. } => format!("pigtail part show {part}"),
            Self::NotByCheck { rule, .. } | Self::NotAbout { rule, .. } | Self::NothingToCheck { rule, .. } => {
                format!("pigtail rules show {rule}")
            }
            Self::Over { .. } | Self::NotVoidable { .. } => "pigtail journal list".to_owned(),
            Self::RestedOn { dependents, .. } => match dependents.last() {
                Some((seq, _)) => {
                    format!("void those first, from the last back: pigtail journal void {seq} --because \"…\"")
                }
                None => "pigtail journal list".to_owned(),
            },
            Self::Figure { must, .. } => format!("give a figure that is {must}"),
            Self::NoReason { .. } => "say why: --because \"…\"".to_owned(),
            Self::Rules { .. } => "pigtail rules check FILE".to_owned(),
        }
    }
}
