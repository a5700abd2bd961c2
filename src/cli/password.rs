//! Where the mail server's password comes from.
//!
//! Owns: reading it from the environment, from a file that only its owner may read, or from a command run without a
//! shell. Refuses: keeping it in the settings file or on the command line, and showing it anywhere.

use crate::post::Secret;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Where to look for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PasswordSource {
    /// An environment variable of this name.
    Environment(String),
    /// A file that nobody but its owner may read (mode 0600); its first line.
    File(PathBuf),
    /// A program and its arguments; the first line it prints.
    Command(Vec<String>),
}

/// Why there is no password. No variant holds any of it.
#[derive(Debug, thiserror::Error)]
pub enum PasswordError {
    /// The variable is not set, or holds nothing.
    #[error("password: environment variable {name} is not set")]
    Unset {
        /// Its name.
        name: String,
    },
    /// The file cannot be read.
    #[error("password file `{}` cannot be read: {source}", .path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// Others may read the file.
    #[error("password file `{}` has mode {mode:04o}: others may read it", .path.display())]
    Exposed {
        /// The file.
        path: PathBuf,
        /// Its permission bits.
        mode: u32,
    },
    /// The program could not be run.
    #[error("password command `{program}` cannot be run: {source}")]
    NoCommand {
        /// The program.
        program: String,
        /// Why.
        source: io::Error,
    },
    /// The program failed.
    #[error("password command `{program}` failed: {outcome}")]
    CommandFailed {
        /// The program.
        program: String,
        /// How it ended.
        outcome: String,
    },
    /// There is nothing on the first line, or it is not text.
    #[error("password: {place} gives nothing on its first line")]
    Blank {
        /// Where it was looked for.
        place: String,
    },
}

impl PasswordError {
    /// What to type or do.
    #[must_use]
    pub fn hint(&self) -> String {
        match self {
            Self::Unset { name } => format!("set it: export {name}=…"),
            Self::Unreadable { .. } => "check `password` in the settings file".to_owned(),
            Self::Exposed { path, .. } => format!("chmod 600 {}", path.display()),
            Self::NoCommand { program, .. } | Self::CommandFailed { program, .. } => {
                format!("run `{program}` by hand to see what it says")
            }
            Self::Blank { .. } => "put the password alone on the first line".to_owned(),
        }
    }
}

impl PasswordSource {
    /// The password.
    ///
    /// # Errors
    /// [`PasswordError`] naming where it was looked for.
    pub fn read(&self) -> Result<Secret, PasswordError> {
        match self {
            Self::Environment(name) => match std::env::var(name) {
                Ok(password) if !password.is_empty() => Ok(Secret::new(&password)),
                _ => Err(PasswordError::Unset { name: name.clone() }),
            },
            Self::File(path) => first_line(&read_private(path)?, || format!("password file `{}`", path.display())),
            Self::Command(argv) => first_line(&run(argv)?, || format!("password command `{}`", program(argv))),
        }
    }
}

fn first_line(bytes: &[u8], place: impl Fn() -> String) -> Result<Secret, PasswordError> {
    let line = std::str::from_utf8(bytes).unwrap_or_default().lines().next().unwrap_or_default();
    if line.is_empty() { Err(PasswordError::Blank { place: place() }) } else { Ok(Secret::new(line)) }
}

fn read_private(path: &Path) -> Result<Vec<u8>, PasswordError> {
    let unreadable = |source| PasswordError::Unreadable { path: path.to_owned(), source };
    let mut file = File::open(path).map_err(unreadable)?;
    // The open file is asked, not its name, so that it cannot be exchanged in between.
    refuse_exposed(&file, path)?;
    let mut bytes = Vec::new();
    file.read_to_end(&mut bytes).map_err(unreadable)?;
    Ok(bytes)
}

#[cfg(unix)]
fn refuse_exposed(file: &File, path: &Path) -> Result<(), PasswordError> {
    use std::os::unix::fs::PermissionsExt;
    let metadata = file.metadata().map_err(|source| PasswordError::Unreadable { path: path.to_owned(), source })?;
    let mode = metadata.permissions().mode() & 0o7777;
    if mode & 0o077 == 0 { Ok(()) } else { Err(PasswordError::Exposed { path: path.to_owned(), mode }) }
}

/// Other systems have no permission bits; there the file is as private as its folder.
#[cfg(not(unix))]
fn refuse_exposed(_: &File, _: &Path) -> Result<(), PasswordError> {
    Ok(())
}

fn program(argv: &[String]) -> &str {
    argv.first().map_or("", String::as_str)
}

fn run(argv: &[String]) -> Result<Vec<u8>, PasswordError> {
    let name = program(argv).to_owned();
    let output = Command::new(&name)
        .args(argv.iter().skip(1))
        .stdin(Stdio::null())
        .stderr(Stdio::inherit())
        .output()
        .map_err(|source| PasswordError::NoCommand { program: name.clone(), source })?;
    if output.status.success() {
        Ok(output.stdout)
    } else {
        Err(PasswordError::CommandFailed { program: name, outcome: output.status.to_string() })
    }
}
