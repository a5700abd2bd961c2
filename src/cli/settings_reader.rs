//! From the text of a settings file to settings.
//!
//! Owns: checking every key and value, and finding everything that is wrong in one go. Refuses: files beside it.

use super::password::PasswordSource;
use super::settings::{LoginSource, MailSettings, Settings};
use super::settings_error::Problem;
use crate::digest::Schedule;
use crate::model::{DepotCode, Email, nearest};
use crate::post::{Security, Timeouts};
use std::collections::BTreeMap;
use std::fmt::Display;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::str::FromStr;
use std::time::Duration;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

const SECTIONS: [&str; 3] = ["mail", "schedules", "recipients"];
const MAIL_KEYS: [&str; 11] = [
    "server",
    "port",
    "security",
    "user",
    "password",
    "ca_file",
    "sender",
    "sender_name",
    "reply_to",
    "list",
    "timeout_seconds",
];
const PASSWORD_FORMS: &str =
    "write where it is: { env = \"NAME\" }, { file = \"PATH\" } or { command = [\"PROGRAM\", …] }";

type Value<'t> = Spanned<DeValue<'t>>;

/// Reads settings; relative paths in them start from `folder`.
pub(super) fn read(text: &str, folder: &Path) -> Result<Settings, Vec<Problem>> {
    let document = DeTable::parse(text).map_err(|error| {
        // The parser's words name what it wanted, never what it found in a value.
        vec![Problem { span: error.span().unwrap_or(0..0), message: error.message().to_owned() }]
    })?;
    let mut reader = Reader { problems: Vec::new(), folder };
    let settings = reader.settings(&document);
    match settings {
        Some(settings) if reader.problems.is_empty() => Ok(settings),
        _ => Err(reader.problems),
    }
}

struct Reader<'f> {
    problems: Vec<Problem>,
    folder: &'f Path,
}

impl Reader<'_> {
    fn settings(&mut self, document: &Spanned<DeTable<'_>>) -> Option<Settings> {
        let table = document.get_ref();
        self.known_only(table, "a section", &SECTIONS);
        let mail = match find(table, "mail") {
            Some(value) => self.table(value).and_then(|mail| self.mail(mail, value.span())),
            None => self.problem(0..0, "there is no [mail] section"),
        };
        let (default_schedule, schedules) = match find(table, "schedules").map(|value| self.table(value)) {
            Some(Some(schedules)) => self.schedules(schedules),
            Some(None) | None => (Schedule::default(), BTreeMap::new()),
        };
        let recipients = match find(table, "recipients").map(|value| self.table(value)) {
            Some(Some(recipients)) => self.recipients(recipients),
            Some(None) | None => BTreeMap::new(),
        };
        Some(Settings { mail: mail?, default_schedule, schedules, recipients })
    }

    fn mail(&mut self, table: &DeTable<'_>, section: Range<usize>) -> Option<MailSettings> {
        self.known_only(table, "a key of [mail]", &MAIL_KEYS);
        for key in ["server", "sender"] {
            if find(table, key).is_none() {
                self.problem::<()>(section.clone(), format!("[mail] needs `{key}`"));
            }
        }
        let server = self.server(table);
        let security = self.parsed(table, "security").unwrap_or(Security::StartTls);
        let port = self.number(table, "port", 1..=65535).and_then(|port| u16::try_from(port).ok());
        let login = self.login(table, security);
        let ca_file = self.text(table, "ca_file").map(|path| self.path(&path));
        let sender = self.parsed(table, "sender");
        let sender_name = self.text(table, "sender_name").unwrap_or_else(|| "Pigtail".to_owned());
        let reply_to = self.parsed(table, "reply_to");
        let list = self.list(table);
        let timeouts = match self.number(table, "timeout_seconds", 1..=600).and_then(|n| u64::try_from(n).ok()) {
            Some(seconds) => {
                let usual = Timeouts::default();
                let reply = Duration::from_secs(seconds);
                Timeouts { connect: usual.connect.min(reply), reply }
            }
            None => Timeouts::default(),
        };
        Some(MailSettings {
            server: server?,
            port: port.unwrap_or(security.usual_port()),
            security,
            login,
            ca_file,
            sender: sender?,
            sender_name,
            reply_to,
            list,
            timeouts,
        })
    }

    fn server(&mut self, table: &DeTable<'_>) -> Option<String> {
        let server = self.text(table, "server")?;
        let sound = !server.is_empty() && server.chars().all(|c| c.is_ascii_alphanumeric() || "-._:".contains(c));
        match find(table, "server") {
            Some(value) if !sound => {
                self.problem(value.span(), format!("`{}` is not a server's name or address", server.escape_debug()))
            }
            _ => Some(server),
        }
    }

    fn list(&mut self, table: &DeTable<'_>) -> String {
        let list = self.text(table, "list").unwrap_or_else(|| "pigtail-digest".to_owned());
        let sound = !list.is_empty() && list.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
        if let Some(value) = find(table, "list").filter(|_| !sound) {
            self.problem::<()>(value.span(), "a list's name is letters, digits and hyphens");
        }
        list
    }

    fn login(&mut self, table: &DeTable<'_>, security: Security) -> Option<LoginSource> {
        match (find(table, "user"), find(table, "password")) {
            (None, None) => None,
            (Some(user), None) => {
                self.problem(user.span(), "`user` needs `password`, which says where the password is")
            }
            (None, Some(password)) => self.problem(password.span(), "`password` needs `user`"),
            (Some(at), Some(password)) => {
                if security == Security::Plain {
                    self.problem::<()>(at.span(), "a password is never sent over a link with security = \"plain\"");
                }
                let user = self.text(table, "user");
                let password = self.password(password);
                Some(LoginSource { user: user?, password: password? })
            }
        }
    }

    /// Never repeats what it finds: somebody may have written the password itself.
    fn password(&mut self, value: &Value<'_>) -> Option<PasswordSource> {
        let DeValue::Table(table) = value.get_ref() else {
            return self.problem(value.span(), format!("a password does not belong in this file; {PASSWORD_FORMS}"));
        };
        let mut entries = table.iter();
        let (Some((key, inner)), None) = (entries.next(), entries.next()) else {
            return self.problem(value.span(), format!("one place for the password; {PASSWORD_FORMS}"));
        };
        match (key.get_ref().as_ref(), inner.get_ref()) {
            ("env", DeValue::String(name)) if !name.is_empty() && !name.contains(['=', '\0']) => {
                Some(PasswordSource::Environment(name.to_string()))
            }
            ("file", DeValue::String(path)) if !path.is_empty() => Some(PasswordSource::File(self.path(path))),
            ("command", DeValue::Array(words)) => {
                let argv: Option<Vec<String>> = words.iter().map(|word| text_of(word).map(str::to_owned)).collect();
                match argv.filter(|argv| argv.first().is_some_and(|program| !program.is_empty())) {
                    Some(argv) => Some(PasswordSource::Command(argv)),
                    None => self.problem(inner.span(), "a command is a list: the program, then each argument"),
                }
            }
            _ => self.problem(value.span(), PASSWORD_FORMS),
        }
    }

    fn schedules(&mut self, table: &DeTable<'_>) -> (Schedule, BTreeMap<DepotCode, Schedule>) {
        let mut default_schedule = Schedule::default();
        let mut schedules = BTreeMap::new();
        for (key, value) in table {
            if key.get_ref() == "default" {
                default_schedule = self.value(value).unwrap_or_default();
            } else if let Some(depot) = self.depot(key)
                && let Some(schedule) = self.value(value)
            {
                schedules.insert(depot, schedule);
            }
        }
        (default_schedule, schedules)
    }

    fn recipients(&mut self, table: &DeTable<'_>) -> BTreeMap<DepotCode, Vec<Email>> {
        let mut recipients = BTreeMap::new();
        for (key, value) in table {
            let Some(depot) = self.depot(key) else { continue };
            let DeValue::Array(addresses) = value.get_ref() else {
                self.problem::<()>(value.span(), "recipients are a list of addresses in brackets");
                continue;
            };
            recipients.insert(depot, addresses.iter().filter_map(|address| self.value(address)).collect());
        }
        recipients
    }

    fn depot(&mut self, key: &Spanned<std::borrow::Cow<'_, str>>) -> Option<DepotCode> {
        // Its value would be repeated in what is said of it.
        if key.get_ref().to_lowercase().contains("pass") {
            return self.problem(key.span(), "the name of a depot is wanted here; a password belongs in no section");
        }
        match key.get_ref().parse() {
            Ok(depot) => Some(depot),
            Err(error) => self.problem(key.span(), format!("depot {error}")),
        }
    }

    fn known_only(&mut self, table: &DeTable<'_>, list: &str, known: &[&'static str]) {
        for (key, _) in table {
            let word = key.get_ref();
            if !known.contains(&word.as_ref()) {
                let end = match nearest(word, known.iter().copied()) {
                    Some(near) => format!("nearest is `{near}`"),
                    None => format!("known are {}", known.join(", ")),
                };
                self.problem::<()>(key.span(), format!("`{}` is not {list}; {end}", word.escape_debug()));
            }
        }
    }

    fn table<'v, 't>(&mut self, value: &'v Value<'t>) -> Option<&'v DeTable<'t>> {
        match value.get_ref() {
            DeValue::Table(table) => Some(table),
            _ => self.problem(value.span(), "a section is wanted here: [name], then its keys on lines of their own"),
        }
    }

    fn text(&mut self, table: &DeTable<'_>, key: &str) -> Option<String> {
        let value = find(table, key)?;
        match text_of(value) {
            Some(text) => Some(text.to_owned()),
            None => self.problem(value.span(), format!("`{key}` is text in quotes")),
        }
    }

    fn parsed<T: FromStr<Err: Display>>(&mut self, table: &DeTable<'_>, key: &str) -> Option<T> {
        find(table, key).and_then(|value| self.value(value))
    }

    fn value<T: FromStr<Err: Display>>(&mut self, value: &Value<'_>) -> Option<T> {
        match text_of(value).map(str::parse) {
            Some(Ok(parsed)) => Some(parsed),
            Some(Err(error)) => self.problem(value.span(), error.to_string()),
            None => self.problem(value.span(), "text in quotes is wanted here"),
        }
    }

    fn number(&mut self, table: &DeTable<'_>, key: &str, range: std::ops::RangeInclusive<i64>) -> Option<i64> {
        let value = find(table, key)?;
        let number = match value.get_ref() {
            DeValue::Integer(integer) => i64::from_str_radix(integer.as_str(), integer.radix()).ok(),
            _ => None,
        };
        let (first, last) = (range.start(), range.end());
        match number.filter(|number| range.contains(number)) {
            Some(number) => Some(number),
            None => self.problem(value.span(), format!("`{key}` is a number from {first} to {last}")),
        }
    }

    fn path(&self, path: &str) -> PathBuf {
        self.folder.join(path)
    }

    /// Notes what is wrong; what was wanted is then not there.
    fn problem<T>(&mut self, span: Range<usize>, message: impl Into<String>) -> Option<T> {
        self.problems.push(Problem { span, message: message.into() });
        None
    }
}

fn find<'v, 't>(table: &'v DeTable<'t>, key: &str) -> Option<&'v Value<'t>> {
    table.iter().find(|(known, _)| known.get_ref() == key).map(|(_, value)| value)
}

fn text_of<'v>(value: &'v Value<'_>) -> Option<&'v str> {
    match value.get_ref() {
        DeValue::String(text) => Some(text),
        _ => None,
    }
}
