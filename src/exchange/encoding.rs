//! A file's bytes into text, or what kind of file it is instead.
//!
//! Owns: encodings, foreign file kinds, limits of size. Refuses: guessing an encoding and reading on; letters taken
//! wrongly would be kept for good.

use std::fs;
use std::io::{self, Read};
use std::path::Path;

/// Largest file read, in bytes: three times what 800 000 parts need.
pub const MAX_FILE_BYTES: u64 = 256 * 1024 * 1024;

/// Why a file is not read at all.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FileError {
    /// Of a name no fleet folder has.
    #[error("is not a file of a fleet folder; nearest is `{near}`")]
    UnknownNear {
        /// The most similar known name.
        near: &'static str,
    },
    /// Of a name no fleet folder has, and like none of them.
    #[error("is not a file of a fleet folder; move it elsewhere (README files, other .md and .txt files may stay)")]
    Unknown,
    /// A spreadsheet's own format, by its name.
    #[error(
        "is a workbook; save each sheet as `CSV UTF-8 (comma delimited)` under the name of its file, as `parts.csv`"
    )]
    WorkbookName,
    /// A folder inside the fleet folder.
    #[error("is a folder; a fleet folder holds none")]
    Folder,
    /// A pipe, socket or device.
    #[error("is neither a file nor a folder")]
    NoFile,
    /// The same known name twice, in capitals and small letters.
    #[error("is the same file as `{other}` but for capital letters; keep one")]
    NameTwice {
        /// The other name.
        other: String,
    },
    /// Units or parts are missing.
    #[error("is missing; a fleet folder has at least units.csv and parts.csv")]
    Missing,
    /// A single file whose header is like none.
    #[error(
        "is named like no file of a fleet folder, and its first line is the header of none; name it as `parts.csv`"
    )]
    NoKnownHeader,
    /// Over [`MAX_FILE_BYTES`].
    #[error("has {bytes} bytes; at most {MAX_FILE_BYTES} are read, so split the fleet by depot")]
    TooLarge {
        /// Its size.
        bytes: u64,
    },
    /// No bytes, or blank cells only.
    #[error("is empty; its first line must name the columns")]
    Empty,
    /// Two bytes a character.
    #[error("is UTF-16, as `Unicode Text` is saved; save it as `CSV UTF-8 (comma delimited)`")]
    Utf16,
    /// Zip magic.
    #[error(
        "is a workbook or zip archive under the name of a CSV file; save the sheet as `CSV UTF-8 (comma delimited)`"
    )]
    Zip,
    /// Compound file magic, as of old workbooks.
    #[error("is an old workbook under the name of a CSV file; save the sheet as `CSV UTF-8 (comma delimited)`")]
    OldWorkbook,
    /// Bytes that are no UTF-8.
    #[error(
        "is not UTF-8: byte 0x{byte:02X}{} stands here; save it as `CSV UTF-8 (comma delimited)`", guess(*.letter)
    )]
    NotUtf8 {
        /// The first byte that is no UTF-8.
        byte: u8,
        /// What it would be in Windows-1252 or Latin-1, if a letter or sign there.
        letter: Option<char>,
    },
    /// A zero byte.
    #[error("holds a NUL byte; the file is damaged or no text")]
    Nul,
    /// Another separator.
    #[error("is separated by {by}; save it separated by commas")]
    Separator {
        /// Its name in the plural.
        by: &'static str,
    },
    /// A line for spreadsheets only.
    #[error("begins with a `sep=` line, which only spreadsheets read; delete that line and separate by commas")]
    SepLine,
}

fn guess(letter: Option<char>) -> String {
    letter.map_or_else(String::new, |letter| format!(" (`{letter}` if it is Windows-1252 or Latin-1)"))
}

/// A file that is not text, with the line where that shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct NotText {
    pub(super) error: FileError,
    pub(super) line: u32,
}

impl From<FileError> for NotText {
    fn from(error: FileError) -> Self {
        Self { error, line: 1 }
    }
}

/// Reads a whole file, refusing one over the limit before and while reading.
pub(super) fn load(path: &Path) -> io::Result<Result<Vec<u8>, FileError>> {
    let file = fs::File::open(path)?;
    let bytes = file.metadata()?.len();
    if bytes > MAX_FILE_BYTES {
        return Ok(Err(FileError::TooLarge { bytes }));
    }
    let mut content = Vec::with_capacity(usize::try_from(bytes).unwrap_or(0) + 1);
    file.take(MAX_FILE_BYTES + 1).read_to_end(&mut content)?;
    let read = content.len() as u64;
    Ok(if read > MAX_FILE_BYTES { Err(FileError::TooLarge { bytes: read }) } else { Ok(content) })
}

/// The text of a file's bytes, without byte order mark.
///
/// # Errors
/// [`NotText`] saying what the file is instead.
pub(super) fn text_of(bytes: &[u8]) -> Result<&str, NotText> {
    if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) || looks_utf16(bytes) {
        return Err(FileError::Utf16.into());
    }
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") {
        return Err(FileError::Zip.into());
    }
    if bytes.starts_with(&[0xD0, 0xCF, 0x11, 0xE0]) {
        return Err(FileError::OldWorkbook.into());
    }
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    if let Some(at) = bytes.iter().position(|byte| *byte == 0) {
        return Err(NotText { error: FileError::Nul, line: line_at(bytes, at) });
    }
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let at = error.valid_up_to();
        let byte = bytes.get(at).copied().unwrap_or_default();
        NotText { error: FileError::NotUtf8 { byte, letter: windows_1252(byte) }, line: line_at(bytes, at) }
    })?;
    if text.trim().is_empty() {
        return Err(FileError::Empty.into());
    }
    if text.trim_start().get(..4).is_some_and(|start| start.eq_ignore_ascii_case("sep=")) {
        return Err(FileError::SepLine.into());
    }
    Ok(text)
}

/// True for UTF-16 without a byte order mark: a header in it has a zero in every other byte.
fn looks_utf16(bytes: &[u8]) -> bool {
    let head = &bytes[..bytes.len().min(64)];
    let zeros = |offset: usize| head.iter().skip(offset).step_by(2).filter(|byte| **byte == 0).count();
    let pairs = head.len() / 2;
    pairs >= 4 && (zeros(0) * 4 >= pairs * 3) != (zeros(1) * 4 >= pairs * 3)
}

/// The line, from 1, that byte number `at` stands on.
fn line_at(bytes: &[u8], at: usize) -> u32 {
    let mut line = 1;
    let mut before = 0;
    for &byte in bytes.iter().take(at) {
        if byte == b'\r' || (byte == b'\n' && before != b'\r') {
            line += 1;
        }
        before = byte;
    }
    line
}

/// What a byte means in Windows-1252; Latin-1 is the same from 0xA0 on.
fn windows_1252(byte: u8) -> Option<char> {
    const LOW: [char; 32] = [
        '€', ' ', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', ' ', 'Ž', ' ', ' ', '‘', '’', '“', '”', '•',
        '–', '—', '˜', '™', 'š', '›', 'œ', ' ', 'ž', 'Ÿ',
    ];
    match byte {
        0x80..=0x9F => LOW.get(usize::from(byte - 0x80)).copied().filter(|letter| *letter != ' '),
        0xA1..=0xFF if byte != 0xAD => Some(char::from(byte)),
        _ => None,
    }
}
