//! One conversation with a mail server.
//!
//! Owns: the order of commands, and knowing at which of them it failed. Refuses: more than one address a message, and
//! going on without TLS where TLS was asked for.

use super::error::{Cause, PostError, Stage, TlsProblem};
use super::message::Message;
use super::server::{Security, ServerSettings};
use crate::model::Email;
use lettre::Address;
use lettre::transport::smtp::Error as SmtpError;
use lettre::transport::smtp::authentication::{Credentials, Mechanism};
use lettre::transport::smtp::client::SmtpConnection;
use lettre::transport::smtp::commands::{Data, Mail, Rcpt, Rset};
use lettre::transport::smtp::extension::{ClientId, Extension, MailParameter};
use std::time::Duration;

/// How long a server that has already taken everything may take to say goodbye.
const GOODBYE: Duration = Duration::from_secs(3);

/// The login forms we can give; both are safe only inside TLS, and are given only there.
const MECHANISMS: [Mechanism; 2] = [Mechanism::Plain, Mechanism::Login];

/// What a server said when it took a message; with most servers this names its own queue number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Accepted {
    /// Its words, on one line.
    pub reply: String,
}

/// What a server lets us know without sending anything.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Greeting {
    /// True where the link is encrypted.
    pub encrypted: bool,
    /// True where a login was made.
    pub logged_in: bool,
}

/// An open conversation, ready for messages.
pub struct Session<'a> {
    settings: &'a ServerSettings,
    connection: SmtpConnection,
}

impl<'a> Session<'a> {
    /// Connects, turns on TLS and logs in, as the settings say.
    ///
    /// # Errors
    /// [`PostError`] naming which of these failed.
    pub fn open(settings: &'a ServerSettings) -> Result<Self, PostError> {
        let addresses = settings.addresses()?;
        let hello = ClientId::default();
        let tls = if settings.security == Security::Plain { None } else { Some(settings.tls()?) };
        let implicit = tls.as_ref().filter(|_| settings.security == Security::Implicit);
        let at_first = if implicit.is_some() { Stage::Tls } else { Stage::Greeting };
        let connection =
            SmtpConnection::connect(&addresses[..], Some(settings.timeouts.connect), &hello, implicit, None)
                .map_err(|error| explain(settings, at_first, &error))?;
        let mut session = Self { settings, connection };
        session.patience(settings.timeouts.reply, Stage::Greeting)?;
        if let Some(tls) = tls.as_ref().filter(|_| settings.security == Security::StartTls) {
            if !session.connection.can_starttls() {
                session.close();
                return Err(PostError::NoStartTls { host: settings.host.clone(), port: settings.port });
            }
            session.connection.starttls(tls, &hello).map_err(|error| explain(settings, Stage::Tls, &error))?;
        }
        session.log_in()?;
        Ok(session)
    }

    fn log_in(&mut self) -> Result<(), PostError> {
        let settings = self.settings;
        let Some(login) = &settings.login else { return Ok(()) };
        if !self.connection.is_encrypted() {
            return Err(PostError::PlainLogin { host: settings.host.clone() });
        }
        if self.connection.server_info().get_auth_mechanism(&MECHANISMS).is_none() {
            return Err(PostError::NoLogin { host: settings.host.clone(), port: settings.port });
        }
        let credentials = Credentials::new(login.user.clone(), login.password.reveal().to_owned());
        match self.connection.auth(&MECHANISMS, &credentials) {
            Ok(_) => Ok(()),
            Err(error) => Err(match Cause::of(&error) {
                Cause::Reply(reply) => {
                    PostError::LoginRefused { host: settings.host.clone(), user: login.user.clone(), reply }
                }
                _ => explain(settings, Stage::Login, &error),
            }),
        }
    }

    /// Hands one message over for one address. After a refusal the session can be used for the next message.
    ///
    /// # Errors
    /// [`PostError`] naming who was refused, or that the server fell silent or broke off.
    pub fn send(&mut self, message: &Message, to: &Email) -> Result<Accepted, PostError> {
        let sent = self.hand_over(message, to);
        let refused = matches!(
            sent,
            Err(PostError::SenderRefused { .. }
                | PostError::RecipientRefused { .. }
                | PostError::MessageRefused { .. })
        );
        if refused {
            // The refusal is what matters; a server that cannot reset fails the next message by itself.
            let _ = self.connection.command(Rset);
        }
        sent
    }

    fn hand_over(&mut self, message: &Message, to: &Email) -> Result<Accepted, PostError> {
        let settings = self.settings;
        let (sender, recipient) = (self.address(message.from())?, self.address(to)?);
        let mut parameters = Vec::new();
        if !message.from().as_str().is_ascii() || !to.as_str().is_ascii() {
            parameters.push(MailParameter::SmtpUtfEight);
        }
        let to = || to.as_str().to_owned();
        self.connection.command(Mail::new(Some(sender), parameters)).map_err(|error| match Cause::of(&error) {
            Cause::Reply(reply) => PostError::SenderRefused { from: message.from().as_str().to_owned(), reply },
            _ => explain(settings, Stage::Sender, &error),
        })?;
        self.connection.command(Rcpt::new(recipient, Vec::new())).map_err(|error| match Cause::of(&error) {
            Cause::Reply(reply) => PostError::RecipientRefused { to: to(), reply },
            _ => explain(settings, Stage::Recipient, &error),
        })?;
        let refused = |stage: Stage, error: &SmtpError| match Cause::of(error) {
            Cause::Reply(reply) => PostError::MessageRefused { to: to(), reply },
            _ => explain(settings, stage, error),
        };
        self.connection.command(Data).map_err(|error| refused(Stage::Announcement, &error))?;
        let reply = self.connection.message(message.bytes()).map_err(|error| refused(Stage::Message, &error))?;
        let words: Vec<&str> = reply.message().collect();
        Ok(Accepted { reply: super::error::one_line(&words.join(" ")) })
    }

    /// An address as the library's type, refused where only a server of wider alphabet could carry it.
    fn address(&self, email: &Email) -> Result<Address, PostError> {
        let text = email.as_str();
        if !text.is_ascii() && !self.connection.server_info().supports_feature(Extension::SmtpUtfEight) {
            return Err(PostError::AddressTooRich { host: self.settings.host.clone(), address: text.to_owned() });
        }
        text.parse().map_err(|_| PostError::Address { address: text.to_owned() })
    }

    fn patience(&mut self, patience: Duration, stage: Stage) -> Result<(), PostError> {
        let broke_off = |_| PostError::BrokeOff { host: self.settings.host.clone(), stage };
        self.connection.set_timeout(Some(patience)).map_err(broke_off)
    }

    /// What is known of the server by now.
    #[must_use]
    pub fn greeting(&self) -> Greeting {
        Greeting { encrypted: self.connection.is_encrypted(), logged_in: self.settings.login.is_some() }
    }

    /// Says goodbye. Everything sent has been answered by then, so what the server makes of it does not matter.
    pub fn close(mut self) {
        if self.connection.set_timeout(Some(GOODBYE)).is_ok() {
            self.connection.abort();
        }
    }
}

/// Sends one message to one address.
///
/// # Errors
/// [`PostError`] naming what to fix.
pub fn send(settings: &ServerSettings, message: &Message, to: &Email) -> Result<Accepted, PostError> {
    let mut session = Session::open(settings)?;
    let accepted = session.send(message, to);
    session.close();
    accepted
}

/// Goes as far as a login without sending anything.
///
/// # Errors
/// [`PostError`] naming what to fix.
pub fn probe(settings: &ServerSettings) -> Result<Greeting, PostError> {
    let session = Session::open(settings)?;
    let greeting = session.greeting();
    session.close();
    Ok(greeting)
}

fn explain(settings: &ServerSettings, stage: Stage, error: &SmtpError) -> PostError {
    let host = settings.host.clone();
    let port = settings.port;
    match Cause::of(error) {
        Cause::Reply(reply) => PostError::Refused { host, stage, reply },
        Cause::Tls(problem) => PostError::Tls { host, port, problem },
        Cause::Unreachable(detail) => PostError::CannotConnect { host, port, detail },
        Cause::Timeout => {
            let waited = match stage {
                Stage::Greeting => settings.timeouts.connect,
                Stage::Tls if settings.security == Security::Implicit => settings.timeouts.connect,
                _ => settings.timeouts.reply,
            };
            PostError::Timeout { host, stage, seconds: waited.as_secs().max(1) }
        }
        // A server that answers a TLS greeting by hanging up speaks something else.
        Cause::BrokeOff if stage == Stage::Tls => PostError::Tls { host, port, problem: TlsProblem::NotTls },
        Cause::BrokeOff => PostError::BrokeOff { host, stage },
    }
}
