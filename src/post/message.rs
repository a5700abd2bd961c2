//! The MIME form of one message.
//!
//! Owns: headers, parts and encodings (RFC 5322, 2045, 2047, 2919, 3834). Refuses: knowing what the message says.
//! Every value that reaches a header goes through [`single_line`] first and the mail library's encoder after, so no
//! name can begin a header of its own.

use crate::model::Email;
use chrono::{DateTime, Utc};
use lettre::message::header::{ContentDisposition, ContentType, Header, HeaderName, HeaderValue};
use lettre::message::{Mailbox, MultiPart, SinglePart};
use sha2::{Digest, Sha256};
use std::fmt;

/// Why a message cannot be written.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MessageError {
    /// An address our own type takes but mail does not.
    #[error("`{address}` is not an address mail can carry")]
    Address {
        /// The address.
        address: String,
    },
    /// An attachment's media type is none.
    #[error("attachment `{file}`: `{media_type}` is not a media type")]
    MediaType {
        /// Its file name.
        file: String,
        /// What was given.
        media_type: String,
    },
    /// The mail library refused it.
    #[error("message to `{to}` cannot be written: {detail}")]
    Unwritable {
        /// To whom.
        to: String,
        /// What it said.
        detail: String,
    },
}

/// What tells one message from all others, the same each time the same message is made.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct MessageId(String);

impl MessageId {
    /// The id of what these facts name together, in the sender's domain: the first 128 bits of a SHA-256 over them,
    /// each preceded by its length so that no two lists of facts give one text.
    #[must_use]
    pub fn of(facts: &[impl AsRef<str>], from: &Email) -> Self {
        let mut hasher = Sha256::new();
        for fact in facts.iter().map(AsRef::as_ref) {
            hasher.update(format!("{}:", fact.len()));
            hasher.update(fact);
        }
        let digest = hasher.finalize();
        let hex: String = digest.iter().take(16).map(|byte| format!("{byte:02x}")).collect();
        Self(format!("<{hex}@{}>", domain(from)))
    }

    /// The id as its header shows it, with its angle brackets.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }

    fn stem(&self) -> &str {
        self.0.trim_start_matches('<').split('@').next().unwrap_or_default()
    }
}

impl fmt::Display for MessageId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// A file sent along.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attachment {
    /// Its name, ASCII.
    pub file: &'static str,
    /// Its media type with parameters.
    pub media_type: &'static str,
    /// What it holds.
    pub text: String,
}

/// A message before it is put into MIME form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draft {
    /// Who sends it.
    pub from: Email,
    /// What the sender is called.
    pub from_name: String,
    /// Who is to have it.
    pub to: Email,
    /// Where answers go, if elsewhere.
    pub reply_to: Option<Email>,
    /// When it was written.
    pub written_at: DateTime<Utc>,
    /// Its id.
    pub id: MessageId,
    /// First label of its list's name (RFC 2919): letters, digits and hyphens.
    pub list: String,
    /// Its subject.
    pub subject: String,
    /// Its text, lines of at most 78 characters.
    pub text: String,
    /// The same as HTML.
    pub html: String,
    /// Files sent along.
    pub attachments: Vec<Attachment>,
}

/// A finished message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Message {
    from: Email,
    id: MessageId,
    bytes: Vec<u8>,
}

impl Message {
    /// Who sends it.
    #[must_use]
    pub fn from(&self) -> &Email {
        &self.from
    }

    /// Its id.
    #[must_use]
    pub fn id(&self) -> &MessageId {
        &self.id
    }

    /// The whole message, lines ended by CR LF.
    #[must_use]
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }
}

impl Draft {
    /// Puts the message into MIME form: mixed{alternative{plain, HTML}, attachments}.
    ///
    /// # Errors
    /// [`MessageError`] where an address or media type is none.
    pub fn finish(self) -> Result<Message, MessageError> {
        let unwritable = |detail: String| MessageError::Unwritable { to: self.to.as_str().to_owned(), detail };
        let alternative = MultiPart::alternative()
            .boundary(format!("pigtail-a-{}", self.id.stem()))
            .singlepart(SinglePart::plain(self.text))
            .singlepart(SinglePart::html(self.html));
        let mut mixed = MultiPart::mixed().boundary(format!("pigtail-m-{}", self.id.stem())).multipart(alternative);
        for attachment in self.attachments {
            let content_type = ContentType::parse(attachment.media_type).map_err(|_| MessageError::MediaType {
                file: attachment.file.to_owned(),
                media_type: attachment.media_type.to_owned(),
            })?;
            let part = SinglePart::builder()
                .header(content_type)
                .header(ContentDisposition::attachment(attachment.file))
                .body(attachment.text);
            mixed = mixed.singlepart(part);
        }
        let list = format!("<{}.{}>", single_line(&self.list), domain(&self.from));
        let mut builder = lettre::Message::builder()
            .date(self.written_at.into())
            .from(mailbox(&self.from_name, &self.from)?)
            .to(mailbox("", &self.to)?)
            .subject(single_line(&self.subject))
            .message_id(Some(self.id.as_str().to_owned()))
            .header(ListId(list))
            .header(AutoSubmitted);
        if let Some(reply_to) = &self.reply_to {
            builder = builder.reply_to(mailbox("", reply_to)?);
        }
        let message = builder.multipart(mixed).map_err(|error| unwritable(error.to_string()))?;
        Ok(Message { from: self.from, id: self.id, bytes: message.formatted() })
    }
}

fn domain(email: &Email) -> &str {
    email.as_str().rsplit_once('@').map_or("localhost", |(_, domain)| domain)
}

fn mailbox(name: &str, email: &Email) -> Result<Mailbox, MessageError> {
    let address = email.as_str().parse().map_err(|_| MessageError::Address { address: email.as_str().to_owned() })?;
    let name = single_line(name);
    Ok(Mailbox::new(if name.is_empty() { None } else { Some(name) }, address))
}

/// One line, without control characters and without marks that turn or hide text.
fn single_line(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    words.join(" ").chars().filter(|&c| !crate::model::code::is_deceptive(c)).collect()
}

#[derive(Clone)]
struct ListId(String);

impl Header for ListId {
    fn name() -> HeaderName {
        HeaderName::new_from_ascii_str("List-Id")
    }
    fn parse(text: &str) -> Result<Self, Box<dyn std::error::Error + Send + Sync>> {
        Ok(Self(text.to_owned()))
    }
    fn display(&self) -> HeaderValue {
        HeaderValue::new(Self::name(), self.0.clone())
    }
}

#[derive(Clone)]
struct AutoSubmitted;

impl Header for AutoSubmitted {
    fn name() -> HeaderName {
        HeaderName::new_from_ascii_str("Auto-Submitted")
    }
    fn parse(_: &str) -> Result<Self, Box<dyn std::error::Error + Send + Sync>> {
        Ok(Self)
    }
    fn display(&self) -> HeaderValue {
        HeaderValue::new(Self::name(), "auto-generated".to_owned())
    }
}
