//! Where a command's words go: data to one stream, talk to the other.
//!
//! Owns: output formats and the width of the terminal. Refuses: laying out what is shown, which `show` does.

use super::complaint::Complaint;
use crate::named;
use std::io::Write;

/// A form in which an answer can be given. Not every command knows every form.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Format {
    /// For reading on a terminal.
    #[default]
    Table,
    /// One JSON document.
    Json,
    /// RFC 4180 with a header.
    Csv,
    /// A message as plain text.
    Text,
    /// A page for a browser or a printer.
    Html,
    /// A whole message as it would be sent.
    Eml,
    /// RFC 5545 calendar.
    Ics,
}

named!(Format, "a format", {
    Table = "table", Json = "json", Csv = "csv", Text = "text", Html = "html", Eml = "eml", Ics = "ics",
});

/// What a command writes to.
pub struct Console<'a> {
    /// Data.
    pub out: &'a mut dyn Write,
    /// Talk: notes, progress, warnings.
    pub talk: &'a mut dyn Write,
    /// The form asked for.
    pub format: Format,
    /// Columns of the terminal; none where nobody looks at one.
    pub width: Option<usize>,
    /// True where `talk` is a terminal that somebody watches.
    pub watched: bool,
}

impl Console<'_> {
    /// The form asked for, if this command knows it.
    ///
    /// # Errors
    /// [`Complaint`] naming the forms it knows.
    pub fn format_among(&self, known: &[Format]) -> Result<Format, Complaint> {
        if known.contains(&self.format) {
            return Ok(self.format);
        }
        let names: Vec<String> = known.iter().map(ToString::to_string).collect();
        Err(Complaint::refused(
            format!("this command cannot answer as {}", self.format),
            format!("choose one of: --format {}", names.join(", --format ")),
        ))
    }
}
