//! `pigtail backup FILE` and `pigtail restore FILE`: a copy of the fleet file, and the way back.
//!
//! Owns: the options. Refuses: copying by itself; the book does, and checks what it copied.

use super::complaint::{Answer, Status};
use super::console::Console;
use super::progress::Bar;
use super::session::Session;
use crate::book::Book;
use std::path::PathBuf;

/// Copy the fleet file, also while it is in use, and check the copy.
#[derive(Debug, clap::Args)]
pub struct BackupArgs {
    /// File to write
    file: PathBuf,
    /// Replace the file if it is there
    #[arg(long)]
    force: bool,
}

/// Check a backup and put it in the place of the fleet file.
#[derive(Debug, clap::Args)]
pub struct RestoreArgs {
    /// The backup
    file: PathBuf,
    /// Replace the fleet file if it is there; it is kept under a dated name
    #[arg(long)]
    force: bool,
}

/// Runs `backup`.
///
/// # Errors
/// [`super::complaint::Complaint`] where the file is there, the copy is not sound or the disk refuses.
pub fn run(args: &BackupArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    let book = session.book()?;
    let bar = Bar::new(console.watched, "checking");
    let copied = book.backup(&args.file, args.force, &mut |done, total| bar.at(done, total));
    bar.done();
    let found = copied?;
    let file = args.file.display();
    writeln!(console.out, "{file}: {} entries, head {}@{}, checked", found.entries, found.head, found.entries)?;
    Ok(Status::Done)
}

/// Runs `restore`.
///
/// # Errors
/// [`super::complaint::Complaint`] where there is a fleet file, the backup is not sound or the disk refuses.
pub fn restore(args: &RestoreArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    let place = session.db()?;
    let bar = Bar::new(console.watched, "checking");
    let restored = Book::restore(&args.file, &place, args.force, session.now, &mut |done, total| bar.at(done, total));
    bar.done();
    let restored = restored?;
    let found = &restored.found;
    writeln!(
        console.out,
        "{}: restored from {}, {} entries, head {}@{}",
        place.display(),
        args.file.display(),
        found.entries,
        found.head,
        found.entries
    )?;
    if let Some(kept) = restored.kept {
        writeln!(console.out, "what was there before is kept as {}", kept.display())?;
    }
    Ok(Status::Done)
}
