//! Which server, how it is reached, and as whom.
//!
//! Owns: the rules that an unencrypted link stays on this machine and never carries a password. Refuses: speaking.

use super::error::PostError;
use super::secret::Secret;
use crate::named;
use lettre::transport::smtp::client::{Certificate, TlsParameters};
use std::net::{SocketAddr, ToSocketAddrs};
use std::path::PathBuf;
use std::time::Duration;

/// How the link is protected.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Security {
    /// TLS from the first byte, usually port 465.
    Implicit,
    /// TLS after `STARTTLS`, usually port 587; never without.
    StartTls,
    /// No TLS; only to this machine.
    Plain,
}

named!(Security, "a kind of link", { Implicit = "implicit", StartTls = "starttls", Plain = "plain" });

impl Security {
    /// The port servers listen on for it unless told otherwise.
    #[must_use]
    pub fn usual_port(self) -> u16 {
        match self {
            Self::Implicit => 465,
            Self::StartTls => 587,
            Self::Plain => 25,
        }
    }
}

/// As whom.
#[derive(Debug, Clone)]
pub struct Login {
    /// User name.
    pub user: String,
    /// Password.
    pub password: Secret,
}

/// How long the server may take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Timeouts {
    /// To answer each address tried and to greet.
    pub connect: Duration,
    /// To answer each command after that.
    pub reply: Duration,
}

impl Default for Timeouts {
    fn default() -> Self {
        Self { connect: Duration::from_secs(10), reply: Duration::from_secs(60) }
    }
}

/// One server.
#[derive(Debug, Clone)]
pub struct ServerSettings {
    /// Name or address; with TLS, the name its certificate must bear.
    pub host: String,
    /// Port.
    pub port: u16,
    /// How the link is protected.
    pub security: Security,
    /// As whom; none where the server asks for nobody.
    pub login: Option<Login>,
    /// A file of certificates (PEM) of a private authority, trusted beside those of the system.
    pub ca_file: Option<PathBuf>,
    /// How long it may take.
    pub timeouts: Timeouts,
}

/// Most addresses of one name that are tried, so that a dead server with many cannot hold a run up for minutes.
const MOST_ADDRESSES: usize = 4;

impl ServerSettings {
    /// The addresses to try. The link is made to these and the name is not looked up again, so what was found to be on
    /// this machine cannot turn out to be elsewhere.
    ///
    /// # Errors
    /// [`PostError`] where the name is unknown, or where a link without TLS would leave this machine or carry a
    /// password.
    pub(super) fn addresses(&self) -> Result<Vec<SocketAddr>, PostError> {
        if let (Security::Plain, Some(_)) = (self.security, &self.login) {
            return Err(PostError::PlainLogin { host: self.host.clone() });
        }
        let found = (self.host.as_str(), self.port)
            .to_socket_addrs()
            .map_err(|source| PostError::CannotResolve { host: self.host.clone(), source })?;
        let addresses: Vec<SocketAddr> = found.take(MOST_ADDRESSES).collect();
        match addresses.iter().find(|address| !address.ip().to_canonical().is_loopback()) {
            Some(address) if self.security == Security::Plain => {
                Err(PostError::PlainAbroad { host: self.host.clone(), address: address.ip() })
            }
            _ => Ok(addresses),
        }
    }

    /// What the server's certificate is checked against.
    ///
    /// # Errors
    /// [`PostError::CaFile`] where the file of a private authority cannot be read or holds no certificate.
    pub(super) fn tls(&self) -> Result<TlsParameters, PostError> {
        let mut builder = TlsParameters::builder(self.host.clone());
        if let Some(path) = &self.ca_file {
            let unreadable = |source| PostError::CaFile { path: path.clone(), source };
            let pem = std::fs::read(path).map_err(unreadable)?;
            let no_certificate = || PostError::CaFileEmpty { path: path.clone() };
            // An empty list is no error to the parser, and would leave only the system's authorities.
            if !pem.windows(PEM_MARK.len()).any(|window| window == PEM_MARK) {
                return Err(no_certificate());
            }
            builder = builder.add_root_certificate(Certificate::from_pem(&pem).map_err(|_| no_certificate())?);
        }
        builder.build().map_err(|_| match &self.ca_file {
            Some(path) => PostError::CaFileEmpty { path: path.clone() },
            None => PostError::NoTls,
        })
    }
}

const PEM_MARK: &[u8] = b"-----BEGIN CERTIFICATE-----";
