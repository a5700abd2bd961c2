//! Text into records and fields, by RFC 4180.
//!
//! Owns: commas, quotes, line ends (CRLF, LF or CR alone) and line numbers. Refuses: repairing. The `csv` crate reads
//! on over a quote that never closes or has text behind it, and counts no line at a CR alone; here either is a flaw
//! with its line, since a cell taken wrongly may carry a date. A test holds the two equal on sound text.

use std::borrow::Cow;

/// Most fields kept of one record; the widest spreadsheets have 16 384 columns.
const MAX_FIELDS: usize = 20_000;

/// One field: a range of the text, without the quotes around it.
#[derive(Debug, Clone, Copy)]
struct Field {
    start: usize,
    end: usize,
    /// True where quotes inside are written twice.
    doubled: bool,
}

/// What is wrong with a record's quotes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Flaw {
    /// A quote opened on `line`, in field number `field`, and the file ended.
    Unclosed { line: u32, field: usize },
    /// Something other than spaces stands between a closing quote on `line` and the next comma.
    AfterQuote { line: u32, field: usize },
}

/// One record, reused from row to row.
#[derive(Debug, Default)]
pub(super) struct Record {
    fields: Vec<Field>,
    /// How many fields there were, kept or not.
    pub(super) count: usize,
    /// The line it begins on, from 1.
    pub(super) line: u32,
    /// The first thing wrong with its quotes.
    pub(super) flaw: Option<Flaw>,
}

impl Record {
    fn push(&mut self, start: usize, end: usize, doubled: bool) {
        self.count += 1;
        if self.fields.len() < MAX_FIELDS {
            self.fields.push(Field { start, end, doubled });
        }
    }

    /// Field number `position` as it was meant: quotes off, spaces at both ends off. Blank where there is none.
    pub(super) fn field<'a>(&self, text: &'a str, position: usize) -> Cow<'a, str> {
        let Some(field) = self.fields.get(position) else { return Cow::Borrowed("") };
        let raw = text.get(field.start..field.end).unwrap_or_default();
        if field.doubled {
            Cow::Owned(raw.replace("\"\"", "\"").trim().to_owned())
        } else {
            Cow::Borrowed(trimmed(raw))
        }
    }

    /// True where every field is blank.
    pub(super) fn is_blank(&self, text: &str) -> bool {
        self.flaw.is_none()
            && self
                .fields
                .iter()
                .all(|field| text.get(field.start..field.end).is_none_or(|raw| trimmed(raw).is_empty()))
    }
}

/// Goes through a text record by record.
#[derive(Debug)]
pub(super) struct Scanner<'a> {
    text: &'a str,
    at: usize,
    line: u32,
}

impl<'a> Scanner<'a> {
    pub(super) fn new(text: &'a str) -> Self {
        Self { text, at: 0, line: 1 }
    }

    /// Bytes gone through so far.
    pub(super) fn position(&self) -> usize {
        self.at
    }

    /// Reads the next record into `record`; false at the end of the text.
    pub(super) fn read(&mut self, record: &mut Record) -> bool {
        record.fields.clear();
        record.count = 0;
        record.flaw = None;
        record.line = self.line;
        let bytes = self.text.as_bytes();
        if self.at >= bytes.len() {
            return false;
        }
        loop {
            let mut start = self.at;
            while bytes.get(start) == Some(&b' ') {
                start += 1;
            }
            if bytes.get(start) == Some(&b'"') {
                self.quoted(start + 1, record);
            } else {
                let end = stop(bytes, self.at);
                record.push(self.at, end, false);
                self.at = end;
            }
            match bytes.get(self.at) {
                Some(b',') => self.at += 1,
                Some(b'\r') => {
                    self.at += if bytes.get(self.at + 1) == Some(&b'\n') { 2 } else { 1 };
                    self.line += 1;
                    return true;
                }
                Some(_) => {
                    self.at += 1;
                    self.line += 1;
                    return true;
                }
                None => return true,
            }
        }
    }

    /// Reads a quoted field that begins at `start`, behind its opening quote.
    fn quoted(&mut self, start: usize, record: &mut Record) {
        let bytes = self.text.as_bytes();
        let opened_on = self.line;
        let mut doubled = false;
        let mut at = start;
        loop {
            match bytes.get(at) {
                None => {
                    record.flaw.get_or_insert(Flaw::Unclosed { line: opened_on, field: record.count });
                    record.push(start, at, doubled);
                    self.at = at;
                    return;
                }
                Some(b'"') if bytes.get(at + 1) == Some(&b'"') => {
                    doubled = true;
                    at += 2;
                }
                Some(b'"') => break,
                Some(b'\n') => {
                    self.line += 1;
                    at += 1;
                }
                Some(b'\r') => {
                    at += if bytes.get(at + 1) == Some(&b'\n') { 2 } else { 1 };
                    self.line += 1;
                }
                Some(_) => at += 1,
            }
        }
        let end = stop(bytes, at + 1);
        if bytes[at + 1..end].iter().any(|byte| *byte != b' ') {
            record.flaw.get_or_insert(Flaw::AfterQuote { line: self.line, field: record.count });
        }
        record.push(start, at, doubled);
        self.at = end;
    }
}

/// The text without spaces at its ends, looked for only where there can be some: most cells have none, and there are
/// millions of them.
fn trimmed(raw: &str) -> &str {
    let plain = |byte: Option<&u8>| byte.is_none_or(u8::is_ascii_graphic);
    if plain(raw.as_bytes().first()) && plain(raw.as_bytes().last()) { raw } else { raw.trim() }
}

/// Where the field that is at `from` ends: at a comma, a line end or the text's end.
fn stop(bytes: &[u8], from: usize) -> usize {
    bytes[from..]
        .iter()
        .position(|byte| matches!(byte, b',' | b'\n' | b'\r'))
        .map_or(bytes.len(), |offset| from + offset)
}
