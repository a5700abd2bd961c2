//! What may reach a terminal: text, line breaks, and our own colours.
//!
//! Owns: the last guard before any stream, whatever a command wrote: a name in the data cannot move the cursor, set a
//! title, answer a query or turn a line around. Refuses: layout; text that is harmless passes as it is.

use crate::model::code::is_deceptive;
use std::io::{self, Write};

/// A stream behind the guard. What a terminal would obey is written as U+FFFD.
pub struct Screen<'a> {
    inner: &'a mut dyn Write,
    /// True where colours may pass.
    colour: bool,
    /// The beginning of a character or colour whose end is still to come.
    held: Vec<u8>,
    started: bool,
}

/// Longer ones are no colours of ours.
const LONGEST_COLOUR_BYTES: usize = 20;

enum Next {
    /// So many bytes may pass.
    Pass(usize),
    /// So many bytes may not.
    Bar(usize),
    /// Nobody knows yet.
    Wait,
}

impl<'a> Screen<'a> {
    /// Guards a stream.
    pub fn new(inner: &'a mut dyn Write, colour: bool) -> Self {
        Self { inner, colour, held: Vec::new(), started: false }
    }

    /// Lets colours pass from now on, or stops them.
    pub fn let_colour(&mut self, colour: bool) {
        self.colour = colour;
    }

    fn next(&self, bytes: &[u8]) -> Next {
        match bytes {
            [b' '..=b'~' | b'\n' | b'\t', ..] => {
                Next::Pass(bytes.iter().take_while(|byte| matches!(byte, b' '..=b'~' | b'\n' | b'\t')).count())
            }
            [b'\r'] => Next::Wait,
            [b'\r', b'\n', ..] => Next::Pass(2),
            [0x1b, ..] if self.colour => colour(bytes),
            [0..=0x7f, ..] => Next::Bar(1),
            _ => self.character(bytes),
        }
    }

    fn character(&self, bytes: &[u8]) -> Next {
        let piece = &bytes[..bytes.len().min(4)];
        let valid = match std::str::from_utf8(piece) {
            Ok(text) => text,
            Err(error) if error.valid_up_to() > 0 => {
                std::str::from_utf8(&piece[..error.valid_up_to()]).unwrap_or_default()
            }
            Err(error) => return error.error_len().map_or(Next::Wait, Next::Bar),
        };
        match valid.chars().next() {
            // The joiners that emoji and some scripts need.
            Some(c @ ('\u{200c}' | '\u{200d}')) => Next::Pass(c.len_utf8()),
            // The mark without which spreadsheets take UTF-8 for something else.
            Some(c @ '\u{feff}') if !self.started => Next::Pass(c.len_utf8()),
            Some(c) if is_deceptive(c) => Next::Bar(c.len_utf8()),
            Some(c) => Next::Pass(c.len_utf8()),
            None => Next::Bar(1),
        }
    }

    fn through(&mut self, bytes: &[u8]) -> io::Result<()> {
        let mut rest = bytes;
        while !rest.is_empty() {
            match self.next(rest) {
                Next::Pass(count) => {
                    self.inner.write_all(&rest[..count])?;
                    rest = &rest[count..];
                }
                Next::Bar(count) => {
                    self.inner.write_all("\u{fffd}".as_bytes())?;
                    rest = &rest[count..];
                }
                Next::Wait => {
                    self.held = rest.to_vec();
                    return Ok(());
                }
            }
            self.started = true;
        }
        Ok(())
    }
}

/// A sequence that sets a colour and nothing else: plain, bold, and bright or dull on the ground there is. One that
/// hides is none.
fn colour(bytes: &[u8]) -> Next {
    if bytes.get(1).is_some_and(|byte| *byte != b'[') {
        return Next::Bar(1);
    }
    let parameters = bytes.iter().skip(2).take_while(|byte| matches!(byte, b'0'..=b'9' | b';')).count();
    match bytes.get(2 + parameters) {
        Some(b'm') => {
            let mut each = bytes[2..2 + parameters].split(|byte| *byte == b';');
            let ours = each.all(|one| matches!(one, b"" | b"0" | b"1" | [b'3' | b'9', b'1'..=b'7']));
            if ours { Next::Pass(3 + parameters) } else { Next::Bar(1) }
        }
        None if bytes.len() < LONGEST_COLOUR_BYTES => Next::Wait,
        _ => Next::Bar(1),
    }
}

impl Write for Screen<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.held.is_empty() {
            self.through(bytes)?;
        } else {
            let mut all = std::mem::take(&mut self.held);
            all.extend_from_slice(bytes);
            self.through(&all)?;
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        if !std::mem::take(&mut self.held).is_empty() {
            self.inner.write_all("\u{fffd}".as_bytes())?;
        }
        self.inner.flush()
    }
}

impl Drop for Screen<'_> {
    /// Whatever is still held was never finished.
    fn drop(&mut self) {
        if !self.held.is_empty() {
            let _ = self.inner.write_all("\u{fffd}".as_bytes());
        }
    }
}
