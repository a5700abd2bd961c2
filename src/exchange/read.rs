//! A fleet folder into facts.
//!
//! Owns: which files of a folder are read, in which order, and that everything wrong is found before anything is
//! given back. Refuses: half an import.

use super::encoding::{FileError, load, text_of};
use super::happenings;
use super::header::recognise;
use super::locate::{Import, Located, Note};
use super::nouns;
use super::problem::{FolderProblems, Found, Problem};
use super::row::Sheet;
use super::stamps;
use super::table;
use super::table::FolderFile;
use crate::journal::{Change, Fact};
use crate::model::{Day, Depot, DepotCode, Named, nearest};
use std::collections::{BTreeMap, HashSet};
use std::io;
use std::path::{Path, PathBuf};

/// The order files are read in: what a row may refer to comes before it.
const READING_ORDER: [FolderFile; 14] = [
    FolderFile::Depots,
    FolderFile::Units,
    FolderFile::Appliances,
    FolderFile::People,
    FolderFile::Gauges,
    FolderFile::Parts,
    FolderFile::Marks,
    FolderFile::GaugeChecks,
    FolderFile::Calendar,
    FolderFile::Bookings,
    FolderFile::Events,
    FolderFile::Checks,
    FolderFile::GasTests,
    FolderFile::Holds,
];

/// How far reading has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// The file being read.
    pub file: FolderFile,
    /// Bytes read so far, of all files.
    pub done: u64,
    /// Bytes of all files.
    pub total: u64,
}

/// Why a fleet folder was not read.
#[derive(Debug, thiserror::Error)]
pub enum FolderError {
    /// Nothing stands at the path given.
    #[error("`{}` does not exist", .path.display())]
    Absent {
        /// The path given.
        path: PathBuf,
    },
    /// Something in it is wrong.
    #[error(transparent)]
    Refused(#[from] FolderProblems),
    /// The disk would not give it.
    #[error("cannot read `{}`: {source}", .path.display())]
    Unreadable {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

/// A file to be read.
struct Source {
    path: PathBuf,
    name: String,
    bytes: u64,
}

/// What is to be read, and what is wrong before anything is.
#[derive(Default)]
struct Listing {
    sources: BTreeMap<FolderFile, Source>,
    /// Faults of files that are not read, by name.
    others: Found,
    single_name: Option<String>,
}

/// Reads a fleet folder, or a single file of one, taken by its name or else by its header.
///
/// `today` bounds marks and resolves two-digit years; `known_depots` says which depots the book has already; `progress`
/// is told after every few thousand rows and at the end of each file. Files whose name begins with a point or ends in
/// `.md` or `.txt` are passed over.
///
/// # Errors
/// [`FolderError::Refused`] with everything that is wrong; the others where path or disk fail.
pub fn read_folder(
    path: &Path,
    today: Day,
    known_depots: &dyn Fn(&DepotCode) -> bool,
    progress: &mut dyn FnMut(Progress),
) -> Result<Import, FolderError> {
    let metadata = match std::fs::metadata(path) {
        Ok(metadata) => metadata,
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            return Err(FolderError::Absent { path: path.to_owned() });
        }
        Err(error) => return Err(unreadable(path)(error)),
    };
    let Listing { sources, others, single_name } =
        if metadata.is_dir() { list(path)? } else { single(path, &metadata)? };
    let total = sources.values().map(|source| source.bytes).sum();
    let mut reading = Reading {
        import: Import { single_name, ..Import::default() },
        found: BTreeMap::new(),
        today,
        described: HashSet::new(),
    };
    let mut before = 0;
    for file in READING_ORDER {
        let Some(source) = sources.get(&file) else { continue };
        let mut report = |done: u64| progress(Progress { file, done: before + done.min(source.bytes), total });
        reading.file(file, source, known_depots, &mut report)?;
        before += source.bytes;
    }
    let Reading { import, found, .. } = reading;
    match FolderProblems::join(std::iter::once(others).chain(found.into_values()).collect()) {
        Some(problems) => Err(problems.into()),
        None => Ok(import),
    }
}

/// Says of which path the system's error is.
fn unreadable(path: &Path) -> impl FnOnce(io::Error) -> FolderError {
    let path = path.to_owned();
    |source| FolderError::Unreadable { path, source }
}

/// The files of a folder, sorted into known and others.
fn list(folder: &Path) -> Result<Listing, FolderError> {
    let mut listing = Listing::default();
    let mut names: Vec<String> = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable(folder))? {
        names.push(entry.map_err(unreadable(folder))?.file_name().to_string_lossy().into_owned());
    }
    names.sort_unstable();
    for name in names.into_iter().filter(|name| !passed_over(name)) {
        let path = folder.join(&name);
        let metadata = std::fs::metadata(&path).map_err(unreadable(&path))?;
        let fault = match FolderFile::from_name(&name) {
            _ if metadata.is_dir() => FileError::Folder,
            _ if !metadata.is_file() => FileError::NoFile,
            Ok(file) => match listing.sources.get(&file) {
                Some(other) => FileError::NameTwice { other: other.name.clone() },
                None => {
                    listing.sources.insert(file, Source { path, name, bytes: metadata.len() });
                    continue;
                }
            },
            Err(_) => unknown_name(&name),
        };
        listing.others.add(|| Problem::file(&name, 1, fault));
    }
    for file in FolderFile::ALL.iter().filter(|file| file.must_be_there() && !listing.sources.contains_key(file)) {
        listing.others.add(|| Problem::file(file.name(), 1, FileError::Missing));
    }
    Ok(listing)
}

/// A single file as a folder of its own.
fn single(path: &Path, metadata: &std::fs::Metadata) -> Result<Listing, FolderError> {
    let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
    let mut listing = Listing::default();
    if !metadata.is_file() {
        listing.others.add(|| Problem::file(&name, 1, FileError::NoFile));
        return Ok(listing);
    }
    let file = match FolderFile::from_name(&name) {
        Ok(file) => file,
        Err(_) => match load(path).map_err(unreadable(path))?.map(|bytes| text_of(&bytes).map(recognise)) {
            Ok(Ok(Some(file))) => file,
            Ok(Ok(None)) => {
                listing.others.add(|| Problem::file(&name, 1, FileError::NoKnownHeader));
                return Ok(listing);
            }
            Ok(Err(not_text)) => {
                listing.others.add(|| Problem::file(&name, not_text.line, not_text.error));
                return Ok(listing);
            }
            Err(error) => {
                listing.others.add(|| Problem::file(&name, 1, error));
                return Ok(listing);
            }
        },
    };
    listing.single_name = (name != file.name()).then(|| name.clone());
    listing.sources.insert(file, Source { path: path.to_owned(), name, bytes: metadata.len() });
    Ok(listing)
}

/// True for files that are no data: hidden ones, and texts for people.
pub(super) fn passed_over(name: &str) -> bool {
    let lower = name.to_ascii_lowercase();
    name.starts_with('.') || lower.ends_with(".md") || lower.ends_with(".txt")
}

fn unknown_name(name: &str) -> FileError {
    let lower = name.to_ascii_lowercase();
    if [".xlsx", ".xls", ".xlsm", ".xlsb", ".ods", ".numbers"].iter().any(|ending| lower.ends_with(ending)) {
        return FileError::WorkbookName;
    }
    let stem = |name: &'static str| name.strip_suffix(".csv").unwrap_or(name);
    let asked = lower.strip_suffix(".csv").unwrap_or(&lower);
    nearest(asked, FolderFile::ALL.iter().map(|file| stem(file.name())))
        .and_then(|near| FolderFile::ALL.iter().map(|file| file.name()).find(|known| stem(known) == near))
        .map_or(FileError::Unknown, |near| FileError::UnknownNear { near })
}

/// What has been read so far.
struct Reading {
    import: Import,
    found: BTreeMap<FolderFile, Found>,
    today: Day,
    /// Depots with a row of their own.
    described: HashSet<DepotCode>,
}

impl Reading {
    fn file(
        &mut self,
        file: FolderFile,
        source: &Source,
        known_depots: &dyn Fn(&DepotCode) -> bool,
        report: &mut dyn FnMut(u64),
    ) -> Result<(), FolderError> {
        let mut found = Found::default();
        let loaded = load(&source.path).map_err(unreadable(&source.path))?;
        let bytes = match loaded {
            Ok(bytes) => bytes,
            Err(error) => {
                found.add(|| Problem::file(&source.name, 1, error));
                self.found.insert(file, found);
                return Ok(());
            }
        };
        let start = self.import.facts.len();
        let sheet = Sheet::open(file, &source.name, &bytes, &mut found, report);
        let rows = self.rows(file, sheet);
        report(source.bytes);
        self.found.insert(file, found);
        if rows == 0 {
            self.import.notes.push(Note::NoRows { file });
        }
        self.import.rows.push((file, rows));
        let facts = &mut self.import.facts;
        if facts.get(start).is_some_and(|located| happenings::day_of(&located.fact).is_some()) {
            facts[start..].sort_by_key(|located| happenings::day_of(&located.fact));
        }
        match file {
            FolderFile::Depots => self.described.extend(facts[start..].iter().filter_map(depot_described).cloned()),
            FolderFile::Units => self.add_depots(start, known_depots),
            _ => {}
        }
        Ok(())
    }

    fn rows(&mut self, file: FolderFile, sheet: Sheet<'_>) -> usize {
        let Import { facts, notes, .. } = &mut self.import;
        match file {
            FolderFile::Depots => sheet.rows(&table::DEPOTS, facts, |row, at| nouns::depot(row, at, notes)),
            FolderFile::Units => sheet.rows(&table::UNITS, facts, |row, at| nouns::unit(row, at)),
            FolderFile::Appliances => sheet.rows(&table::APPLIANCES, facts, |row, at| nouns::appliance(row, at)),
            FolderFile::Parts => sheet.rows(&table::PARTS, facts, |row, at| nouns::part(row, at)),
            FolderFile::Marks => {
                let mut marks = Vec::new();
                let made = stamps::make_months(facts);
                let today = self.today;
                let rows = sheet.rows(&table::MARKS, &mut marks, |row, at| stamps::mark(row, at, today, &made));
                facts.append(&mut marks);
                rows
            }
            FolderFile::People => sheet.rows(&table::PEOPLE, facts, |row, at| nouns::person(row, at)),
            FolderFile::Gauges => sheet.rows(&table::GAUGES, facts, |row, at| nouns::gauge(row, at)),
            FolderFile::GaugeChecks => {
                sheet.rows(&table::GAUGE_CHECKS, facts, |row, at| happenings::gauge_check(row, at))
            }
            FolderFile::GasTests => sheet.rows(&table::GAS_TESTS, facts, |row, at| happenings::gas_test(row, at)),
            FolderFile::Checks => sheet.rows(&table::CHECKS, facts, |row, at| happenings::check(row, at)),
            FolderFile::Bookings => sheet.rows(&table::BOOKINGS, facts, |row, at| happenings::booking(row, at)),
            FolderFile::Holds => sheet.rows(&table::HOLDS, facts, |row, at| happenings::hold(row, at)),
            FolderFile::Events => sheet.rows(&table::EVENTS, facts, |row, at| happenings::event(row, at)),
            FolderFile::Calendar => sheet.rows(&table::CALENDAR, facts, |row, at| happenings::calendar_line(row, at)),
        }
    }

    /// Puts depots that units name and nobody describes before the units, which begin at `start`.
    fn add_depots(&mut self, start: usize, known_depots: &dyn Fn(&DepotCode) -> bool) {
        let mut added: Vec<Located<Fact>> = Vec::new();
        let mut settled: HashSet<&DepotCode> = self.described.iter().collect();
        for located in &self.import.facts[start..] {
            let Fact::Change(Change::Unit(unit)) = &located.fact else { continue };
            if settled.contains(&unit.depot) {
                continue;
            }
            settled.insert(&unit.depot);
            if known_depots(&unit.depot) {
                continue;
            }
            let depot = unit.depot.clone();
            let described = self.described.iter().filter(|known| known.as_str() != depot.as_str());
            let near = nearest(depot.as_str(), described.map(DepotCode::as_str)).and_then(|near| near.parse().ok());
            self.import.notes.push(Note::DepotAdded { depot: depot.clone(), line: located.line, near });
            let fact = Fact::Change(Change::Depot(Depot::named_only(depot)));
            added.push(Located { fact, file: FolderFile::Units, line: located.line });
        }
        self.import.facts.splice(start..start, added);
    }
}

fn depot_described(located: &Located<Fact>) -> Option<&DepotCode> {
    match &located.fact {
        Fact::Change(Change::Depot(depot)) => Some(&depot.depot),
        _ => None,
    }
}
