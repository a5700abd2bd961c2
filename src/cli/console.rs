//! Where a command's words go: data to one stream, talk to the other.
//!
//! Owns: output formats, the width of the terminal and colour. Refuses: laying out what is shown, which `show` does.

use super::complaint::{Answer, Complaint, Status};
use crate::due::State;
use crate::model::Named;
use crate::named;
use crate::show::json::write_json;
use crate::show::legible::guarded;
use crate::show::table::{Column, table};
use anstyle::{AnsiColor, Style};
use serde::Serialize;
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
    /// The form asked for; none where nobody asked.
    pub format: Option<Format>,
    /// Columns of the terminal; none where nobody looks at one.
    pub width: Option<usize>,
    /// True where `talk` is a terminal that somebody watches.
    pub watched: bool,
    /// True where `out` may be coloured.
    pub colour: bool,
}

impl Console<'_> {
    /// The form asked for, if this command knows it; the first of `known` where nobody asked.
    ///
    /// # Errors
    /// [`Complaint`] naming the forms it knows.
    pub fn format_among(&self, known: &[Format]) -> Result<Format, Complaint> {
        match self.format {
            None => Ok(known.first().copied().unwrap_or_default()),
            Some(format) if known.contains(&format) => Ok(format),
            Some(format) => {
                let names: Vec<&str> = known.iter().map(|known| known.name()).collect();
                Err(Complaint::refused(
                    format!("this command cannot answer as {format}"),
                    format!("choose one of: --format {}", names.join(", --format ")),
                ))
            }
        }
    }

    /// Writes one JSON document on one line.
    ///
    /// # Errors
    /// [`Complaint`] where it cannot be written.
    pub fn json(&mut self, document: &impl Serialize) -> Answer {
        write_json(self.out, document)?;
        writeln!(self.out)?;
        Ok(Status::Done)
    }

    /// Writes laid-out text, the words for states in colour where colour is wanted.
    ///
    /// # Errors
    /// [`Complaint`] where it cannot be written.
    pub fn table(&mut self, text: &str) -> Result<(), Complaint> {
        for line in text.lines() {
            match line.split_once(char::is_whitespace).and_then(|(word, _)| state_style(word)).filter(|_| self.colour) {
                Some(style) => writeln!(self.out, "{style}{line}{style:#}")?,
                None => writeln!(self.out, "{line}")?,
            }
        }
        Ok(())
    }

    /// Answers with a list of records: as a table, as JSON under `name`, or as CSV.
    ///
    /// # Errors
    /// [`Complaint`] where it cannot be written.
    pub fn list<T: Serialize>(
        &mut self,
        name: &'static str,
        columns: &[Column],
        records: &[T],
        row: impl Fn(&T) -> Vec<String>,
    ) -> Answer {
        match self.format_among(&[Format::Table, Format::Json, Format::Csv])? {
            Format::Json => return self.json(&std::collections::BTreeMap::from([(name, records)])),
            Format::Csv => {
                let mut writer = csv::Writer::from_writer(&mut *self.out);
                let headings = columns.iter().map(|column| column.heading.to_lowercase().replace(' ', "_"));
                writer.write_record(headings).map_err(std::io::Error::from)?;
                for record in records {
                    writer.write_record(row(record).into_iter().map(cell)).map_err(std::io::Error::from)?;
                }
                writer.flush()?;
            }
            _ if records.is_empty() => writeln!(self.talk, "no {name}")?,
            _ => {
                let rows: Vec<Vec<String>> = records.iter().map(row).collect();
                let text = table(columns, &rows, self.width);
                self.table(&text)?;
            }
        }
        Ok(Status::Done)
    }
}

/// A cell that no spreadsheet runs; a number below zero is one all the same.
fn cell(text: String) -> String {
    if text.parse::<f64>().is_ok() { text } else { guarded(&text) }
}

/// Colour of a line that opens with a state. The word itself carries the meaning.
fn state_style(word: &str) -> Option<Style> {
    let colour = match State::from_name(word).ok()? {
        State::Undated => AnsiColor::Magenta,
        State::Overdue => AnsiColor::Red,
        State::Due => AnsiColor::Yellow,
        State::InDate => return None,
    };
    Some(Style::new().fg_color(Some(colour.into())))
}
