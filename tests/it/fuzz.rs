//! Parsers fed with what nobody meant them to get.
//!
//! Owns: the corpus in `fixtures/fuzz`, replayed and mutated in every run; the long run is
//! `PIGTAIL_FUZZ_MINUTES=60 cargo test --test it fuzz -- --ignored`. Refuses: judging answers; it asks for no panic and no
//! hang. What it ever finds is added to the corpus.

use crate::program::{Desk, path_text};
use pigtail::cli::closeout::{CheckOption, MarkOption, ReplaceOption};
use pigtail::cli::printed_head::PrintedHead;
use pigtail::cli::settings::Settings;
use pigtail::digest::Schedule;
use pigtail::exchange::read_folder;
use pigtail::journal::{Change, Hash};
use pigtail::model::{
    Dated, Day, DayOrWeekday, Elevation, Length, Month, Pressure, Reading, RuleId, Span, Stamp, Temperature, Text,
    TimedReading, UnitCode, Vent, Vin, Volume,
};
use pigtail::rules::{parse_house, parse_pack};
use pigtail::show::binder::Cover;
use pigtail::show::binder_check::check_binder;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Longest that any input may take, also on a busy machine.
const PATIENCE: Duration = Duration::from_secs(5);

struct Chance(u64);

impl Chance {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap() % end.max(1)
    }
}

/// Pieces that mean something somewhere.
const PIECES: &[&str] = &[
    "",
    " ",
    "\n",
    "\r\n",
    "\"",
    "\"\"",
    ",",
    ";",
    "=",
    ":",
    "+",
    "-",
    "@",
    "..",
    "/",
    "\\",
    "\0",
    "\u{feff}",
    "\u{202e}",
    "\u{1b}[",
    "é",
    "🔥",
    "٣",
    "0",
    "-0",
    "1e308",
    "NaN",
    "inf",
    "99999999999999999999",
    "0.1",
    "29",
    "2026-02-29",
    "9999-99",
    "E",
    "UE",
    "inwc",
    "mbar",
    "{",
    "}",
    "[",
    "[[",
    "]]",
    "'''",
    "\"\"\"",
    "null",
    "true",
    "*/1",
    "mon",
    "0x",
    "¼",
    "½",
    "6.1+6.1",
    "A123",
    "(",
    ")",
    "#",
    "%",
];

fn mutated(chance: &mut Chance, corpus: &[Vec<u8>]) -> Vec<u8> {
    let mut bytes = corpus[chance.below(corpus.len())].clone();
    for _ in 0..=chance.below(4) {
        let at = chance.below(bytes.len() + 1);
        match chance.below(8) {
            0 if at < bytes.len() => bytes[at] ^= 1 << chance.below(8),
            1 if !bytes.is_empty() => {
                let end = (at + chance.below(12)).min(bytes.len());
                bytes.drain(at.min(end)..end);
            }
            2 => {
                let end = (at + chance.below(24)).min(bytes.len());
                let piece = bytes[at.min(end)..end].to_vec();
                let times = 1 + chance.below(40);
                bytes.splice(at..at, piece.repeat(times));
            }
            3 => {
                let other = &corpus[chance.below(corpus.len())];
                let from = chance.below(other.len() + 1);
                bytes.truncate(at);
                bytes.extend_from_slice(&other[from..]);
            }
            _ => {
                let piece = PIECES[chance.below(PIECES.len())].as_bytes();
                bytes.splice(at..at, piece.iter().copied());
            }
        }
    }
    bytes.truncate(1 << 16);
    bytes
}

/// One input to one parser: no panic, no hang. A machine that stood still for a while is asked again.
fn feed(name: &str, parser: &dyn Fn(&[u8]), bytes: &[u8]) {
    let shown = || String::from_utf8_lossy(bytes).escape_debug().to_string();
    let timed = || {
        let started = Instant::now();
        let outcome = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| parser(bytes)));
        assert!(outcome.is_ok(), "{name} panicked on {}", shown());
        started.elapsed()
    };
    let slow = |took: &Duration| *took > PATIENCE;
    let again = Some(timed()).filter(slow).map(|_| timed()).filter(slow);
    assert_eq!(again, None, "{name} was slow twice over {}", shown());
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

fn today() -> Day {
    "2026-03-02".parse().unwrap()
}

/// Short texts: every line of the file is an input.
fn words(bytes: &[u8]) {
    let text = text(bytes);
    drop(Stamp::read(&text, today(), None));
    drop(Stamp::read(&text, today(), Month::new(2014, 2)));
    drop((text.parse::<Reading>(), text.parse::<TimedReading>(), text.parse::<Pressure>()));
    drop((text.parse::<Temperature>(), text.parse::<Elevation>(), text.parse::<Length>(), text.parse::<Volume>()));
    drop((
        text.parse::<Vent>(),
        text.parse::<Span>(),
        text.parse::<Day>(),
        text.parse::<Month>(),
        text.parse::<Dated>(),
    ));
    drop((text.parse::<DayOrWeekday>(), text.parse::<RuleId>(), text.parse::<UnitCode>(), text.parse::<Text>()));
    drop((Vin::for_model_year(&text, Some(2019)), Vin::for_model_year(&text, None)));
    drop((text.parse::<MarkOption>(), text.parse::<CheckOption>(), text.parse::<ReplaceOption>()));
    drop((text.parse::<PrintedHead>(), text.parse::<Hash>(), text.parse::<Schedule>()));
}

fn settings(bytes: &[u8]) {
    if let Err(error) = Settings::parse(&text(bytes), Path::new("settings.toml")) {
        assert!(!error.to_string().is_empty());
    }
}

fn rules(bytes: &[u8]) {
    for error in [parse_pack("x", &text(bytes)).err(), parse_house("x", &text(bytes)).err()].into_iter().flatten() {
        assert!(!error.to_string().is_empty());
    }
}

fn changes(bytes: &[u8]) {
    if let Ok(change) = serde_json::from_slice::<Change>(bytes) {
        assert!(!pigtail::show::changes::said(&change).is_empty());
        // What is read and written is read again.
        let written = serde_json::to_string(&change).unwrap();
        assert_eq!(serde_json::from_str::<Change>(&written).unwrap(), change);
    }
}

fn binders(bytes: &[u8]) {
    let cover = r#"{"format":"pigtail-binder-1","about":{"unit":"R-1"},"from":"2026-01-01","to":"2026-03-01",
        "written_at":"","program":"","entries":1,"head":"","files":{}}"#;
    let cover: Cover = serde_json::from_str(cover).unwrap();
    let files = ["journal.jsonl", "chain.txt"].map(|name| (name.to_owned(), bytes.to_vec()));
    assert!(!check_binder(&cover, &BTreeMap::from(files)).faults.is_empty());
    drop(serde_json::from_slice::<Cover>(bytes));
}

/// A folder with one bad file among the good ones of the demo.
struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        for path in files_in("fixtures/demo") {
            std::fs::copy(&path, folder.path().join(path.file_name().unwrap())).unwrap();
        }
        Self(folder)
    }

    fn with(&self, name: &str, bytes: &[u8]) {
        let path = self.0.path().join(name);
        let good = std::fs::read(&path).unwrap();
        std::fs::write(&path, bytes).unwrap();
        if let Err(error) = read_folder(self.0.path(), today(), &|_| false, &mut |_| {}) {
            assert!(!error.to_string().is_empty());
        }
        std::fs::write(&path, good).unwrap();
    }
}

/// A visit file given to the program whole: refused with two lines or more, or recorded; the program is not at fault.
fn visit(desk: &Desk, bytes: &[u8]) {
    let path = desk.path("visit.toml");
    std::fs::write(&path, bytes).unwrap();
    let ran = desk.types(&["closeout", "--from", path_text(&path)]);
    assert!(ran.status < 3, "status {}: {}{}", ran.status, ran.out, ran.err);
    assert!(ran.status != 2 || ran.err.contains("error: "), "{}", ran.err);
}

fn files_in(folder: &str) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.is_file());
    files.sort();
    files
}

fn lines(file: &str) -> Vec<Vec<u8>> {
    let text = std::fs::read(format!("fixtures/fuzz/{file}")).unwrap();
    text.split(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect()
}

fn whole(folders: &[&str], extension: &str) -> Vec<Vec<u8>> {
    let files = folders.iter().flat_map(|folder| files_in(folder));
    files
        .filter(|path| path.extension().is_some_and(|e| e == extension))
        .map(|path| std::fs::read(path).unwrap())
        .collect()
}

/// A parser by name, its corpus, and how many mutations of it are tried.
type Campaign<'a> = (&'a str, &'a dyn Fn(&[u8]), Vec<Vec<u8>>, usize);

/// Runs every parser on its corpus, and then on so many mutations of it.
fn campaign(seed: u64, rounds: usize) {
    let mut chance = Chance(seed);
    let packs = whole(&["schema/rules", "fixtures/broken-rules"], "toml");
    let parsers: [Campaign<'_>; 5] = [
        ("words", &words, lines("words.txt"), rounds * 20),
        ("settings", &settings, whole(&["fixtures/fuzz/settings"], "toml"), rounds * 2),
        ("rules", &rules, packs, rounds),
        ("changes", &changes, lines("changes.jsonl"), rounds * 4),
        ("binders", &binders, lines("binders.txt"), rounds * 4),
    ];
    for (name, parser, corpus, times) in &parsers {
        corpus.iter().for_each(|bytes| feed(name, parser, bytes));
        for _ in 0..*times {
            feed(name, parser, &mutated(&mut chance, corpus));
        }
    }
    let desk = Desk::with_demo_fleet();
    let visits = whole(&["fixtures/fuzz/visits"], "toml");
    visits.iter().for_each(|bytes| feed("visit", &|bytes| visit(&desk, bytes), bytes));
    for _ in 0..rounds {
        feed("visit", &|bytes| visit(&desk, bytes), &mutated(&mut chance, &visits));
    }
    let folder = Folder::new();
    let files = files_in("fixtures/demo");
    let corpus = whole(&["fixtures/demo", "fixtures/fuzz/csv"], "csv");
    for round in 0..rounds {
        let name = files[round % files.len()].file_name().unwrap().to_str().unwrap();
        let own = [std::fs::read(&files[round % files.len()]).unwrap()];
        // Mostly the file's own text, else a strange one.
        let bytes = if chance.below(4) > 0 { mutated(&mut chance, &own) } else { mutated(&mut chance, &corpus) };
        feed(name, &|bytes| folder.with(name, bytes), &bytes);
    }
}

#[test]
fn the_corpus_and_some_of_its_mutations() {
    campaign(11, 60);
}

#[test]
#[ignore = "as long as PIGTAIL_FUZZ_MINUTES says: cargo test --test it fuzz -- --ignored"]
fn for_as_long_as_wanted() {
    let minutes: u64 = std::env::var("PIGTAIL_FUZZ_MINUTES").ok().and_then(|text| text.parse().ok()).unwrap_or(60);
    let (started, mut seed) = (Instant::now(), u64::from(std::process::id()));
    while started.elapsed() < Duration::from_secs(60 * minutes) {
        campaign(seed, 200);
        seed = seed.wrapping_add(1);
    }
}
