//! A mail server in this process, as rude as wanted.
//!
//! Owns: just enough SMTP with TLS under a private authority made as it runs, and keeping what it took. Refuses: being
//! a mail server; `.ci/smtp` has a real one.

use rcgen::{BasicConstraints, CertificateParams, IsCa, Issuer, KeyPair};
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use rustls::{ServerConfig, ServerConnection, StreamOwned};
use std::io::{self, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use std::time::Duration;

/// How the link is protected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tls {
    None,
    Offered,
    FromTheStart,
}

/// What it does at a verb instead of being polite. `greeting` and `.` (the end of a message) count as verbs.
#[derive(Debug, Clone, Copy)]
pub enum Deed {
    Say(&'static str),
    KeepSilent,
    HangUp,
}

/// How it behaves.
#[derive(Debug, Clone, Copy)]
pub struct Manners {
    pub tls: Tls,
    pub login: bool,
    pub certificate: Bears,
    pub deeds: &'static [(&'static str, Deed)],
}

/// What its certificate says.
#[derive(Debug, Clone, Copy)]
pub enum Bears {
    ItsName,
    AnotherName,
    AnOldDate,
}

pub const POLITE: Manners = Manners { tls: Tls::Offered, login: true, certificate: Bears::ItsName, deeds: &[] };
pub const USER: &str = "desk";
pub const PASSWORD: &str = "corr\u{e9}ct horse";

/// A message it took.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    pub encrypted: bool,
    pub from: String,
    pub to: Vec<String>,
    pub text: String,
}

pub struct Sink {
    pub port: u16,
    /// The authority that signed its certificate, as a PEM file.
    pub ca_file: PathBuf,
    taken: Arc<Mutex<Vec<Taken>>>,
    _folder: tempfile::TempDir,
}

impl Sink {
    /// Starts it on a free port of this machine. Its thread ends with the process.
    pub fn start(manners: Manners) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let ca_file = folder.path().join("ca.pem");
        let config = Arc::new(tls_config(manners.certificate, &ca_file));
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let taken = Arc::new(Mutex::new(Vec::new()));
        let kept = Arc::clone(&taken);
        std::thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                // A client that goes away in the middle is part of the tests.
                let _ = Talk { manners, config: Arc::clone(&config), kept: Arc::clone(&kept) }.hold(stream);
            }
        });
        Self { port, ca_file, taken, _folder: folder }
    }

    pub fn taken(&self) -> Vec<Taken> {
        self.taken.lock().unwrap().clone()
    }
}

fn tls_config(bears: Bears, ca_file: &PathBuf) -> ServerConfig {
    let mut authority = CertificateParams::new(Vec::new()).unwrap();
    authority.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
    authority.distinguished_name.push(rcgen::DnType::CommonName, "a private authority");
    let authority_key = KeyPair::generate().unwrap();
    std::fs::write(ca_file, authority.self_signed(&authority_key).unwrap().pem()).unwrap();
    let names = match bears {
        Bears::AnotherName => vec!["mail.elsewhere.example".to_owned()],
        Bears::ItsName | Bears::AnOldDate => vec!["localhost".to_owned(), "127.0.0.1".to_owned()],
    };
    let mut params = CertificateParams::new(names).unwrap();
    if matches!(bears, Bears::AnOldDate) {
        params.not_before = rcgen::date_time_ymd(2020, 1, 1);
        params.not_after = rcgen::date_time_ymd(2021, 1, 1);
    }
    let key = KeyPair::generate().unwrap();
    let certificate = params.signed_by(&key, &Issuer::from_params(&authority, &authority_key)).unwrap();
    let provider = Arc::new(rustls::crypto::ring::default_provider());
    ServerConfig::builder_with_provider(provider)
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_no_client_auth()
        .with_single_cert(
            vec![CertificateDer::from(certificate.der().to_vec())],
            PrivateKeyDer::try_from(key.serialize_der()).unwrap(),
        )
        .unwrap()
}

trait Link: Read + Write {}
impl<T: Read + Write> Link for T {}

struct Talk {
    manners: Manners,
    config: Arc<ServerConfig>,
    kept: Arc<Mutex<Vec<Taken>>>,
}

impl Talk {
    fn hold(&self, stream: TcpStream) -> io::Result<()> {
        stream.set_read_timeout(Some(Duration::from_secs(20)))?;
        let mut encrypted = self.manners.tls == Tls::FromTheStart;
        let mut raw = Some(stream.try_clone()?);
        let mut link: Box<dyn Link> = if encrypted { Box::new(self.secure(stream)?) } else { Box::new(stream) };
        if self.misbehaves("greeting", &mut link)? {
            return Ok(());
        }
        say(&mut link, "220 sink ready")?;
        let (mut from, mut to, mut logged_in) = (String::new(), Vec::new(), false);
        loop {
            let line = read_line(&mut link)?;
            let verb = line.split([' ', ':']).next().unwrap_or_default().to_uppercase();
            if self.misbehaves(&verb, &mut link)? {
                return Ok(());
            }
            if self.manners.deeds.iter().any(|(at, deed)| *at == verb && matches!(deed, Deed::Say(_))) {
                continue;
            }
            match verb.as_str() {
                "EHLO" => {
                    let offers_tls = self.manners.tls == Tls::Offered && !encrypted;
                    let offers_login = self.manners.login && encrypted;
                    let tls = if offers_tls { "250-STARTTLS\r\n" } else { "" };
                    let login = if offers_login { "250-AUTH PLAIN LOGIN\r\n" } else { "" };
                    say(&mut link, &format!("250-sink\r\n{tls}{login}250 8BITMIME"))?;
                }
                "STARTTLS" => {
                    say(&mut link, "220 go on")?;
                    let Some(stream) = raw.take() else { return Ok(()) };
                    link = Box::new(self.secure(stream)?);
                    encrypted = true;
                }
                "AUTH" => {
                    let wanted = base64(format!("\0{USER}\0{PASSWORD}").as_bytes());
                    logged_in = encrypted && line.ends_with(&wanted);
                    say(&mut link, if logged_in { "235 welcome" } else { "535 5.7.8 wrong user or password" })?;
                }
                "MAIL" if self.manners.login && !logged_in => say(&mut link, "530 5.7.0 log in first")?,
                "MAIL" => {
                    from = line;
                    say(&mut link, "250 ok")?;
                }
                "RCPT" => {
                    to.push(line);
                    say(&mut link, "250 ok")?;
                }
                "DATA" => {
                    say(&mut link, "354 go on")?;
                    let text = read_message(&mut link)?;
                    if self.misbehaves(".", &mut link)? {
                        return Ok(());
                    }
                    if !self.manners.deeds.iter().any(|(at, _)| *at == ".") {
                        let taken = Taken { encrypted, from: from.clone(), to: std::mem::take(&mut to), text };
                        self.kept.lock().map_err(|_| io::ErrorKind::Other)?.push(taken);
                        say(&mut link, "250 queued as 7")?;
                    }
                }
                "RSET" => {
                    to.clear();
                    say(&mut link, "250 ok")?;
                }
                "QUIT" => return say(&mut link, "221 bye"),
                _ => say(&mut link, "500 what?")?,
            }
        }
    }

    /// True where the talk is over.
    fn misbehaves(&self, verb: &str, link: &mut Box<dyn Link>) -> io::Result<bool> {
        match self.manners.deeds.iter().find(|(at, _)| *at == verb) {
            Some((_, Deed::HangUp)) => Ok(true),
            Some((_, Deed::KeepSilent)) => {
                let mut rest = [0; 64];
                while link.read(&mut rest)? > 0 {}
                Ok(true)
            }
            Some((_, Deed::Say(reply))) => {
                say(link, reply)?;
                Ok(verb == "greeting")
            }
            None => Ok(false),
        }
    }

    fn secure(&self, stream: TcpStream) -> io::Result<StreamOwned<ServerConnection, TcpStream>> {
        let connection = ServerConnection::new(Arc::clone(&self.config)).map_err(io::Error::other)?;
        Ok(StreamOwned::new(connection, stream))
    }
}

fn say(link: &mut Box<dyn Link>, reply: &str) -> io::Result<()> {
    link.write_all(format!("{reply}\r\n").as_bytes())?;
    link.flush()
}

fn read_line(link: &mut Box<dyn Link>) -> io::Result<String> {
    let mut line = Vec::new();
    let mut byte = [0];
    while line.last() != Some(&b'\n') {
        if link.read(&mut byte)? == 0 {
            return Err(io::ErrorKind::UnexpectedEof.into());
        }
        line.extend(byte);
    }
    Ok(String::from_utf8_lossy(&line).trim_end().to_owned())
}

fn read_message(link: &mut Box<dyn Link>) -> io::Result<String> {
    let mut text = String::new();
    loop {
        match read_line(link)?.as_str() {
            "." => return Ok(text),
            line => {
                text.push_str(line.strip_prefix('.').unwrap_or(line));
                text.push('\n');
            }
        }
    }
}

fn base64(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::new();
    for chunk in bytes.chunks(3) {
        let group = [chunk[0], *chunk.get(1).unwrap_or(&0), *chunk.get(2).unwrap_or(&0)];
        let bits = u32::from_be_bytes([0, group[0], group[1], group[2]]);
        for place in 0..4 {
            let digit = char::from(DIGITS[(bits >> (18 - 6 * place)) as usize & 63]);
            out.push(if place <= chunk.len() { digit } else { '=' });
        }
    }
    out
}
