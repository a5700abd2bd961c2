//! `pigtail plan --solve FILE`: a planning question from outside.
//!
//! Owns: reading the file within a limit. Refuses: the fleet file, which it never opens.

use super::super::complaint::{Answer, Complaint};
use super::super::console::{Console, Format};
use super::super::session::yes_if;
use super::threads;
use crate::plan::instance::Instance;
use crate::plan::{Effort, check, solve};
use std::path::Path;

/// Largest question read.
const MAX_QUESTION_BYTES: u64 = 256 * 1024 * 1024;

pub(super) fn run(file: &Path, console: &mut Console<'_>) -> Answer {
    console.format_among(&[Format::Json])?;
    let unreadable = |error: std::io::Error| {
        Complaint::refused(format!("{}: {error}", file.display()), "name a file with a planning question in JSON")
    };
    if std::fs::metadata(file).map_err(unreadable)?.len() > MAX_QUESTION_BYTES {
        return Err(Complaint::refused(format!("{} is over 256 MiB", file.display()), "plan fewer units at a time"));
    }
    let text = std::fs::read_to_string(file).map_err(unreadable)?;
    let instance = Instance::from_json(&text).map_err(|error| {
        Complaint::refused(format!("{}: {error}", file.display()), "mend that record and solve again")
    })?;
    let plan = solve(&instance, Effort::usual(&instance), threads());
    if let Some(violation) = check(&instance, &plan).first() {
        return Err(Complaint::fault(format!("the plan found breaks a rule: {violation}")));
    }
    console.json(&plan)?;
    yes_if(plan.unplaced.is_empty())
}
