//! The draft of a close-out that is under way: every answer so far, on disk.
//!
//! Owns: where it is kept, that nobody else may read it, and that it is whole at every moment. Refuses: being a record;
//! the book knows nothing of it.

use super::answers::Answers;
use super::file::{self, VisitFile};
use super::written::written;
use crate::cli::complaint::Complaint;
use crate::model::UnitCode;
use std::fmt::Write as _;
use std::fs::File;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Where one unit's draft is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draft {
    path: PathBuf,
}

impl Draft {
    /// The draft of `unit` beside the fleet file `db`: `fleet.db.R-012.draft.toml`.
    #[must_use]
    pub fn beside(db: &Path, unit: &UnitCode) -> Self {
        let mut name = db.file_name().unwrap_or_default().to_os_string();
        name.push(format!(".{}.draft.toml", file_name(unit)));
        Self { path: db.with_file_name(name) }
    }

    /// Its place.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The answers kept, if there are any.
    ///
    /// # Errors
    /// [`Complaint`] where the file cannot be read or somebody has broken it.
    pub fn load(&self, unit: &UnitCode) -> Result<Option<VisitFile>, Complaint> {
        if !self.path.exists() {
            return Ok(None);
        }
        let hint = format!("mend it, or delete it to start afresh: {}", self.path.display());
        let kept = file::draft(&self.path).map_err(|complaint| Complaint { hint: hint.clone(), ..complaint })?;
        if kept.answers.unit != *unit {
            let what = format!("draft `{}` is of unit {}, not {unit}", self.path.display(), kept.answers.unit);
            return Err(Complaint::refused(what, hint));
        }
        Ok(Some(kept))
    }

    /// Keeps the answers in place of those kept before. The file is whole before and after, whatever happens between,
    /// and its mode is 0600.
    ///
    /// # Errors
    /// What the disk reports.
    pub fn save(&self, answers: &Answers, at: &str) -> io::Result<()> {
        let folder = match self.path.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        };
        let mut file = tempfile::NamedTempFile::new_in(folder)?;
        file.write_all(b"# Draft of a close-out, kept by pigtail; nothing of it is recorded yet.\n")?;
        file.write_all(written(answers, Some(at)).as_bytes())?;
        file.as_file().sync_all()?;
        file.persist(&self.path).map_err(|error| error.error)?;
        // The new name lives in the folder; where a folder cannot be synced the file still stands.
        let _ = File::open(folder).and_then(|folder| folder.sync_all());
        Ok(())
    }

    /// Takes the draft away, if there is one.
    ///
    /// # Errors
    /// [`Complaint`] where it is still there afterwards.
    pub fn remove(&self) -> Result<(), Complaint> {
        match std::fs::remove_file(&self.path) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(Complaint::outside(
                format!("the visit is recorded, but its draft `{}` cannot be deleted: {error}", self.path.display()),
                "delete it by hand",
            )),
            _ => Ok(()),
        }
    }
}

/// A unit's code as part of a file name: whatever is no letter, digit, hyphen or underscore as `%` and hex.
fn file_name(unit: &UnitCode) -> String {
    let mut name = String::new();
    for letter in unit.as_str().chars() {
        if letter.is_alphanumeric() || matches!(letter, '-' | '_') {
            name.push(letter);
        } else {
            let _ = write!(name, "%{:02X}", u32::from(letter));
        }
    }
    name
}
