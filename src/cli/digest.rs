//! `pigtail digest`: what the manager is told every week, shown, sent, checked and logged.
//!
//! Owns: the options. Refuses: what is told (`digest`) and how it is laid out (`show`).

use super::complaint::{Answer, Complaint, Status};
use super::console::{Console, Format};
use super::delivery::{Round, SendingLock, deliver};
use super::digest_facts::facts;
use super::digest_message::digest_message;
use super::session::{Session, unknown};
use super::settings::{MailSettings, Settings};
use crate::book::{Book, Codes};
use crate::digest::{Digest, Parcel, Progress, Week};
use crate::model::{Depot, DepotCode, Email};
use crate::post::{Security, Timeouts, probe};
use crate::show::digest_mail::{DigestMail, digest_mail};
use crate::show::table::{elastic, fixed};
use serde::Serialize;
use std::path::PathBuf;

/// The weekly overdue digest: show it, send it, see what went out.
#[derive(Debug, clap::Subcommand)]
pub enum DigestCommand {
    /// Show the digest as it would go out now
    Show {
        /// Only about this depot
        #[arg(long)]
        depot: Option<DepotCode>,
    },
    /// Send it to everybody it goes to, once a week each
    Send {
        /// Only about this depot
        #[arg(long)]
        depot: Option<DepotCode>,
        /// Only where a schedule has come and the digest has not gone out yet
        #[arg(long, conflicts_with = "again")]
        if_due: bool,
        /// Also to those who have this week's already
        #[arg(long)]
        again: bool,
        /// Settings file
        #[command(flatten)]
        config: ConfigOption,
    },
    /// List what went out, what failed and what is waited for
    Log,
    /// Check settings, server and login without sending anything
    Check {
        /// Settings file
        #[command(flatten)]
        config: ConfigOption,
    },
}

/// Which settings file.
#[derive(Debug, Clone, clap::Args)]
pub struct ConfigOption {
    /// Settings file [default: $XDG_CONFIG_HOME/pigtail/config.toml]
    #[arg(long, env = "PIGTAIL_CONFIG", value_name = "FILE", hide_env_values = true)]
    config: Option<PathBuf>,
}

impl ConfigOption {
    /// The settings.
    ///
    /// # Errors
    /// [`Complaint`] naming what of them is wrong and where.
    pub fn load(&self) -> Result<Settings, Complaint> {
        let path = self.config.clone().map_or_else(Settings::usual_path, Ok)?;
        Ok(Settings::load(&path)?)
    }
}

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where settings are wrong or the mail server refuses.
pub fn run(command: &DigestCommand, session: &Session, console: &mut Console<'_>) -> Answer {
    let book = session.book()?;
    match command {
        DigestCommand::Show { depot } => show(&book, depot.as_ref(), session, console),
        DigestCommand::Send { depot, if_due, again, config } => {
            if let Some(depot) = depot {
                known(&book, depot)?;
            }
            let settings = config.load()?;
            let _lock = SendingLock::take(&book)?;
            let round = Round { depot: depot.clone(), if_due: *if_due, again: *again };
            let today = session.today(&book)?;
            let tally = deliver(&book, &settings, &round, today, &chrono::Utc::now, console)?;
            writeln!(console.talk, "{} sent, {} failed, {} not tried", tally.sent, tally.failed, tally.skipped)?;
            tally.answer()
        }
        DigestCommand::Log => log(&book, console),
        DigestCommand::Check { config } => check(&book, &config.load()?, console),
    }
}

fn known(book: &Book, depot: &DepotCode) -> Result<Depot, Complaint> {
    match book.depot(depot)? {
        Some(found) => Ok(found),
        None => unknown(book, Codes::Depots, "depot", depot.as_str()),
    }
}

fn show(book: &Book, depot: Option<&DepotCode>, session: &Session, console: &mut Console<'_>) -> Answer {
    let format = console.format_among(&[Format::Text, Format::Html, Format::Eml])?;
    let depots = match depot {
        Some(depot) => vec![known(book, depot)?],
        None => book.depots()?,
    };
    let today = session.today(book)?;
    let mail = laid_out(book, &depots, session)?;
    match format {
        Format::Html => console.out.write_all(mail.html.as_bytes())?,
        Format::Eml => console.out.write_all(&unsent(book, mail, &depots, Week::of(today), session)?)?,
        _ => console.out.write_all(mail.text.as_bytes())?,
    }
    Ok(Status::Done)
}

/// The digest of some depots in all its forms.
///
/// # Errors
/// [`Complaint`] where the file cannot be read.
pub fn laid_out(book: &Book, depots: &[Depot], session: &Session) -> Result<DigestMail, Complaint> {
    let depots: Vec<&Depot> = depots.iter().collect();
    let digest = Digest::of(facts(book, &depots, session.today(book)?, None, Vec::new())?);
    digest_mail(&digest, session.now).map_err(Complaint::fault)
}

/// Addresses in a domain that no mail leads to (RFC 2606), for a message that is only looked at.
const NOBODY: &str = "nobody@fleet.invalid";

/// The whole message as it would be sent, to the first address that gets it.
///
/// # Errors
/// [`Complaint`] where it cannot be written.
pub fn unsent(
    book: &Book,
    mail: DigestMail,
    depots: &[Depot],
    week: Week,
    session: &Session,
) -> Result<Vec<u8>, Complaint> {
    let nobody: Email = NOBODY.parse().map_err(Complaint::fault)?;
    let to = depots.iter().flat_map(|depot| &depot.digest_to).next().cloned().unwrap_or_else(|| nobody.clone());
    let settings = MailSettings {
        server: String::new(),
        port: 0,
        security: Security::Implicit,
        login: None,
        ca_file: None,
        sender: nobody,
        sender_name: "Pigtail".to_owned(),
        reply_to: None,
        list: "digest.fleet.invalid".to_owned(),
        timeouts: Timeouts::default(),
    };
    let parcel = Parcel::queued(to, week);
    let message = digest_message(mail, &parcel, &book.fleet_name()?, &settings, session.now)
        .map_err(|error| Complaint::refused(error, "pigtail depot amend DEPOT --digest-to ADDRESS"))?;
    Ok(message.bytes().to_vec())
}

#[derive(Serialize)]
struct LogLine {
    week: String,
    to: String,
    copy: u32,
    progress: &'static str,
    attempts: u32,
    at: Option<String>,
    next_try: Option<String>,
    said: String,
}

fn log(book: &Book, console: &mut Console<'_>) -> Answer {
    let lines: Vec<LogLine> = book
        .parcels()?
        .into_iter()
        .map(|parcel| {
            let next_try = parcel.next_try().filter(|_| parcel.progress != Progress::Queued);
            let (at, said) = match &parcel.progress {
                Progress::Queued => (None, String::new()),
                Progress::Sending { since } => (Some(since.to_rfc3339()), String::new()),
                Progress::Sent { at, reply } => (Some(at.to_rfc3339()), reply.clone()),
                Progress::Failed { at, reason, .. } => (Some(at.to_rfc3339()), reason.clone()),
            };
            LogLine {
                week: parcel.week.to_string(),
                to: parcel.to.to_string(),
                copy: parcel.copy,
                progress: parcel.progress.word(),
                attempts: parcel.attempts,
                at,
                next_try: next_try.map(|at| at.to_rfc3339()),
                said,
            }
        })
        .collect();
    let columns = [
        fixed("WEEK"),
        elastic("TO"),
        fixed("PROGRESS"),
        fixed("ATTEMPTS"),
        fixed("AT"),
        fixed("NEXT TRY"),
        elastic("SAID"),
    ];
    console.list("digests", &columns, &lines, |line| {
        vec![
            line.week.clone(),
            line.to.clone(),
            line.progress.to_owned(),
            line.attempts.to_string(),
            line.at.clone().unwrap_or_default(),
            line.next_try.clone().unwrap_or_default(),
            line.said.clone(),
        ]
    })
}

fn check(book: &Book, settings: &Settings, console: &mut Console<'_>) -> Answer {
    let depots = book.depots()?;
    for unknown in settings.unknown_depots(&depots) {
        writeln!(console.talk, "note: the settings speak of depot {unknown}, which is not in the book")?;
    }
    for depot in &depots {
        if settings.recipients_of(depot).is_empty() {
            writeln!(console.talk, "note: nobody gets the digest of depot {}", depot.depot)?;
        }
    }
    for (to, theirs) in settings.rounds(&depots) {
        let named: Vec<String> = theirs.iter().map(|depot| depot.depot.to_string()).collect();
        writeln!(console.out, "{to}: {}", named.join(", "))?;
    }
    let server = settings.mail.to_server().map_err(|error| Complaint::outside(&error, error.hint()))?;
    let greeting = probe(&server).map_err(|error| Complaint::outside(&error, error.hint()))?;
    let link = if greeting.encrypted { "encrypted" } else { "not encrypted, this machine only" };
    let login = if greeting.logged_in { "login accepted" } else { "no login" };
    writeln!(console.out, "{}:{}: {link}, {login}; nothing was sent", server.host, server.port)?;
    Ok(Status::Done)
}
