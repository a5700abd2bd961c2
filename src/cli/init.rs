//! `pigtail init`: a new, empty fleet file.
//!
//! Owns: the command. Refuses: touching a file that is there.

use super::complaint::{Answer, Status};
use super::console::Console;
use super::session::Session;
use crate::book::Book;

/// Runs the command.
///
/// # Errors
/// [`super::complaint::Complaint`] where there is a file already or the disk refuses.
pub fn run(session: &Session, console: &mut Console<'_>) -> Answer {
    let book = Book::create(&session.db()?)?;
    writeln!(console.out, "new fleet file {}", book.path().display())?;
    writeln!(console.talk, "next: pigtail import FOLDER, or pigtail depot add CODE --name NAME --timezone ZONE")?;
    Ok(Status::Done)
}
