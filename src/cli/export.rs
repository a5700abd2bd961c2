//! `pigtail export DIR`: the fleet folder out of the book.
//!
//! Owns: the command. Refuses: layout of the files, which `exchange` has.

use super::complaint::{Answer, Complaint, Status};
use super::console::Console;
use super::session::Session;
use crate::exchange::{WriteError, write_folder};
use std::path::PathBuf;

/// Write the fleet folder (CSV files) that import reads.
#[derive(Debug, clap::Args)]
pub struct ExportArgs {
    /// Folder to write to; made if it is not there
    dir: PathBuf,
}

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where the folder holds other files or cannot be written.
pub fn run(args: &ExportArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    let written = write_folder(&args.dir, &session.book()?.fleet()?)?;
    for (file, rows) in &written.files {
        writeln!(console.out, "{} {rows}", args.dir.join(file.to_string()).display())?;
    }
    for file in &written.removed {
        writeln!(console.talk, "note: {file} of an earlier export has no rows now and was removed")?;
    }
    Ok(Status::Done)
}

impl From<WriteError> for Complaint {
    fn from(error: WriteError) -> Self {
        match error {
            WriteError::NotAFolder { .. } | WriteError::OtherFiles { .. } => {
                Self::refused(error, "name an empty or a new folder")
            }
            WriteError::Unwritable { .. } => Self::outside(error, "check the disk and the folder's permissions"),
        }
    }
}
