//! A fleet into a folder.
//!
//! Owns: which files are written and that either all of them are replaced or, short of a failing disk, none.
//! Refuses: folders with other people's files in them.

use super::read::passed_over;
use super::table::FolderFile;
use super::write_rows::rows_of;
use crate::model::Fleet;
use crate::model::Named;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

/// What was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// Files with the number of their rows, in their order.
    pub files: Vec<(FolderFile, usize)>,
    /// Files of an earlier export that this fleet has no rows for; they are gone.
    pub removed: Vec<FolderFile>,
}

/// Why nothing was written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// The path is there and no folder.
    #[error("`{}` is not a folder", .path.display())]
    NotAFolder {
        /// The path given.
        path: PathBuf,
    },
    /// The folder holds something that is no file of a fleet folder.
    #[error("`{}` holds `{}`, which is not a file of a fleet folder", .path.display(), .name.escape_debug())]
    OtherFiles {
        /// The folder.
        path: PathBuf,
        /// The first such name.
        name: String,
    },
    /// The disk would not take it.
    #[error("cannot write `{}`: {source}", .path.display())]
    Unwritable {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

/// Writes a fleet to a folder, which is made if it is not there: UTF-8, a header in every file, CRLF, rows in the order
/// of their keys, so that equal fleets give equal bytes. depots.csv, units.csv and parts.csv are always written, others
/// where they have rows. Files of a fleet folder that stand there are replaced, or removed where they have no rows now.
///
/// # Errors
/// [`WriteError`]; files that were there are untouched unless the disk fails while new ones are moved in place.
pub fn write_folder(folder: &Path, fleet: &Fleet) -> Result<Written, WriteError> {
    let unwritable = |path: &Path, source: io::Error| WriteError::Unwritable { path: path.to_owned(), source };
    fs::create_dir_all(folder).map_err(|error| match error.kind() {
        io::ErrorKind::AlreadyExists | io::ErrorKind::NotADirectory => {
            WriteError::NotAFolder { path: folder.to_owned() }
        }
        _ => unwritable(folder, error),
    })?;
    let there = known_files(folder)?;
    let mut finished = Vec::new();
    let mut written = Written { files: Vec::new(), removed: Vec::new() };
    for &file in FolderFile::ALL {
        let target = folder.join(file.name());
        if let Some((temporary, rows)) =
            write_beside(folder, file, fleet).map_err(|error| unwritable(&target, error))?
        {
            finished.push((temporary, target));
            written.files.push((file, rows));
        } else if there.contains(&file) {
            written.removed.push(file);
        }
    }
    for (temporary, target) in finished {
        temporary.persist(&target).map_err(|error| unwritable(&target, error.error))?;
    }
    for file in &written.removed {
        let target = folder.join(file.name());
        fs::remove_file(&target).map_err(|error| unwritable(&target, error))?;
    }
    // Some systems cannot open a folder as a file; the renames stand all the same.
    if let Ok(folder) = File::open(folder) {
        folder.sync_all().ok();
    }
    Ok(written)
}

/// The fleet files in a folder that holds nothing else but hidden files and texts.
fn known_files(folder: &Path) -> Result<Vec<FolderFile>, WriteError> {
    let unwritable = |source: io::Error| WriteError::Unwritable { path: folder.to_owned(), source };
    let mut there = Vec::new();
    for entry in fs::read_dir(folder).map_err(unwritable)? {
        let entry = entry.map_err(unwritable)?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if passed_over(&name) {
            continue;
        }
        // A name in other capitals would stand beside the new file, and the two could not be imported together.
        let exact = FolderFile::from_name(&name).ok().filter(|file| file.name() == name);
        match exact.filter(|_| entry.file_type().is_ok_and(|kind| !kind.is_dir())) {
            Some(file) => there.push(file),
            None => return Err(WriteError::OtherFiles { path: folder.to_owned(), name }),
        }
    }
    Ok(there)
}

/// Writes one file under a hidden name beside its target; none where it has no rows and can do without.
fn write_beside(
    folder: &Path,
    file: FolderFile,
    fleet: &Fleet,
) -> io::Result<Option<(tempfile::NamedTempFile, usize)>> {
    let count = fleet.count(file);
    if count == 0 && !file.always_written() {
        return Ok(None);
    }
    let temporary = readable_by_others(tempfile::Builder::new().prefix(".pigtail-")).tempfile_in(folder)?;
    let mut writer =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).buffer_capacity(1 << 16).from_writer(&temporary);
    rows_of(file, fleet, &mut writer)?;
    writer.flush()?;
    drop(writer);
    temporary.as_file().sync_all()?;
    Ok(Some((temporary, count)))
}

/// Temporary files are made for their owner's eyes only; an export is for whom the user's own mask lets in.
#[cfg(unix)]
fn readable_by_others<'b, 'p, 's>(builder: &'b mut tempfile::Builder<'p, 's>) -> &'b mut tempfile::Builder<'p, 's> {
    use std::os::unix::fs::PermissionsExt;
    builder.permissions(fs::Permissions::from_mode(0o666))
}

#[cfg(not(unix))]
fn readable_by_others<'b, 'p, 's>(builder: &'b mut tempfile::Builder<'p, 's>) -> &'b mut tempfile::Builder<'p, 's> {
    builder
}
