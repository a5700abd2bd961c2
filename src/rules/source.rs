//! Where in a rule file something is wrong, and how that is shown to the one who wrote it.
//!
//! Owns: line, column and the caret beneath. Refuses: the wording of what is wrong, which `problem` holds.

use super::problem::RuleProblem;
use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use std::fmt;
use std::ops::Range;

/// Where something stands in a rule file, in bytes.
pub(super) type Place = Range<usize>;

/// A problem and where it stands, before it is known which file that is.
#[derive(Debug)]
pub(super) struct Misplaced {
    pub(super) problem: Box<RuleProblem>,
    pub(super) place: Place,
}

impl RuleProblem {
    pub(super) fn at(self, place: Place) -> Misplaced {
        Misplaced { problem: Box::new(self), place }
    }
}

/// Why a rule file is refused, and where.
#[derive(Debug, Clone, PartialEq)]
pub struct RuleError {
    /// The file, or what else the text came from.
    pub origin: String,
    /// Line, counted from 1.
    pub line: usize,
    /// Character in the line, counted from 1.
    pub column: usize,
    /// What is wrong.
    pub problem: Box<RuleProblem>,
    source_line: String,
    /// Bytes of that line which the caret stands under.
    caret: Range<usize>,
}

impl RuleError {
    pub(super) fn locate(origin: &str, text: &str, found: Misplaced) -> Self {
        let end = text.len();
        let start = floor_boundary(text, found.place.start.min(end));
        let stop = floor_boundary(text, found.place.end.clamp(start, end));
        let line_start = text[..start].rfind('\n').map_or(0, |newline| newline + 1);
        let line_stop = text[start..].find('\n').map_or(end, |newline| start + newline);
        let line_stop = line_start + text[line_start..line_stop].trim_end_matches('\r').len();
        let (start_shown, stop) = (start.min(line_stop), stop.min(line_stop));
        let before = &text[line_start..start_shown];
        let caret = before.len()..before.len() + (stop - start_shown.min(stop));
        Self {
            origin: origin.to_owned(),
            line: text[..start].matches('\n').count() + 1,
            column: before.chars().count() + 1,
            problem: found.problem,
            source_line: text[line_start..line_stop].to_owned(),
            caret,
        }
    }

    /// The error with the line it stands on and a caret beneath, without colour. Begins with `error: `.
    #[must_use]
    pub fn snippet(&self) -> String {
        let title = self.problem.to_string();
        let caret = AnnotationKind::Primary.span(self.caret.clone());
        let source = Snippet::source(self.source_line.as_str())
            .line_start(self.line)
            .path(self.origin.escape_debug().to_string())
            .annotation(caret);
        Renderer::plain().render(&[Level::ERROR.primary_title(title).element(source)])
    }
}

fn floor_boundary(text: &str, mut at: usize) -> usize {
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

impl fmt::Display for RuleError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}: {}", self.origin.escape_debug(), self.line, self.column, self.problem)
    }
}

impl std::error::Error for RuleError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        Some(self.problem.as_ref())
    }
}
