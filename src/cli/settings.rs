//! The settings file: which mail server, on whose behalf, when and to whom.
//!
//! Owns: its keys, and what must go with what. Refuses: the password itself, of which it only knows where it is.

use super::password::{PasswordError, PasswordSource};
use super::settings_error::SettingsError;
use super::settings_reader::read;
use crate::digest::Schedule;
use crate::model::{Depot, DepotCode, Email};
use crate::post::{Login, Security, ServerSettings, Timeouts};
use etcetera::BaseStrategy;
use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};

/// Everything the settings file says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settings {
    /// How mail is sent.
    pub mail: MailSettings,
    /// When, where a depot says nothing of its own.
    pub default_schedule: Schedule,
    /// When, by depot.
    pub schedules: BTreeMap<DepotCode, Schedule>,
    /// To whom, by depot, in place of the depot's own `digest_to`.
    pub recipients: BTreeMap<DepotCode, Vec<Email>>,
}

/// How mail is sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MailSettings {
    /// Name or address of the server.
    pub server: String,
    /// Its port.
    pub port: u16,
    /// How the link is protected.
    pub security: Security,
    /// As whom, and where the password is.
    pub login: Option<LoginSource>,
    /// PEM file of a private authority.
    pub ca_file: Option<PathBuf>,
    /// Who sends.
    pub sender: Email,
    /// What the sender is called.
    pub sender_name: String,
    /// Where answers go, if elsewhere.
    pub reply_to: Option<Email>,
    /// First label of the list's name.
    pub list: String,
    /// How long the server may take to answer.
    pub timeouts: Timeouts,
}

/// As whom.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LoginSource {
    /// User name.
    pub user: String,
    /// Where the password is.
    pub password: PasswordSource,
}

impl Settings {
    /// Where the settings file is unless told otherwise: `$XDG_CONFIG_HOME/pigtail/config.toml`.
    ///
    /// # Errors
    /// [`SettingsError::NoHome`] where there is no home folder.
    pub fn usual_path() -> Result<PathBuf, SettingsError> {
        let folders = etcetera::choose_base_strategy().map_err(|_| SettingsError::NoHome)?;
        Ok(folders.config_dir().join("pigtail").join("config.toml"))
    }

    /// Reads a settings file.
    ///
    /// # Errors
    /// [`SettingsError`] with everything that is wrong and where.
    pub fn load(path: &Path) -> Result<Self, SettingsError> {
        let text = std::fs::read_to_string(path).map_err(|source| match source.kind() {
            io::ErrorKind::NotFound => SettingsError::Missing { path: path.to_owned() },
            _ => SettingsError::Unreadable { path: path.to_owned(), source },
        })?;
        Self::parse(&text, path)
    }

    /// Reads the text of a settings file; `path` names it in errors, and its folder is what relative paths in it start
    /// from.
    ///
    /// # Errors
    /// [`SettingsError::Faulty`] with everything that is wrong and where.
    pub fn parse(text: &str, path: &Path) -> Result<Self, SettingsError> {
        let folder = path.parent().unwrap_or(Path::new(""));
        read(text, folder).map_err(|problems| SettingsError::faulty(path, text, problems))
    }

    /// When a depot's digest goes out.
    #[must_use]
    pub fn schedule_of(&self, depot: &DepotCode) -> &Schedule {
        self.schedules.get(depot).unwrap_or(&self.default_schedule)
    }

    /// Who gets a depot's digest.
    #[must_use]
    pub fn recipients_of<'a>(&'a self, depot: &'a Depot) -> &'a [Email] {
        self.recipients.get(&depot.depot).unwrap_or(&depot.digest_to)
    }

    /// Everybody who gets a digest, each with their depots in the order given. Addresses are the same whatever the
    /// case of their domain.
    #[must_use]
    pub fn rounds<'a>(&'a self, depots: &'a [Depot]) -> BTreeMap<Email, Vec<&'a Depot>> {
        let mut rounds: BTreeMap<Email, Vec<&Depot>> = BTreeMap::new();
        let mut known: BTreeMap<String, Email> = BTreeMap::new();
        for depot in depots {
            for to in self.recipients_of(depot) {
                let to = known.entry(folded(to)).or_insert_with(|| to.clone()).clone();
                let theirs = rounds.entry(to).or_default();
                if !theirs.iter().any(|known| known.depot == depot.depot) {
                    theirs.push(depot);
                }
            }
        }
        rounds
    }

    /// Depots that the settings speak of and the fleet does not have.
    #[must_use]
    pub fn unknown_depots(&self, depots: &[Depot]) -> Vec<&DepotCode> {
        let named = self.schedules.keys().chain(self.recipients.keys());
        let mut unknown: Vec<&DepotCode> =
            named.filter(|code| !depots.iter().any(|depot| depot.depot == **code)).collect();
        unknown.sort();
        unknown.dedup();
        unknown
    }
}

fn folded(email: &Email) -> String {
    match email.as_str().rsplit_once('@') {
        Some((local, domain)) => format!("{local}@{}", domain.to_lowercase()),
        None => email.as_str().to_owned(),
    }
}

impl MailSettings {
    /// What `post` needs, with the password fetched from where it is.
    ///
    /// # Errors
    /// [`PasswordError`] naming where it was looked for.
    pub fn to_server(&self) -> Result<ServerSettings, PasswordError> {
        let login = match &self.login {
            Some(login) => Some(Login { user: login.user.clone(), password: login.password.read()? }),
            None => None,
        };
        Ok(ServerSettings {
            host: self.server.clone(),
            port: self.port,
            security: self.security,
            login,
            ca_file: self.ca_file.clone(),
            timeouts: self.timeouts,
        })
    }
}
