//! `pigtail demo`: the main job on an invented fleet, every step typed out.
//!
//! Owns: the story. Refuses: commands of its own; each step is a command line that anybody can type.

use super::complaint::{Answer, Complaint, Status};
use super::console::{Console, Format};
use super::digest::{laid_out, unsent};
use super::session::Session;
use crate::book::Book;
use crate::digest::Week;
use crate::model::Day;
use std::path::{Path, PathBuf};

/// Build a small invented fleet in a new file and do the main job on it.
#[derive(Debug, clap::Args)]
pub struct DemoArgs {
    /// Folder to build it in [default: pigtail-demo, or the next free name]
    #[arg(long, value_name = "DIR")]
    dir: Option<PathBuf>,
}

/// The day the invented fleet lives in. Everything in it is dated around this Monday.
const DEMO_DAY: &str = "2026-03-02";

const FOLDER: [(&str, &str); 14] = [
    ("depots.csv", include_str!("../../fixtures/demo/depots.csv")),
    ("units.csv", include_str!("../../fixtures/demo/units.csv")),
    ("appliances.csv", include_str!("../../fixtures/demo/appliances.csv")),
    ("parts.csv", include_str!("../../fixtures/demo/parts.csv")),
    ("marks.csv", include_str!("../../fixtures/demo/marks.csv")),
    ("people.csv", include_str!("../../fixtures/demo/people.csv")),
    ("gauges.csv", include_str!("../../fixtures/demo/gauges.csv")),
    ("gauge_checks.csv", include_str!("../../fixtures/demo/gauge_checks.csv")),
    ("gas_tests.csv", include_str!("../../fixtures/demo/gas_tests.csv")),
    ("checks.csv", include_str!("../../fixtures/demo/checks.csv")),
    ("bookings.csv", include_str!("../../fixtures/demo/bookings.csv")),
    ("holds.csv", include_str!("../../fixtures/demo/holds.csv")),
    ("events.csv", include_str!("../../fixtures/demo/events.csv")),
    ("calendar.csv", include_str!("../../fixtures/demo/calendar.csv")),
];

/// Steps before the digest: what is said, and what is typed.
const STEPS: [(&str, &[&str]); 5] = [
    ("What falls due within two weeks, at all three depots?", &["due", "--within", "14d"]),
    ("Why is that cylinder overdue?", &["why", "CY-1101"]),
    (
        "The technician visits R-012, whose last gas test leaked, and finds it tight after the repair.",
        &[
            "closeout",
            "R-012",
            "--by",
            "brandt",
            "--gauge",
            "TUBE-1",
            "--lockup",
            "11.4",
            "--flow",
            "5.5+5.4",
            "--burning",
            "range",
            "--burning",
            "furnace",
            "--drop",
            "9.0:9.0",
            "--minutes",
            "4",
            "--air",
            "58F",
            "--air-after",
            "58F",
        ],
    ),
    (
        "R-001 got its left cylinder requalified: the mark is typed as it stands on the collar.",
        &["closeout", "R-001", "--by", "brandt", "--mark", "CY-1101=03 K204 26 E"],
    ),
    (
        "May R-001 go out on Wednesday and come back twelve days later?",
        &["ready", "R-001", "--out", "2026-03-04", "--back", "2026-03-16"],
    ),
];

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where the folder or file is there already, or the disk refuses.
pub fn run(args: &DemoArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    let dir = args.dir.clone().map_or_else(free_name, Ok)?;
    let unwritable = |error: std::io::Error| {
        Complaint::outside(format!("{}: {error}", dir.display()), "name another folder with --dir")
    };
    let folder = dir.join("folder");
    std::fs::create_dir_all(&folder).map_err(unwritable)?;
    for (name, text) in FOLDER {
        std::fs::write(folder.join(name), text).map_err(unwritable)?;
    }
    let today: Day = DEMO_DAY.parse().map_err(Complaint::fault)?;
    let session = Session {
        db: Some(session.db.clone().unwrap_or_else(|| dir.join("fleet.db"))),
        today: Some(today),
        now: session.now,
    };
    let db = session.db()?;
    Book::create(&db)?;
    console.format = Some(Format::Table);
    writeln!(
        console.out,
        "An invented fleet of three depots, as of {today}. Its spreadsheets are in {}.",
        folder.display()
    )?;
    typed(&["import", &folder.to_string_lossy()], &session, console)?;
    for (said, words) in STEPS {
        writeln!(console.out, "\n# {said}")?;
        typed(words, &session, console)?;
    }
    digest(&dir, &session, console)?;
    let program = std::env::args().next().unwrap_or_else(|| "pigtail".to_owned());
    let fleet = format!("{program} --db {} --today {today}", db.display());
    writeln!(console.out, "\nNext, type for yourself:")?;
    for (words, what) in [
        ("due --unit R-012", "what is left on the unit just visited"),
        ("ready --all", "which units may go out today"),
        ("why R-008", "why a unit is kept in"),
        ("journal list --last 5", "what was recorded, by whom"),
        ("journal verify", "that nothing recorded was changed since"),
    ] {
        writeln!(console.out, "  {fleet} {words:24}# {what}")?;
    }
    Ok(Status::Done)
}

/// Says a command line and runs it. Its answer may be no; the story goes on.
fn typed(words: &[&str], session: &Session, console: &mut Console<'_>) -> Result<(), Complaint> {
    let quoted: Vec<String> =
        words.iter().map(|word| if word.contains(' ') { format!("\"{word}\"") } else { (*word).to_owned() }).collect();
    writeln!(console.out, "$ pigtail {}", quoted.join(" "))?;
    super::type_line(words, session, console)?;
    Ok(())
}

fn digest(dir: &Path, session: &Session, console: &mut Console<'_>) -> Result<(), Complaint> {
    let book = session.book()?;
    let depots = book.depots()?;
    let mail = laid_out(&book, &depots, session)?;
    let (page, message) = (dir.join("digest.html"), dir.join("digest.eml"));
    let write = |path: &Path, bytes: &[u8]| {
        std::fs::write(path, bytes)
            .map_err(|error| Complaint::outside(format!("{}: {error}", path.display()), "check the disk"))
    };
    write(&page, mail.html.as_bytes())?;
    write(&message, &unsent(&book, mail, &depots, Week::of(session.today(&book)?), session)?)?;
    writeln!(console.out, "\n# The manager's digest: the page {}, the mail {}", page.display(), message.display())?;
    Ok(())
}

fn free_name() -> Result<PathBuf, Complaint> {
    let names = std::iter::once("pigtail-demo".to_owned()).chain((2..100).map(|n| format!("pigtail-demo-{n}")));
    names.map(PathBuf::from).find(|path| !path.exists()).ok_or_else(|| {
        Complaint::refused("there are a hundred demos here already", "remove some, or name a folder with --dir")
    })
}
