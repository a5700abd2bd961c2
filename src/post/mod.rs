//! Mail: one finished message to one address through one SMTP server.
//!
//! Owns: the MIME form of a message, the link to the server, and naming what went wrong with it. Refuses: knowing what
//! the message says, who is to have it, and when to try again.

mod error;
mod message;
mod secret;
mod server;
mod session;

pub use error::{PostError, Remedy, Reply, Stage, TlsProblem};
pub use message::{Attachment, Draft, Message, MessageError, MessageId};
pub use secret::Secret;
pub use server::{Login, Security, ServerSettings, Timeouts};
pub use session::{Accepted, Greeting, Session, probe, send};
