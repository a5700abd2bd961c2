//! What a command says when it cannot do what was asked.
//!
//! Owns: exit statuses and the two lines of an error. Refuses: wording of the errors themselves, which belongs to the
//! layers that find them.

use crate::show::legible::one_line;
use std::fmt;
use std::io;

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// Done, or the answer is yes.
    Done,
    /// The answer is no.
    No,
    /// Input refused, nothing changed.
    Refused,
    /// The outside failed (disk, lock, mail server), nothing lost.
    Outside,
    /// A fault of this program.
    Fault,
}

impl Status {
    /// The process's exit status.
    #[must_use]
    pub fn code(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::No => 1,
            Self::Refused => 2,
            Self::Outside => 3,
            Self::Fault => 70,
        }
    }
}

/// Why a command stopped: what is wrong, naming the record, and what to type.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Complaint {
    /// How the process ends.
    pub status: Status,
    /// Places at fault, one line each, said before everything else; blank but where there may be many.
    pub places: Vec<String>,
    /// What is wrong, one line for each thing.
    pub what: Vec<String>,
    /// What to type or do; blank where nothing sensible can be said.
    pub hint: String,
}

/// What a command ends with.
pub type Answer = Result<Status, Complaint>;

impl Complaint {
    /// Input refused, nothing changed.
    pub fn refused(what: impl fmt::Display, hint: impl fmt::Display) -> Self {
        Self {
            status: Status::Refused,
            places: Vec::new(),
            what: vec![one_line(&what.to_string())],
            hint: one_line(&hint.to_string()),
        }
    }

    /// The outside failed, nothing lost.
    pub fn outside(what: impl fmt::Display, hint: impl fmt::Display) -> Self {
        Self {
            status: Status::Outside,
            places: Vec::new(),
            what: vec![one_line(&what.to_string())],
            hint: one_line(&hint.to_string()),
        }
    }

    /// A fault of this program.
    pub fn fault(what: impl fmt::Display) -> Self {
        Self {
            status: Status::Fault,
            places: Vec::new(),
            what: vec![one_line(&what.to_string())],
            hint: "this is a fault in pigtail; please report it with what you typed".to_owned(),
        }
    }
}

impl fmt::Display for Complaint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.places.iter().try_for_each(|place| writeln!(f, "{place}"))?;
        for line in &self.what {
            writeln!(f, "error: {line}")?;
        }
        if self.hint.is_empty() { Ok(()) } else { writeln!(f, "hint: {}", self.hint) }
    }
}

impl From<io::Error> for Complaint {
    /// Writing an answer failed. A reader that went away (`due | head -1`) has what it wanted.
    fn from(error: io::Error) -> Self {
        if error.kind() == io::ErrorKind::BrokenPipe {
            return Self { status: Status::Done, places: Vec::new(), what: Vec::new(), hint: String::new() };
        }
        Self::outside(format!("cannot write the answer: {error}"), "check the disk or file that output goes to")
    }
}
