//! What can go wrong between us and a mail server, each named so that somebody can fix it.
//!
//! Owns: telling causes apart, and whether trying again can help. Refuses: waiting and retrying.

use lettre::transport::smtp::Error as SmtpError;
use rustls::{CertificateError, Error as RustlsError};
use std::error::Error;
use std::fmt;
use std::io;
use std::net::IpAddr;
use std::path::PathBuf;

/// How far a conversation had come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Waiting for the greeting.
    Greeting,
    /// Turning on TLS.
    Tls,
    /// Giving the password.
    Login,
    /// Naming the sender.
    Sender,
    /// Naming the recipient.
    Recipient,
    /// Announcing the message.
    Announcement,
    /// Handing the message over. If the link breaks here, the server may or may not have taken it.
    Message,
}

impl fmt::Display for Stage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Greeting => "waiting for its greeting",
            Self::Tls => "turning on TLS",
            Self::Login => "logging in",
            Self::Sender => "naming the sender",
            Self::Recipient => "naming the recipient",
            Self::Announcement => "announcing the message",
            Self::Message => "handing the message over",
        })
    }
}

/// A server's refusal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reply {
    /// Three-digit code; 4xx is for now, 5xx for good.
    pub code: u16,
    /// What it said, on one line, without control characters, at most 200 characters.
    pub text: String,
}

impl Reply {
    /// True where the server asks to be tried again later.
    #[must_use]
    pub fn is_transient(&self) -> bool {
        self.code / 100 == 4
    }
}

impl fmt::Display for Reply {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.code, self.text)
    }
}

/// What is wrong with a server's TLS.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum TlsProblem {
    /// Nobody we trust signed it.
    #[error("its certificate is not signed by an authority this machine or `ca_file` trusts")]
    UnknownAuthority,
    /// It is somebody else's.
    #[error("its certificate is for another name")]
    WrongName,
    /// Too old, or our clock is wrong.
    #[error("its certificate is out of date, or this machine's clock is wrong")]
    OutOfDate,
    /// Any other fault of the certificate.
    #[error("its certificate is faulty")]
    BadCertificate,
    /// It does not speak TLS there.
    #[error("it does not speak TLS on that port, or not a version this program accepts")]
    NotTls,
}

impl TlsProblem {
    fn hint(self) -> &'static str {
        match self {
            Self::UnknownAuthority => "set `ca_file` to the PEM file of the authority that signed its certificate",
            Self::WrongName => "set `server` to the name its certificate bears",
            Self::OutOfDate => "check this machine's clock, or have the server's certificate renewed",
            Self::BadCertificate => "have the server's certificate replaced",
            Self::NotTls => "check `port` and `security`: 465 is \"implicit\", 587 is \"starttls\"",
        }
    }
}

/// What helps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Remedy {
    /// Trying again later.
    Wait,
    /// Changing the settings or the server; until then every message will fail alike.
    Repair,
    /// Nothing for this message and recipient.
    GiveUp,
}

/// Why a message was not sent.
#[derive(Debug, thiserror::Error)]
pub enum PostError {
    /// Settings ask for a password over an open link.
    #[error("mail server `{host}`: a password is never sent over a plain link")]
    PlainLogin {
        /// The server.
        host: String,
    },
    /// Settings ask for an open link to another machine.
    #[error("mail server `{host}` is at {address}, not on this machine; without TLS only this machine is spoken to")]
    PlainAbroad {
        /// The server.
        host: String,
        /// Where it is.
        address: IpAddr,
    },
    /// The file of a private authority cannot be read.
    #[error("certificate file `{}` cannot be read: {source}", .path.display())]
    CaFile {
        /// The file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// The file of a private authority holds none.
    #[error("certificate file `{}` holds no certificate in PEM form", .path.display())]
    CaFileEmpty {
        /// The file.
        path: PathBuf,
    },
    /// TLS could not be set up on our side.
    #[error("TLS cannot be set up on this machine")]
    NoTls,
    /// An address our own type takes but mail does not.
    #[error("`{address}` is not an address a mail server takes")]
    Address {
        /// The address.
        address: String,
    },
    /// No such name.
    #[error("mail server `{host}` is not found: {source}")]
    CannotResolve {
        /// The server.
        host: String,
        /// Why.
        source: io::Error,
    },
    /// Nobody answers.
    #[error("mail server `{host}` port {port} cannot be reached: {detail}")]
    CannotConnect {
        /// The server.
        host: String,
        /// Its port.
        port: u16,
        /// What the system said.
        detail: String,
    },
    /// TLS failed.
    #[error("mail server `{host}` port {port}: {problem}")]
    Tls {
        /// The server.
        host: String,
        /// Its port.
        port: u16,
        /// What is wrong.
        problem: TlsProblem,
    },
    /// It does not offer TLS; nothing was sent.
    #[error("mail server `{host}` port {port} does not offer STARTTLS; nothing was sent")]
    NoStartTls {
        /// The server.
        host: String,
        /// Its port.
        port: u16,
    },
    /// It takes no password of a form we can give.
    #[error("mail server `{host}` port {port} offers no login by password")]
    NoLogin {
        /// The server.
        host: String,
        /// Its port.
        port: u16,
    },
    /// Wrong user or password.
    #[error("mail server `{host}` refused the login of `{user}`: {reply}")]
    LoginRefused {
        /// The server.
        host: String,
        /// As whom.
        user: String,
        /// What it said.
        reply: Reply,
    },
    /// It does not want us, or not now.
    #[error("mail server `{host}` refused us while {stage}: {reply}")]
    Refused {
        /// The server.
        host: String,
        /// When.
        stage: Stage,
        /// What it said.
        reply: Reply,
    },
    /// It does not take mail from this sender.
    #[error("mail server refused the sender `{from}`: {reply}")]
    SenderRefused {
        /// The sender.
        from: String,
        /// What it said.
        reply: Reply,
    },
    /// It does not take mail for this recipient.
    #[error("mail server refused the recipient `{to}`: {reply}")]
    RecipientRefused {
        /// The recipient.
        to: String,
        /// What it said.
        reply: Reply,
    },
    /// It does not take this message.
    #[error("mail server refused the message to `{to}`: {reply}")]
    MessageRefused {
        /// The recipient.
        to: String,
        /// What it said.
        reply: Reply,
    },
    /// The address has letters beyond ASCII and the server cannot carry them.
    #[error("mail server `{host}` cannot carry the address `{address}`")]
    AddressTooRich {
        /// The server.
        host: String,
        /// The address.
        address: String,
    },
    /// It fell silent.
    #[error("mail server `{host}` did not answer within {seconds} s while {stage}")]
    Timeout {
        /// The server.
        host: String,
        /// When.
        stage: Stage,
        /// How long we waited.
        seconds: u64,
    },
    /// It hung up or talked nonsense.
    #[error("mail server `{host}` broke off while {stage}")]
    BrokeOff {
        /// The server.
        host: String,
        /// When.
        stage: Stage,
    },
}

impl PostError {
    /// What to fix, naming the setting.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self {
            Self::LoginRefused { reply, .. }
            | Self::Refused { reply, .. }
            | Self::SenderRefused { reply, .. }
            | Self::RecipientRefused { reply, .. }
            | Self::MessageRefused { reply, .. }
                if reply.is_transient() =>
            {
                "nothing: the server asks to be tried again later"
            }
            Self::PlainLogin { .. } | Self::PlainAbroad { .. } => "set `security` to \"starttls\" or \"implicit\"",
            Self::CaFile { .. } | Self::CaFileEmpty { .. } => {
                "set `ca_file` to the PEM file of the authority that signed the server's certificate"
            }
            Self::NoTls => "install the system's certificates, or set `ca_file`",
            Self::Address { .. } => "correct the address; it is of the form name@example.org",
            Self::CannotResolve { .. } => "check `server` and the network",
            Self::CannotConnect { .. } => "check `server`, `port` and the network, and that the server runs",
            Self::Tls { problem, .. } => problem.hint(),
            Self::NoStartTls { .. } => "set `security = \"implicit\"` and `port = 465`, or ask whoever runs the server",
            Self::NoLogin { .. } => "take `user` and `password` out, or use the port the server takes logins on",
            Self::LoginRefused { .. } => "check `user` and what `password` points to",
            Self::Refused { .. } | Self::MessageRefused { .. } => "ask whoever runs the server what it objects to",
            Self::SenderRefused { .. } => "check `sender`, and whether the server wants `user` and `password`",
            Self::RecipientRefused { .. } => {
                "correct the address where it stands: the depot's digest_to, or [recipients]"
            }
            Self::AddressTooRich { .. } => "use an address in plain ASCII",
            Self::Timeout { .. } => "try again later; check `port` and `security` if it never answers",
            Self::BrokeOff { .. } => "try again later; check `port` and `security` if it always breaks off",
        }
    }

    /// What helps against it.
    #[must_use]
    pub fn remedy(&self) -> Remedy {
        let by_reply = |reply: &Reply, lasting| if reply.is_transient() { Remedy::Wait } else { lasting };
        match self {
            Self::CannotResolve { .. } | Self::CannotConnect { .. } | Self::Timeout { .. } | Self::BrokeOff { .. } => {
                Remedy::Wait
            }
            Self::LoginRefused { reply, .. } | Self::Refused { reply, .. } | Self::SenderRefused { reply, .. } => {
                by_reply(reply, Remedy::Repair)
            }
            Self::RecipientRefused { reply, .. } | Self::MessageRefused { reply, .. } => {
                by_reply(reply, Remedy::GiveUp)
            }
            Self::AddressTooRich { .. } | Self::Address { .. } => Remedy::GiveUp,
            Self::PlainLogin { .. }
            | Self::PlainAbroad { .. }
            | Self::CaFile { .. }
            | Self::CaFileEmpty { .. }
            | Self::NoTls
            | Self::Tls { .. }
            | Self::NoStartTls { .. }
            | Self::NoLogin { .. } => Remedy::Repair,
        }
    }

    /// True where the server may have taken the message although no answer came; sending again may deliver it twice,
    /// recognisable by its Message-ID.
    #[must_use]
    pub fn may_have_arrived(&self) -> bool {
        matches!(self, Self::Timeout { stage: Stage::Message, .. } | Self::BrokeOff { stage: Stage::Message, .. })
    }
}

/// What the mail library's error comes down to.
pub(super) enum Cause {
    Reply(Reply),
    Tls(TlsProblem),
    Timeout,
    Unreachable(String),
    BrokeOff,
}

impl Cause {
    pub(super) fn of(error: &SmtpError) -> Self {
        if let Some(code) = error.status() {
            let text = error.source().map(ToString::to_string).unwrap_or_default();
            return Self::Reply(Reply { code: code.into(), text: one_line(&text) });
        }
        let mut source = error.source();
        while let Some(inner) = source {
            if let Some(problem) = inner.downcast_ref::<RustlsError>().map(tls_problem) {
                return Self::Tls(problem);
            }
            if let Some(io_error) = inner.downcast_ref::<io::Error>() {
                if let Some(problem) = io_error.get_ref().and_then(|e| e.downcast_ref()).map(tls_problem) {
                    return Self::Tls(problem);
                }
                match io_error.kind() {
                    // A socket's read timeout is `WouldBlock` on Unix and `TimedOut` on Windows.
                    io::ErrorKind::TimedOut | io::ErrorKind::WouldBlock => return Self::Timeout,
                    io::ErrorKind::ConnectionRefused
                    | io::ErrorKind::HostUnreachable
                    | io::ErrorKind::NetworkUnreachable
                    | io::ErrorKind::AddrNotAvailable => return Self::Unreachable(io_error.to_string()),
                    _ => {}
                }
            }
            source = inner.source();
        }
        Self::BrokeOff
    }
}

fn tls_problem(error: &RustlsError) -> TlsProblem {
    let RustlsError::InvalidCertificate(certificate) = error else {
        return TlsProblem::NotTls;
    };
    match certificate {
        // A bad signature is most often that of another authority of the same name, as one that was made anew.
        CertificateError::UnknownIssuer | CertificateError::BadSignature => TlsProblem::UnknownAuthority,
        CertificateError::NotValidForName | CertificateError::NotValidForNameContext { .. } => TlsProblem::WrongName,
        CertificateError::Expired
        | CertificateError::ExpiredContext { .. }
        | CertificateError::NotValidYet
        | CertificateError::NotValidYetContext { .. } => TlsProblem::OutOfDate,
        _ => TlsProblem::BadCertificate,
    }
}

/// A server's words made fit for a terminal and a log: whoever runs it chose them.
pub(super) fn one_line(text: &str) -> String {
    const MOST_CHARS: usize = 200;
    let words: Vec<&str> =
        text.split(|c: char| c.is_whitespace() || c.is_control()).filter(|w| !w.is_empty()).collect();
    words.join(" ").chars().filter(|&c| !crate::model::code::is_deceptive(c)).take(MOST_CHARS).collect()
}
