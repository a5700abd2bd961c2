//! `pigtail binder UNIT|DEPOT`: a folder that a third party can check without us.
//!
//! Owns: the options, and reading and writing the folder. Refuses: a folder with anything in it, and file names taken
//! from data.

use super::complaint::{Answer, Complaint, Status};
use super::console::{Console, Format};
use super::printed_head::PrintedHead;
use super::session::{Session, unknown, yes_if};
use crate::book::{Book, Codes};
use crate::journal::{Change, Hash, Read, Subject, slice};
use crate::model::{Day, DepotCode, UnitCode};
use crate::show::binder::{
    BINDER_FILE, BINDER_FORMAT, CHAIN_FILE, Cover, SLICE_FILE, chain_text, digest, read_me, record_files, slice_text,
};
use crate::show::binder_check::check_binder;
use serde::Serialize;
use std::collections::BTreeMap;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

/// Write what is on record about a unit or depot, with the proof, as a folder to hand over.
#[derive(Debug, clap::Args)]
pub struct BinderArgs {
    /// Code of a unit or depot
    #[arg(value_name = "UNIT|DEPOT")]
    code: String,
    /// Folder to write; it must be new or empty
    #[arg(value_name = "DIR", required_unless_present = "dir_option")]
    dir: Option<PathBuf>,
    /// The same
    #[arg(long = "dir", id = "dir_option", value_name = "DIR", conflicts_with = "dir")]
    dir_option: Option<PathBuf>,
    /// First day that records are wanted for
    #[arg(long, value_name = "DATE")]
    from: Day,
    /// Last day
    #[arg(long, value_name = "DATE")]
    to: Day,
    /// Where a unit and a depot have the same code: the depot
    #[arg(long)]
    depot: bool,
}

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where the code stands for nothing, the folder holds something or the disk refuses.
pub fn run(args: &BinderArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    let Some(dir) = args.dir.as_deref().or(args.dir_option.as_deref()) else {
        return Err(Complaint::refused("no folder is named", "pigtail binder UNIT --from DATE --to DATE DIR"));
    };
    if args.to < args.from {
        let what = format!("the last day {} is before the first, {}", args.to, args.from);
        return Err(Complaint::refused(what, "pigtail binder UNIT --from DATE --to DATE DIR"));
    }
    let book = session.book()?;
    let about = subject(&book, args)?;
    refuse_taken(dir)?;
    let (mut contents, mut journal) = (Vec::new(), Vec::new());
    let mut head = Hash::ZERO;
    for (entry, _) in book.entries()? {
        if let Err(broken) = entry.follows(contents.len() as u64, &head) {
            return Err(not_sound(&broken));
        }
        let change: Change = serde_json::from_str(&entry.body).map_err(|error| not_sound(&error))?;
        head = entry.hash;
        contents.push(entry.content_hash());
        journal.push(Read { entry, change });
    }
    let slice = slice(journal, &about);
    let entries = contents.len() as u64;
    let mut files: BTreeMap<&'static str, String> =
        record_files(&slice, args.from, args.to).map_err(Complaint::fault)?;
    files.insert(SLICE_FILE, slice_text(&slice).map_err(Complaint::fault)?);
    files.insert(CHAIN_FILE, chain_text(&contents));
    files.insert("README.txt", read_me(&about, args.from, args.to, entries, &head.to_string()));
    let cover = Cover {
        format: BINDER_FORMAT.to_owned(),
        about,
        from: args.from,
        to: args.to,
        written_at: crate::journal::Instant::from_utc(session.now).to_string(),
        program: concat!("pigtail ", env!("CARGO_PKG_VERSION")).to_owned(),
        entries,
        head: head.to_string(),
        files: files.iter().map(|(name, text)| ((*name).to_owned(), digest(text.as_bytes()))).collect(),
    };
    files.insert(BINDER_FILE, serde_json::to_string_pretty(&cover).map_err(Complaint::fault)? + "\n");
    fs::create_dir_all(dir).map_err(|error| unwritable(dir, &error))?;
    for (name, text) in &files {
        let path = dir.join(name);
        written(&path, text).map_err(|error| unwritable(&path, &error))?;
    }
    writeln!(console.out, "{}: {} of {entries} journal entries, head {head}@{entries}", dir.display(), slice.len())?;
    writeln!(console.talk, "next: pigtail journal verify --binder {}", dir.display())?;
    Ok(Status::Done)
}

fn subject(book: &Book, args: &BinderArgs) -> Result<Subject, Complaint> {
    let unit = args.code.parse::<UnitCode>().ok();
    let depot = args.code.parse::<DepotCode>().ok();
    let is_unit = unit.as_ref().map_or(Ok(None), |unit| book.unit(unit))?.is_some();
    let is_depot = depot.as_ref().map_or(Ok(None), |depot| book.depot(depot))?.is_some();
    match (unit.filter(|_| is_unit && !args.depot), depot.filter(|_| is_depot)) {
        (Some(unit), None) => Ok(Subject::Unit(unit)),
        (None, Some(depot)) => Ok(Subject::Depot(depot)),
        (Some(unit), Some(_)) => {
            let hint = format!("for the depot: pigtail binder {unit} --depot …; for the unit name another depot code");
            Err(Complaint::refused(format!("{unit} is a unit and a depot"), hint))
        }
        (None, None) if args.depot => unknown(book, Codes::Depots, "depot", &args.code),
        (None, None) => unknown(book, Codes::Units, "unit", &args.code),
    }
}

fn refuse_taken(dir: &Path) -> Result<(), Complaint> {
    let taken = match fs::read_dir(dir) {
        Ok(mut entries) => entries.next().is_some(),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => false,
        Err(error) if error.kind() == std::io::ErrorKind::NotADirectory => true,
        Err(error) => return Err(unwritable(dir, &error)),
    };
    if taken {
        let what = format!("{} is there and not an empty folder", dir.display());
        return Err(Complaint::refused(what, "name a new or an empty folder"));
    }
    Ok(())
}

fn written(path: &Path, text: &str) -> std::io::Result<()> {
    let mut file = fs::OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(text.as_bytes())?;
    file.sync_all()
}

fn unwritable(path: &Path, error: &std::io::Error) -> Complaint {
    Complaint::outside(format!("{}: {error}", path.display()), "check the disk and the folder's permissions")
}

fn not_sound(what: &dyn std::fmt::Display) -> Complaint {
    let hint = "pigtail journal verify; no binder was written".to_owned();
    Complaint { status: Status::No, places: Vec::new(), what: vec![format!("the journal is not sound: {what}")], hint }
}

#[derive(Serialize)]
struct Verified {
    ok: bool,
    entries: u64,
    shown: u64,
    head: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    first_bad: Option<u64>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    faults: Vec<String>,
}

/// Runs `journal verify --binder`.
///
/// # Errors
/// [`Complaint`] where the folder cannot be read or is no binder.
pub fn verify(dir: &Path, against: Option<&PrintedHead>, console: &mut Console<'_>) -> Answer {
    let format = console.format_among(&[Format::Table, Format::Json])?;
    let (cover, files) = read(dir)?;
    let checked = check_binder(&cover, &files);
    let mut faults = checked.faults;
    let mut first_bad = checked.first_bad;
    if let Some(against) = against {
        let place = usize::try_from(against.seq).ok().and_then(|seq| seq.checked_sub(1));
        if let Some(what) = against.missing(place.and_then(|place| checked.hashes.get(place)).copied()) {
            faults.push(what);
            first_bad = first_bad.or(Some(against.seq));
        }
    }
    let ok = faults.is_empty();
    let entries = checked.hashes.len() as u64;
    let head = checked.hashes.last().copied().unwrap_or(Hash::ZERO).to_string();
    if format == Format::Json {
        console.json(&Verified { ok, entries, shown: checked.shown, head, first_bad, faults })?;
        return yes_if(ok);
    }
    for fault in &faults {
        writeln!(console.out, "{fault}")?;
    }
    if let Some(seq) = first_bad {
        writeln!(console.out, "first bad entry {seq}")?;
    }
    let verdict = if ok { "sound: every file, every entry shown and the whole chain" } else { "not sound" };
    writeln!(console.out, "{} of {entries} entries shown, head {head}@{entries}\n{verdict}", checked.shown)?;
    yes_if(ok)
}

fn read(dir: &Path) -> Result<(Cover, BTreeMap<String, Vec<u8>>), Complaint> {
    let unreadable = |path: &Path, error: &std::io::Error| {
        Complaint::outside(format!("{}: {error}", path.display()), "name the folder that pigtail binder wrote")
    };
    let path = dir.join(BINDER_FILE);
    let cover = fs::read(&path).map_err(|error| unreadable(&path, &error))?;
    let cover: Cover = serde_json::from_slice(&cover).map_err(|error| Complaint {
        status: Status::No,
        places: Vec::new(),
        what: vec![format!("{} is no cover of a binder: {error}", path.display())],
        hint: "name the folder that pigtail binder wrote".to_owned(),
    })?;
    let mut files = BTreeMap::new();
    for entry in fs::read_dir(dir).map_err(|error| unreadable(dir, &error))? {
        let path = entry.map_err(|error| unreadable(dir, &error))?.path();
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if name != BINDER_FILE {
            files.insert(name, fs::read(&path).map_err(|error| unreadable(&path, &error))?);
        }
    }
    Ok((cover, files))
}
