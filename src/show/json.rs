//! JSON that is safe to look at.
//!
//! Owns: writing characters that a terminal would obey, or that hide, as `\u` escapes; every reader gives them back as
//! they were. Refuses: changing what is said.

use crate::model::code::is_deceptive;
use serde::Serialize;
use serde_json::ser::{Formatter, Serializer};
use std::io::{self, Write};

struct Escaping;

impl Formatter for Escaping {
    fn write_string_fragment<W: ?Sized + Write>(&mut self, out: &mut W, fragment: &str) -> io::Result<()> {
        if fragment.bytes().all(|byte| matches!(byte, b' '..=b'~')) {
            return out.write_all(fragment.as_bytes());
        }
        let mut rest = fragment;
        while let Some((at, c)) = rest.char_indices().find(|(_, c)| is_deceptive(*c)) {
            out.write_all(&rest.as_bytes()[..at])?;
            write!(out, "\\u{:04x}", u32::from(c))?;
            rest = &rest[at + c.len_utf8()..];
        }
        out.write_all(rest.as_bytes())
    }
}

/// Writes one JSON value on one line, without a line break after it.
///
/// # Errors
/// What `out` reports.
pub fn write_json(out: &mut dyn Write, value: &impl Serialize) -> io::Result<()> {
    value.serialize(&mut Serializer::with_formatter(out, Escaping)).map_err(io::Error::from)
}
