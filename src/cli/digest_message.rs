//! A digest put into the message that carries it.
//!
//! Owns: bringing together what the digest says (`show`), who sends it (settings) and how mail is written (`post`).
//! Refuses: sending.

use super::settings::MailSettings;
use crate::digest::{Outlook, Parcel};
use crate::post::{Attachment, Draft, Message, MessageError, MessageId, Remedy};
use crate::show::digest_mail::DigestMail;
use chrono::{DateTime, Utc};

/// The finished message of a parcel. `fleet` tells one fleet's journal from another's, see [`Parcel::name_facts`].
///
/// # Errors
/// [`MessageError`] where an address cannot be carried by mail.
pub fn digest_message(
    mail: DigestMail,
    parcel: &Parcel,
    fleet: &str,
    settings: &MailSettings,
    written_at: DateTime<Utc>,
) -> Result<Message, MessageError> {
    let attachments = vec![
        Attachment { file: "items.csv", media_type: "text/csv; charset=utf-8; header=present", text: mail.csv },
        Attachment {
            file: "due-dates.ics",
            media_type: "text/calendar; charset=utf-8; method=PUBLISH",
            text: mail.calendar,
        },
    ];
    Draft {
        from: settings.sender.clone(),
        from_name: settings.sender_name.clone(),
        to: parcel.to.clone(),
        reply_to: settings.reply_to.clone(),
        written_at,
        id: MessageId::of(&parcel.name_facts(fleet), &settings.sender),
        list: settings.list.clone(),
        subject: mail.subject,
        text: mail.text,
        html: mail.html,
        attachments,
    }
    .finish()
}

impl From<Remedy> for Outlook {
    fn from(remedy: Remedy) -> Self {
        match remedy {
            Remedy::Wait => Self::Transient,
            Remedy::Repair => Self::Repair,
            Remedy::GiveUp => Self::Permanent,
        }
    }
}
