//! The whole program, run as its user runs it, in this process.
//!
//! Owns: one way to type a command and see what it wrote. Refuses: asserting anything.

use pigtail::cli::{Terminal, run};
use std::path::{Path, PathBuf};

/// What a command line came to.
#[derive(Debug)]
pub struct Ran {
    /// Exit status.
    pub status: u8,
    /// Data.
    pub out: String,
    /// Talk.
    pub err: String,
}

/// A fleet file in a folder of its own, and the day it is looked at.
pub struct Desk {
    pub folder: tempfile::TempDir,
    pub today: &'static str,
}

impl Desk {
    pub fn new(today: &'static str) -> Self {
        Self { folder: tempfile::tempdir().unwrap(), today }
    }

    /// The invented fleet of the demo, imported.
    pub fn with_demo_fleet() -> Self {
        let desk = Self::new("2026-03-02");
        let ran = desk.types(&["import", "fixtures/demo"]);
        assert_eq!(ran.status, 0, "{}", ran.err);
        desk
    }

    pub fn db(&self) -> PathBuf {
        self.folder.path().join("fleet.db")
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Types `pigtail …` with this file and day.
    pub fn types(&self, words: &[&str]) -> Ran {
        self.types_on(self.today, words)
    }

    /// Types it on another day.
    pub fn types_on(&self, today: &str, words: &[&str]) -> Ran {
        let db = self.db();
        let mut all = vec!["pigtail", "--db", path_text(&db), "--today", today];
        all.extend(words);
        type_words(&all)
    }
}

pub fn path_text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// Types a whole command line.
pub fn type_words(words: &[&str]) -> Ran {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let status = run(words.iter().map(Into::into), &mut out, &mut err, Terminal::default());
    Ran { status: status.code(), out: String::from_utf8(out).unwrap(), err: String::from_utf8(err).unwrap() }
}
