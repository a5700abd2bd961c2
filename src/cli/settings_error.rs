//! What is wrong with a settings file, pointed at.
//!
//! Owns: line, column and excerpt with a caret. Refuses: showing the value of any line that could hold a secret: only
//! lines of known harmless keys are shown as they are.

use super::complaint::Complaint;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use std::fmt;
use std::io;
use std::ops::Range;
use std::path::{Path, PathBuf};

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Where, in bytes of the file.
    pub span: Range<usize>,
    /// What is wrong; holds no value of a key that could be secret.
    pub message: String,
}

/// Why there are no settings.
#[derive(Debug, thiserror::Error)]
pub enum SettingsError {
    /// No file.
    #[error("settings file `{}` does not exist", .path.display())]
    Missing {
        /// Where it was looked for.
        path: PathBuf,
    },
    /// The file cannot be read.
    #[error("settings file `{}` cannot be read: {source}", .path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// There is no home folder to look in.
    #[error("there is no home folder to look for a settings file in")]
    NoHome,
    /// Something in it is wrong.
    #[error("{}", .problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Faulty {
        /// Everything that is wrong, in the order of the file.
        problems: Vec<Located>,
    },
}

/// A problem with the place it is at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Located {
    path: PathBuf,
    line: usize,
    column: usize,
    message: String,
    excerpt: String,
}

impl fmt::Display for Located {
    /// `file:line:column: what is wrong`, then the line with a caret under the place.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { path, line, column, message, excerpt } = self;
        write!(f, "{}:{line}:{column}: {message}\n{excerpt}", path.display())
    }
}

impl SettingsError {
    /// Problems of a text read from `path`.
    #[must_use]
    pub fn faulty(path: &Path, text: &str, mut problems: Vec<Problem>) -> Self {
        problems.sort_by_key(|problem| problem.span.start);
        let shown = masked(text);
        Self::Faulty { problems: problems.into_iter().map(|problem| locate(path, &shown, problem)).collect() }
    }

    /// What to type or do.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Missing { .. } | Self::NoHome => "write one as docs/digest.md shows, or name it: --config FILE",
            Self::Unreadable { .. } => "check its permissions, or name another: --config FILE",
            Self::Faulty { .. } => "docs/digest.md shows a whole settings file",
        }
    }
}

impl From<SettingsError> for Complaint {
    fn from(error: SettingsError) -> Self {
        let hint = error.hint().to_owned();
        match error {
            SettingsError::Faulty { problems } => {
                let what = problems.iter().map(ToString::to_string).collect();
                Self { status: super::complaint::Status::Refused, places: Vec::new(), what, hint }
            }
            other => Self::refused(other, hint),
        }
    }
}

pub(super) fn locate(path: &Path, shown: &str, problem: Problem) -> Located {
    let Problem { span, message } = problem;
    let start = floor(shown, span.start);
    // A caret under one line reads better than one over a whole table.
    let line_end = shown[start..].find('\n').map_or(shown.len(), |length| start + length);
    let end = floor(shown, span.end).clamp(start, line_end.max(start));
    let before = &shown[..start];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
    let snippet = Snippet::source(shown).annotation(AnnotationKind::Primary.span(start..end));
    let rendered = Renderer::plain().render(&[Group::with_level(Level::ERROR).element(snippet)]);
    // The first line of the excerpt is its place, which ours has given already.
    let excerpt: Vec<&str> =
        rendered.lines().filter(|line| !line.trim_start().starts_with("-->") && !line.trim().is_empty()).collect();
    Located { path: path.to_owned(), line, column, message, excerpt: excerpt.join("\n") }
}

fn floor(text: &str, at: usize) -> usize {
    let at = at.min(text.len());
    (0..=at).rev().find(|at| text.is_char_boundary(*at)).unwrap_or_default()
}

/// Keys of `[mail]` whose values may be shown.
const HARMLESS: [&str; 10] =
    ["server", "port", "security", "user", "ca_file", "sender", "sender_name", "reply_to", "list", "timeout_seconds"];

/// The text with every value that could be a secret struck out, byte for byte so that places stay the same. Values are
/// shown only of harmless keys of `[mail]` and in `[schedules]` and `[recipients]`; a misspelt `pasword = "…"` is not.
fn masked(text: &str) -> String {
    let mut section = String::new();
    let mut hide = true;
    let mut out = String::with_capacity(text.len());
    for line in text.split_inclusive('\n') {
        let trimmed = line.trim_start();
        let (key, value_at) = match (trimmed.starts_with('['), line.find('=')) {
            (true, _) if !hide || !trimmed.contains(['"', '\'']) => {
                section = trimmed.trim_matches(|c: char| c.is_whitespace() || "[]".contains(c)).to_owned();
                hide = false;
                (None, line.len())
            }
            (_, Some(at)) => (line.get(..at).map(str::trim), at + 1),
            // A further line of a value, or no TOML at all: as secret as what it belongs to.
            (_, None) => (None, 0),
        };
        if let Some(key) = key {
            let open = matches!(section.as_str(), "schedules" | "recipients");
            hide = !(HARMLESS.contains(&key) || open) || key.to_lowercase().contains("pass");
        }
        let shown = if hide { value_at } else { line.len() };
        out.push_str(line.get(..shown).unwrap_or_default());
        let struck = line.get(shown..).unwrap_or_default();
        struck.bytes().for_each(|byte| out.push(if byte.is_ascii_whitespace() { char::from(byte) } else { '*' }));
    }
    out
}
