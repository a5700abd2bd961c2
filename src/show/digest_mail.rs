//! A digest as everything a message carries: subject, text, HTML, and the files sent along.
//!
//! Owns: putting the page into its template. Refuses: MIME and addresses (`post`).

use super::digest_page::{Page, subject};
use super::{digest_calendar, digest_csv, digest_text};
use crate::digest::Digest;
use chrono::{DateTime, Utc};
use minijinja::syntax::SyntaxConfig;
use minijinja::value::Serde;
use minijinja::{Environment, UndefinedBehavior, context};

/// A digest in all its forms; text and HTML say the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DigestMail {
    /// Numbers first; one line.
    pub subject: String,
    /// Plain text, lines of at most 78 characters ended by `\n`.
    pub text: String,
    /// One HTML page that loads nothing from elsewhere.
    pub html: String,
    /// Every item, for a spreadsheet.
    pub csv: String,
    /// Every due date, for a calendar.
    pub calendar: String,
}

/// A template of ours that does not fit its page: a fault of this program.
#[derive(Debug, thiserror::Error)]
#[error("digest template is faulty: {source}")]
pub struct TemplateError {
    source: minijinja::Error,
}

const TEMPLATE: &str = include_str!("../../schema/templates/digest.html");

/// Lays a digest out; `written_at` is the moment its calendar says it was written.
///
/// # Errors
/// [`TemplateError`] where the template asks for what the page has not.
pub fn digest_mail(digest: &Digest, written_at: DateTime<Utc>) -> Result<DigestMail, TemplateError> {
    let page = Page::of(digest);
    let subject = subject(digest);
    Ok(DigestMail {
        html: html(&page, &subject).map_err(|source| TemplateError { source })?,
        text: digest_text::text(&page),
        csv: digest_csv::csv(digest),
        calendar: digest_calendar::calendar(digest, written_at),
        subject,
    })
}

fn html(page: &Page, subject: &str) -> Result<String, minijinja::Error> {
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment.set_syntax(SyntaxConfig::builder().trim_blocks(true).lstrip_blocks(true).build()?);
    // Escaping is on because the name ends in `.html`.
    environment.add_template("digest.html", TEMPLATE)?;
    environment.get_template("digest.html")?.render(context! { page => Serde(page), subject })
}
