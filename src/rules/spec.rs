//! Matching of specifications as stamped (`DOT-4BA240`) against those a rule names (`DOT-4BA`).
//!
//! Owns: spelling differences that mean nothing. Refuses: knowing specifications; rules list them.

use std::fmt;
use std::str::FromStr;

/// A specification a rule names. `DOT-4BA` covers `DOT-4BA240` and `dot 4ba 240` but not `DOT-4BAX`; a pattern that
/// ends in `*` covers whatever begins so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SpecPattern {
    stem: String,
    open: bool,
}

impl SpecPattern {
    /// True if `spec` is of the named specification. A stamp without its authority (`4BA240`) is read as DOT's.
    pub(super) fn matches(&self, spec: &CanonicalSpec) -> bool {
        self.covers(&spec.written) || spec.with_authority.as_ref().is_some_and(|spec| self.covers(spec))
    }

    /// True if some specification is of both patterns.
    pub(super) fn overlaps(&self, other: &Self) -> bool {
        self.covers(&other.stem) || other.covers(&self.stem)
    }

    /// True if the pattern says so little that it would cover every specification, the blank one included.
    pub(super) fn is_boundless(&self) -> bool {
        self.stem.is_empty()
    }

    /// After a closed stem comes nothing, a service pressure (`240`, `2015+`), or more after a hyphen.
    fn covers(&self, spec: &str) -> bool {
        spec.strip_prefix(self.stem.as_str()).is_some_and(|rest| {
            let after = rest.trim_start_matches(|c: char| c.is_ascii_digit());
            self.open || matches!(after, "" | "+" | "*" | "+*") || after.starts_with('-')
        })
    }
}

/// A stamped specification without the differences in spelling that mean nothing; made once, matched often.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct CanonicalSpec {
    written: String,
    with_authority: Option<String>,
}

impl CanonicalSpec {
    /// The specification as stamped.
    pub(super) fn of(spec: &str) -> Self {
        let written = canonical(spec);
        let bare = written.starts_with(['3', '4']);
        Self { with_authority: bare.then(|| format!("DOT-{written}")), written }
    }
}

/// Upper case, one hyphen for each run of spaces, hyphens and underscores.
fn canonical(spec: &str) -> String {
    let words: Vec<&str> = spec.split([' ', '-', '_', '\t']).filter(|word| !word.is_empty()).collect();
    words.join("-").to_uppercase()
}

impl FromStr for SpecPattern {
    type Err = std::convert::Infallible;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let (stem, open) = match text.trim().strip_suffix('*') {
            Some(stem) => (stem, true),
            None => (text, false),
        };
        Ok(Self { stem: canonical(stem), open })
    }
}

impl fmt::Display for SpecPattern {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.stem, if self.open { "*" } else { "" })
    }
}
