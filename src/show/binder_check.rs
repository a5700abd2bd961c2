//! A binder checked from its files alone.
//!
//! Owns: that every file is what the cover says, every entry is sealed in the chain, and the records are what the
//! entries say. Refuses: IO, and judging whether anything was left out, which no checker can.

use super::binder::{BINDER_FORMAT, CHAIN_FILE, Cover, SLICE_FILE, SliceLine, digest, record_files};
use crate::journal::{Entry, Hash, Instant, Read};
use std::collections::BTreeMap;

/// What checking a binder found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Checked {
    /// Hash of each entry of the whole journal, in order.
    pub hashes: Vec<Hash>,
    /// Entries in the slice.
    pub shown: u64,
    /// The first entry that does not fit, where it is about one.
    pub first_bad: Option<u64>,
    /// What does not fit, first things first.
    pub faults: Vec<String>,
}

impl Checked {
    fn fault(&mut self, seq: Option<u64>, what: String) {
        self.first_bad = self.first_bad.or(seq);
        self.faults.push(what);
    }
}

/// Checks the files of a binder, by name, against its cover.
#[must_use]
pub fn check_binder(cover: &Cover, files: &BTreeMap<String, Vec<u8>>) -> Checked {
    let mut checked = Checked { hashes: Vec::new(), shown: 0, first_bad: None, faults: Vec::new() };
    if cover.format != BINDER_FORMAT {
        let what = format!("the binder is of form {}; this version reads {BINDER_FORMAT}", cover.format.escape_debug());
        checked.fault(None, what);
        return checked;
    }
    for (name, expected) in &cover.files {
        match files.get(name) {
            None => checked.fault(None, format!("{} is missing", name.escape_debug())),
            Some(bytes) if digest(bytes) != *expected => {
                checked.fault(None, format!("{} is not the file that was written", name.escape_debug()));
            }
            Some(_) => {}
        }
    }
    for name in files.keys().filter(|name| !cover.files.contains_key(*name)) {
        checked.fault(None, format!("{} does not belong to the binder", name.escape_debug()));
    }
    let text = |name: &str| files.get(name).map(|bytes| String::from_utf8_lossy(bytes)).unwrap_or_default();
    let contents = chain(cover, &text(CHAIN_FILE), &mut checked);
    let slice = entries(&text(SLICE_FILE), &contents, &mut checked);
    checked.shown = slice.len() as u64;
    if !checked.faults.is_empty() {
        return checked;
    }
    match record_files(&slice, cover.from, cover.to) {
        Ok(made) => {
            for (name, text) in made {
                if files.get(name).is_none_or(|bytes| bytes != text.as_bytes()) {
                    checked.fault(None, format!("{name} is not what the journal entries say"));
                }
            }
        }
        Err(error) => checked.fault(None, format!("the records cannot be made again: {error}")),
    }
    checked
}

/// Recomputes the hash of every entry of the whole journal from the content hashes.
fn chain(cover: &Cover, text: &str, checked: &mut Checked) -> Vec<Hash> {
    let mut contents = Vec::new();
    let mut last = Hash::ZERO;
    for line in text.lines() {
        let Ok(content) = line.parse::<Hash>() else {
            let seq = contents.len() as u64 + 1;
            checked.fault(Some(seq), format!("{CHAIN_FILE}:{seq}: not a hash"));
            break;
        };
        last = content.chained_to(&last);
        contents.push(content);
        checked.hashes.push(last);
    }
    if contents.len() as u64 != cover.entries {
        checked.fault(None, format!("{CHAIN_FILE} has {} entries, the cover says {}", contents.len(), cover.entries));
    } else if last.to_string() != cover.head {
        checked.fault(None, "the chain does not end in the head on the cover".to_owned());
    }
    contents
}

fn entries(text: &str, contents: &[Hash], checked: &mut Checked) -> Vec<Read> {
    let mut slice: Vec<Read> = Vec::new();
    for (at, line) in text.lines().enumerate() {
        match read(line) {
            Err(what) => checked.fault(None, format!("{SLICE_FILE}:{}: {what}", at + 1)),
            Ok(read) => {
                let seq = read.entry.seq;
                let place = usize::try_from(seq).ok().and_then(|seq| seq.checked_sub(1));
                let hash_at = |place: usize| checked.hashes.get(place).copied();
                let prev = match place {
                    Some(0) => Some(Hash::ZERO),
                    place => place.and_then(|place| hash_at(place - 1)),
                };
                let sealed = place.and_then(|place| contents.get(place)) == Some(&read.entry.content_hash())
                    && place.and_then(hash_at) == Some(read.entry.hash)
                    && prev == Some(read.entry.prev_hash)
                    && slice.last().is_none_or(|before| before.entry.seq < seq);
                if !sealed {
                    checked.fault(Some(seq), format!("entry {seq} is not the one sealed in the chain"));
                }
                slice.push(read);
            }
        }
    }
    slice
}

fn read(line: &str) -> Result<Read, String> {
    let line: SliceLine = serde_json::from_str(line).map_err(|error| error.to_string())?;
    let change = serde_json::from_str(&line.body).map_err(|error| error.to_string())?;
    let hash = |text: &str| text.parse::<Hash>().map_err(|error| error.to_string());
    let entry = Entry {
        seq: line.seq,
        recorded_at: Instant::from_stored(line.recorded_at.clone()),
        author: line.author.clone(),
        body: line.body.clone(),
        prev_hash: hash(&line.prev_hash)?,
        hash: hash(&line.hash)?,
    };
    Ok(Read { entry, change })
}
