//! How long checking a journal of one million entries takes, beside its peer in the same run.
//!
//! Run with `cargo bench --bench verify`, or `cargo bench --bench verify -- 100000` for another number of entries. Needs
//! `sha256sum` and the `sqlite3` shell as the peers.
//!
//! The peer is the least that anybody would have to do who checks the same thing with tools that do nothing else:
//!
//! - `sha256sum` of a file that holds the bytes the chain hashes: of every entry number, moment, author and body, a line
//!   each, and then two hashes in hexadecimal, a line each;
//! - the `sqlite3` shell reading its own `.dump` of the fleet file into a database in memory: the same rows into the
//!   same tables, in one transaction, indexes made at the end. It judges nothing, derives no due date, reads no JSON and
//!   compares nothing.
//!
//! The replay is timed with the journal among the tables (every insert there is) and without it (only the tables that
//! `verify` fills again; it reads the journal where it stands). The wanted ratio is held against the smaller.
//!
//! Two fleets: one just imported, in which almost every entry is a part with due dates of its own, and one with years of
//! gas tests, checks, marks and hires.

#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a benchmark says its figures and stops at the first fault"
)]

use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const PIGTAIL: &str = env!("CARGO_BIN_EXE_pigtail");
const TODAY: &str = "2026-03-02";
const PARTS_PER_UNIT: usize = 8;
/// Entries about a unit with years behind it, and its parts: itself, parts, marks, gas tests, checks, hires.
const ENTRIES_PER_USED_UNIT: usize = 1 + PARTS_PER_UNIT + 2 + 3 + 4 + 6;
const ROUNDS: usize = 2;

fn main() {
    let entries = std::env::args().skip(1).find_map(|word| word.parse().ok()).unwrap_or(1_000_000);
    let folder = std::env::temp_dir().join(format!("pigtail-bench-verify-{}", std::process::id()));
    for (name, units, used) in [
        ("just imported", entries / (1 + PARTS_PER_UNIT), false),
        ("years of use", entries / ENTRIES_PER_USED_UNIT, true),
    ] {
        let csv = folder.join("folder");
        generate(&csv, units, used);
        let db = folder.join("fleet.db");
        pigtail(&db, &["import", &text(&csv)]);
        measure(name, &folder, &db);
        fs::remove_dir_all(&folder).expect("the benchmark's folder removed");
    }
}

fn measure(name: &str, folder: &Path, db: &Path) {
    let (bytes, whole, tables) = (folder.join("bytes"), folder.join("whole.sql"), folder.join("tables.sql"));
    let into = |file: &Path, words: &[&str]| {
        let file = fs::File::create(file).expect("a file for the peer");
        let mut shell = Command::new("sqlite3");
        let status = shell.arg(db).args(words).stdin(Stdio::null()).stdout(file).status().expect("sqlite3 runs");
        assert!(status.success(), "sqlite3 {words:?}");
    };
    into(
        &bytes,
        &["SELECT seq || char(10) || recorded_at || char(10) || author || char(10) || body || char(10) ||
           lower(hex(prev_hash)) || char(10) || lower(hex(hash)) FROM journal ORDER BY seq"],
    );
    into(&whole, &[".dump"]);
    let names = shell(db, "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT IN ('journal', 'outbox')");
    into(&tables, &[&format!(".dump {}", names.split_whitespace().collect::<Vec<_>>().join(" "))]);
    let count: f64 = shell(db, "SELECT count(*) FROM journal").trim().parse().expect("a number of entries");
    let rows = shell(&tables_only(db, &tables, folder), "SELECT count(*) FROM due");

    let hashing = best(|| output(Command::new("sha256sum").arg(&bytes)));
    let with_journal = best(|| replay(&whole));
    let without = best(|| replay(&tables));
    let verify = best(|| pigtail(db, &["journal", "verify"]));
    println!(
        "{name}: {count:.0} entries, {} due rows\n  \
         journal verify {:.2} s; sha256sum {:.2} s; sqlite3 replay {:.2} s, of the tables alone {:.2} s\n  \
         ratio {:.2}, against the tables alone {:.2}",
        rows.trim(),
        seconds(verify),
        seconds(hashing),
        seconds(with_journal),
        seconds(without),
        seconds(verify) / seconds(hashing + with_journal),
        seconds(verify) / seconds(hashing + without),
    );
    if let Some(mib) = peak_mib(db) {
        println!("  peak memory {mib:.0} MiB");
    }
    std::io::stdout().flush().expect("said");
}

/// A database filled from the dump of the tables, so that it is known to hold them.
fn tables_only(db: &Path, tables: &Path, folder: &Path) -> std::path::PathBuf {
    let filled = folder.join("tables.db");
    let mut shell = Command::new("sqlite3");
    output(shell.arg(&filled).arg(format!(".read {}", tables.display())));
    let due = |file: &Path| self::shell(file, "SELECT count(*) FROM due");
    assert_eq!(due(&filled), due(db), "the dump holds every due row");
    filled
}

fn replay(sql: &Path) {
    output(Command::new("sqlite3").arg(":memory:").arg(format!(".read {}", sql.display())));
}

/// A fleet without chance: dates spread evenly, one part in forty with no make date.
fn generate(folder: &Path, units: usize, used: bool) {
    fs::create_dir_all(folder).expect("a folder for the fleet");
    let mut depots = String::from("depot,name,timezone,elevation_ft,rules\n");
    for depot in 0..20 {
        let _ = writeln!(depots, "D{depot:02},Yard {depot},America/Denver,{},us", depot * 250);
    }
    let mut unit_rows = String::from("unit,depot,body\n");
    let mut parts = String::from("part,unit,kind,position,spec,made,fitted_on\n");
    let mut marks = String::from("part,month,method,rin\n");
    let people = String::from("person,name\nbrandt,Ann Brandt\n");
    let gauges = String::from("gauge,kind,resolution_inwc\nGA-1,u-tube,0.1\n");
    let mut gauge_checks = String::from("gauge,on,by,reading,reference\n");
    let mut tests = String::from("unit,on,by,gauge,lockup,flow,load,drop_start,drop_end,minutes,air_f,air_after_f\n");
    let mut checks = String::from("unit,part,on,by,rule,result,note\n");
    let mut hires = String::from("booking,unit,out_on,back_on\n");
    for year in 2022..2026 {
        let _ = writeln!(gauge_checks, "GA-1,{year}-12-01,brandt,11.0,11.0");
    }
    let kinds =
        ["cylinder", "cylinder", "regulator", "hose", "lp-detector", "co-detector", "smoke-alarm", "extinguisher"];
    for unit in 0..units {
        let _ = writeln!(unit_rows, "U{unit:06},D{:02},travel trailer", unit % 20);
        for (place, kind) in kinds.iter().enumerate() {
            let number = unit * PARTS_PER_UNIT + place;
            let month = (number * 7919) % 110;
            let (year, month) = (2012 + month / 12, month % 12 + 1);
            let made = if number.is_multiple_of(40) && *kind != "cylinder" {
                String::new()
            } else {
                format!("{year}-{month:02}")
            };
            let spec = if *kind == "cylinder" { "DOT-4BA240" } else { "" };
            let _ = writeln!(parts, "P{number:07},U{unit:06},{kind},place {place},{spec},{made},");
            if *kind == "cylinder" {
                let _ = writeln!(marks, "P{number:07},2024-{month:02},external-visual,A123");
            }
        }
        let day = unit % 28 + 1;
        for year in 2023..2026 {
            let _ = writeln!(tests, "U{unit:06},{year}-05-{day:02},brandt,GA-1,11.4,10.9,80,9.0,9.0,15,60,60");
        }
        for year in 2022..2026 {
            let number = unit * PARTS_PER_UNIT + PARTS_PER_UNIT - 1;
            let _ = writeln!(checks, "U{unit:06},P{number:07},{year}-06-{day:02},brandt,extinguisher-look,pass,");
        }
        for hire in 1..=6 {
            let _ = writeln!(hires, "B{unit:06}-{hire},U{unit:06},2026-{:02}-03,2026-{:02}-09", hire + 3, hire + 3);
        }
    }
    let always = [("depots.csv", depots), ("units.csv", unit_rows), ("parts.csv", parts)];
    let of_use = [
        ("marks.csv", marks),
        ("people.csv", people),
        ("gauges.csv", gauges),
        ("gauge_checks.csv", gauge_checks),
        ("gas_tests.csv", tests),
        ("checks.csv", checks),
        ("bookings.csv", hires),
    ];
    for (name, rows) in always.into_iter().chain(of_use.into_iter().filter(|_| used)) {
        fs::write(folder.join(name), rows).expect("a file of the fleet");
    }
}

fn pigtail(db: &Path, words: &[&str]) {
    output(Command::new(PIGTAIL).arg("--db").arg(db).args(["--today", TODAY]).args(words));
}

fn shell(db: &Path, sql: &str) -> String {
    output(Command::new("sqlite3").arg(db).arg(sql))
}

fn output(command: &mut Command) -> String {
    let output = command.stdin(Stdio::null()).output().expect("the program runs");
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{command:?}: {said}{}", String::from_utf8_lossy(&output.stdout));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

fn peak_mib(db: &Path) -> Option<f64> {
    let mut command = Command::new("/usr/bin/time");
    command.args(["-f", "%M"]).arg(PIGTAIL).arg("--db").arg(db).args(["--today", TODAY, "journal", "verify"]);
    let output = command.output().ok()?;
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    said.lines().last()?.trim().parse::<f64>().ok().map(|kib| kib / 1024.0)
}

fn best<T>(work: impl Fn() -> T) -> Duration {
    let timed = |_| {
        let start = Instant::now();
        work();
        start.elapsed()
    };
    (0..ROUNDS).map(timed).min().unwrap_or_default()
}

fn seconds(time: Duration) -> f64 {
    time.as_secs_f64()
}

fn text(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}
