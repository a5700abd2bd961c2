//! The program as a process of its own, where a process is what matters: rights, signals, limits, full disks.
//!
//! Owns: running it as nobody, and a small disk to fill. Refuses: running where the machine does not let it; the tests
//! that need it then pass over, saying so.

use crate::program::{Ran, path_text};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

pub const PROGRAM: &str = env!("CARGO_BIN_EXE_pigtail");

/// Pigtail with a fleet file, on the usual day.
pub fn pigtail(db: &Path) -> Command {
    let mut command = Command::new(PROGRAM);
    as_usual(&mut command, db);
    command
}

fn as_usual(command: &mut Command, db: &Path) {
    command.args(["--db", path_text(db), "--today", "2026-03-02"]);
    command.env_remove("PIGTAIL_DB").env_remove("PIGTAIL_TODAY").env("PIGTAIL_AUTHOR", "tester");
}

/// A command line put before the program's own, as `prlimit --fsize=4096`.
pub fn under(before: &[&str], db: &Path) -> Command {
    let mut command = Command::new(before[0]);
    command.args(&before[1..]).arg(PROGRAM);
    as_usual(&mut command, db);
    command
}

pub fn ran(output: Output) -> Ran {
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    let status = output.status.code().and_then(|code| u8::try_from(code).ok()).unwrap_or(255);
    Ran { status, out: text(output.stdout), err: text(output.stderr) }
}

pub fn has(program: &str) -> bool {
    Command::new(program).arg("--version").output().is_ok_and(|output| output.status.success())
}

/// A user who may do nothing: the one who runs the tests, or nobody where that is root.
pub struct Shell {
    uid: Option<u32>,
}

impl Shell {
    pub fn of_nobody() -> Option<Self> {
        use std::os::unix::fs::MetadataExt;
        let probe = tempfile::NamedTempFile::new().unwrap();
        if probe.as_file().metadata().unwrap().uid() != 0 {
            return Some(Self { uid: None });
        }
        let shell = Self { uid: Some(65534) };
        let works = shell.command().arg("--version").output().is_ok_and(|output| output.status.success());
        if !works {
            say(&format!("passed over: nobody cannot run {PROGRAM}"));
        }
        works.then_some(shell)
    }

    fn command(&self) -> Command {
        match self.uid {
            None => Command::new(PROGRAM),
            Some(uid) => {
                let mut command = Command::new("setpriv");
                command.arg(format!("--reuid={uid}")).args(["--clear-groups", "--", PROGRAM]);
                command
            }
        }
    }

    pub fn give(&self, path: &Path) {
        if let Some(uid) = self.uid {
            std::os::unix::fs::chown(path, Some(uid), None).unwrap();
        }
    }

    pub fn types(&self, db: &Path, words: &[&str]) -> Ran {
        let mut command = self.command();
        as_usual(&mut command, db);
        ran(command.args(words).output().unwrap())
    }
}

/// Says something beside the test's own output.
pub fn say(text: &str) {
    std::io::stderr().write_all(format!("{text}\n").as_bytes()).unwrap();
}

/// A disk of a few pages.
pub struct Disk {
    folder: tempfile::TempDir,
}

/// Mounts one, where this user may.
pub fn mounted(bytes: u64) -> Option<Disk> {
    let folder = tempfile::tempdir().unwrap();
    let mount = Command::new("mount")
        .args(["-t", "tmpfs", "-o", &format!("size={bytes}"), "tmpfs", path_text(folder.path())])
        .output();
    if mount.is_ok_and(|output| output.status.success()) {
        return Some(Disk { folder });
    }
    say("passed over: this user may not mount a small disk");
    None
}

impl Disk {
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    fn ballast(&self) -> PathBuf {
        self.path().join("ballast")
    }

    /// Leaves room for so many bytes more.
    pub fn fill_all_but(&self, spare: u64) {
        self.empty_again();
        let mut file = std::fs::File::create(self.ballast()).unwrap();
        let page = [7u8; 4096];
        let mut written = 0u64;
        while file.write_all(&page).is_ok() {
            written += 4096;
        }
        file.set_len(written.saturating_sub(spare)).unwrap();
    }

    pub fn empty_again(&self) {
        std::fs::remove_file(self.ballast()).ok();
    }
}

impl Drop for Disk {
    fn drop(&mut self) {
        Command::new("umount").arg(self.path()).output().ok();
    }
}
