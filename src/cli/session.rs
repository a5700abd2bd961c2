//! One run of the program: which file, which day, who.
//!
//! Owns: the clock, the environment and where things are kept by default. Refuses: anything of the trade.

use super::complaint::{Answer, Complaint, Status};
use super::console::Console;
use super::progress::Bar;
use crate::book::{Book, BookError, Codes, RecordError, Recorded, Recording};
use crate::journal::{Author, Fact, Instant};
use crate::model::{Day, Depot, DepotCode, Person, PersonCode, Unit, UnitCode};
use chrono::{DateTime, Local, Utc};
use etcetera::BaseStrategy;
use std::path::PathBuf;

/// What every command may ask for.
#[derive(Debug, Clone)]
pub struct Session {
    /// `--db` or `PIGTAIL_DB`.
    pub db: Option<PathBuf>,
    /// `--today` or `PIGTAIL_TODAY`.
    pub today: Option<Day>,
    /// The moment the program started.
    pub now: DateTime<Utc>,
}

impl Session {
    /// The fleet file's place.
    ///
    /// # Errors
    /// [`Complaint`] where neither an option nor a home directory says where.
    pub fn db(&self) -> Result<PathBuf, Complaint> {
        if let Some(db) = &self.db {
            return Ok(db.clone());
        }
        let strategy = etcetera::choose_base_strategy().map_err(|_| {
            Complaint::refused("nothing says where the fleet file is", "give --db FILE or set PIGTAIL_DB")
        })?;
        Ok(strategy.data_dir().join("pigtail").join("fleet.db"))
    }

    /// The fleet file, opened.
    ///
    /// # Errors
    /// [`Complaint`] saying what is wrong with it.
    pub fn book(&self) -> Result<Book, Complaint> {
        Ok(Book::open(&self.db()?)?)
    }

    /// The fleet file, or what of it had been recorded by the end of an earlier day (UTC), which is said.
    ///
    /// # Errors
    /// [`Complaint`] saying what is wrong with it.
    pub fn book_known_on(&self, day: Option<Day>, console: &mut Console<'_>) -> Result<Book, Complaint> {
        let book = self.book()?;
        let Some(day) = day else { return Ok(book) };
        let total = book.head()?.seq;
        let bar = Bar::new(console.watched, "reading the journal again");
        let known = book.known_on(day, &mut |seq| bar.at(seq, total));
        bar.done();
        let known = known?;
        writeln!(
            console.talk,
            "as known at the end of {day} (UTC): entries 1 to {} of {}, under the shipped rules of today",
            known.last,
            book.head()?.seq
        )?;
        if known.out_of_step > 0 {
            writeln!(
                console.talk,
                "note: {} later entries carry that day's date or an earlier one; a clock was wrong (pigtail doctor)",
                known.out_of_step
            )?;
        }
        Ok(known.book)
    }

    /// Today: as given, else the latest local date of any depot, so that nothing is called in date where it already
    /// is not; without depots the date of this machine.
    ///
    /// # Errors
    /// [`Complaint`] where the fleet file cannot be read.
    pub fn today(&self, book: &Book) -> Result<Day, Complaint> {
        if let Some(today) = self.today {
            return Ok(today);
        }
        let dates = book.depots()?.into_iter().map(|depot| self.now.with_timezone(&depot.timezone).date_naive());
        Ok(dates.max().map_or_else(|| self.local_day(), Day::of_clock))
    }

    /// Today where no fleet file is needed: as given, else the date of this machine.
    #[must_use]
    pub fn local_day(&self) -> Day {
        self.today.unwrap_or_else(|| Day::of_clock(self.now.with_timezone(&Local).date_naive()))
    }

    /// Who records: the person named, else `PIGTAIL_AUTHOR`, else the user of this machine.
    #[must_use]
    pub fn author(&self, person: Option<&PersonCode>) -> Author {
        let named = person.map(ToString::to_string);
        let candidates = [named, std::env::var("PIGTAIL_AUTHOR").ok(), std::env::var("USER").ok()];
        candidates.into_iter().flatten().find_map(|name| name.parse().ok()).unwrap_or_else(Author::unnamed)
    }

    /// Records facts of one command.
    ///
    /// # Errors
    /// [`Complaint`] listing what is refused.
    pub fn record(
        &self,
        book: &mut Book,
        person: Option<&PersonCode>,
        facts: impl IntoIterator<Item = Fact>,
    ) -> Result<Recorded, Complaint> {
        let recording = self.recording(book, person)?;
        Ok(book.record(&recording, facts, &mut |_| {})?)
    }

    /// Who records, when, and what day it is.
    ///
    /// # Errors
    /// [`Complaint`] where the fleet file cannot be read.
    pub fn recording(&self, book: &Book, person: Option<&PersonCode>) -> Result<Recording, Complaint> {
        // Not the moment the program started: a visit may be typed in for an hour, and a watch may run for a year.
        Ok(Recording { author: self.author(person), at: Instant::from_utc(Utc::now()), today: self.today(book)? })
    }
}

/// The complaint about a code that is not in the book, with the nearest that is.
///
/// # Errors
/// Always: that is what it is for. The file's own fault where it cannot be searched.
pub fn unknown<T>(book: &Book, codes: Codes, what: &str, code: &str) -> Result<T, Complaint> {
    let nearest = book.nearest_code(codes, code)?;
    let near = nearest.as_ref().map(|near| format!("; nearest is {near}")).unwrap_or_default();
    let hint = match nearest {
        Some(near) => format!("pigtail {what} show {near}"),
        None => format!("pigtail {what} list"),
    };
    Err(Complaint::refused(format!("{what} {code} is not in the book{near}"), hint))
}

/// The unit of a code.
///
/// # Errors
/// [`Complaint`] naming the nearest code where there is no such unit.
pub fn known_unit(book: &Book, unit: &UnitCode) -> Result<Unit, Complaint> {
    match book.unit(unit)? {
        Some(found) => Ok(found),
        None => unknown(book, Codes::Units, "unit", unit.as_str()),
    }
}

/// The depot of a code.
///
/// # Errors
/// [`Complaint`] naming the nearest code where there is no such depot.
pub fn known_depot(book: &Book, depot: &DepotCode) -> Result<Depot, Complaint> {
    match book.depot(depot)? {
        Some(found) => Ok(found),
        None => unknown(book, Codes::Depots, "depot", depot.as_str()),
    }
}

/// The person of a code.
///
/// # Errors
/// [`Complaint`] naming the nearest code where there is no such person.
pub fn known_person(book: &Book, person: &PersonCode) -> Result<Person, Complaint> {
    match book.person(person)? {
        Some(found) => Ok(found),
        None => unknown(book, Codes::People, "person", person.as_str()),
    }
}

/// Says that an answer is yes or no by the exit status.
pub fn yes_if(yes: bool) -> Answer {
    Ok(if yes { Status::Done } else { Status::No })
}

impl From<BookError> for Complaint {
    fn from(error: BookError) -> Self {
        let what = error.to_string();
        match error {
            BookError::Missing { path } => {
                Self::refused(what, format!("pigtail --db {} init, or name another file with --db", path.display()))
            }
            BookError::Exists { .. } => Self::refused(what, "use it as it is, or name another file with --db"),
            BookError::Folder { .. } => Self::outside(what, "name a file, as in --db FOLDER/fleet.db"),
            BookError::Empty { path } => Self::outside(
                what,
                format!(
                    "put a backup in its place: pigtail --db {} restore BACKUP --force; or remove it",
                    path.display()
                ),
            ),
            BookError::InUse { .. } => Self::outside(what, "end the other command (pigtail watch too), then try again"),
            BookError::Disk { .. } => Self::outside(what, "check the disk, then pigtail doctor; nothing was changed"),
            BookError::Unconfirmed { .. } => Self::outside(
                what,
                "check the disk; what was to be recorded is recorded whole or not at all: pigtail journal list --last 5 \
                 says which",
            ),
            BookError::Unsound { path, faults } => Self {
                status: Status::No,
                places: Vec::new(),
                what: std::iter::once(format!("{} is not sound", path.display()))
                    .chain(faults.into_iter().map(|fault| fault.what))
                    .collect(),
                hint: format!("nothing was written; pigtail --db {} doctor says more", path.display()),
            },
            BookError::NotOurs { .. } => Self::outside(what, "name the fleet file with --db FILE"),
            BookError::Newer { .. } => {
                Self::outside(what, "use the newer version of pigtail; the file was not touched")
            }
            BookError::Busy { .. } => Self::outside(what, "wait for the other command to end, then try again"),
            BookError::ReadOnly { .. } => Self::outside(what, "check the permissions of the file and its folder"),
            BookError::Full { .. } => Self::outside(what, "free some space and try again; nothing was changed"),
            BookError::Damaged { .. } => Self::outside(what, "pigtail doctor"),
            BookError::Io { .. } | BookError::Database { .. } => Self::outside(what, "pigtail doctor"),
            BookError::HouseRules { .. } => {
                Self::outside(what, "mend them and adopt them again: pigtail rules adopt FILE")
            }
        }
    }
}

/// Refused facts listed; more would scroll away what matters.
const MOST_LISTED: usize = 50;

impl From<RecordError> for Complaint {
    fn from(error: RecordError) -> Self {
        match error {
            RecordError::Book(error) => error.into(),
            RecordError::Refused(refused) => {
                let hint = refused.first().map(|first| first.refusal.hint()).unwrap_or_default();
                let mut what: Vec<String> =
                    refused.iter().take(MOST_LISTED).map(|one| one.refusal.to_string()).collect();
                if refused.len() > MOST_LISTED {
                    what.push(format!("and {} more", refused.len() - MOST_LISTED));
                }
                Self { status: Status::Refused, places: Vec::new(), what, hint }
            }
        }
    }
}
