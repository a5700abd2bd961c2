//! How fast the main job is on a fleet of 100,000 units and 800,000 parts, each figure beside its peer in the same run.
//!
//! Run with `cargo bench --bench fleet`, or `cargo bench --bench fleet -- 10000` for another number of units. Needs the
//! `sqlite3` shell as the peer; peak memory is read from GNU `time` where it is installed.

#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a benchmark says its figures and stops at the first fault"
)]

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const PIGTAIL: &str = env!("CARGO_BIN_EXE_pigtail");
const TODAY: &str = "2026-03-02";
const PARTS_PER_UNIT: usize = 8;
const ROUNDS: usize = 7;
const SHORT_ROUNDS: usize = 200;

fn main() {
    let units = std::env::args().skip(1).find_map(|word| word.parse().ok()).unwrap_or(100_000);
    let folder = std::env::temp_dir().join(format!("pigtail-bench-{}", std::process::id()));
    fs::create_dir_all(&folder).expect("a folder for the benchmark");
    let fleet = folder.join("folder");
    generate(&fleet, units);
    let db = folder.join("fleet.db");

    let import = timed(|| run(&db, &["import", &text(&fleet)]));
    let parts = units * PARTS_PER_UNIT;
    println!(
        "import of {units} units, {parts} parts: {:.1} s, {:.0} parts/s",
        seconds(import),
        parts as f64 / seconds(import)
    );

    let due = best(|| run(&db, &["due", "--within", "30d", "--format", "csv"]));
    let sql = "SELECT depot, unit, part, kind, position, rule, what, due_on, \
               julianday(due_on) - julianday('2026-03-02'), CASE WHEN due_on IS NULL THEN 'undated' \
               WHEN due_on < '2026-03-02' THEN 'overdue' WHEN notice_from <= '2026-03-02' THEN 'due' ELSE 'in-date' END, \
               authority, cite, because FROM due WHERE due_on IS NULL OR due_on <= '2026-04-01' \
               ORDER BY due_on, unit, part, rule";
    let shell = best(|| output(Command::new("sqlite3").arg("-csv").arg(&db).arg(sql)));
    println!(
        "due --within 30d: {:.0} ms; sqlite3 shell, same rows: {:.0} ms; ratio {:.2}",
        ms(due),
        ms(shell),
        ms(due) / ms(shell)
    );
    if let Some(mib) = peak_mib(&db) {
        println!("peak memory of that due: {mib:.0} MiB");
    }

    let small = folder.join("small");
    generate(&small, units / 10);
    let small_db = folder.join("small.db");
    run(&small_db, &["import", &text(&small)]);
    // The same number of results from a fleet a tenth the size: a unit's own items.
    for (name, file) in [("the whole fleet", &db), ("a tenth of it", &small_db)] {
        let took = best(|| run(file, &["due", "--all", "--unit", "U000042"]));
        println!("due --unit, 10 rows, from {name}: {:.1} ms", ms(took));
    }
    // So short a run is mostly the system's: the middle of many, beside a program that does nothing.
    let (fastest, version) = fastest_and_middle(|| output(Command::new(PIGTAIL).arg("--version")));
    let (_, nothing) = fastest_and_middle(|| output(&mut Command::new("true")));
    println!(
        "--version: {:.2} ms (median of {SHORT_ROUNDS}; fastest {:.2}); `true`: {:.2} ms",
        ms(version),
        ms(fastest),
        ms(nothing)
    );
    println!("load average at the end: {}", fs::read_to_string("/proc/loadavg").unwrap_or_default().trim());
    fs::remove_dir_all(&folder).expect("the benchmark's folder removed");
}

/// A fleet without chance: dates spread evenly, one part in forty with no make date.
fn generate(folder: &Path, units: usize) {
    fs::create_dir_all(folder).expect("a folder for the fleet");
    let mut depots = String::from("depot,name,timezone,elevation_ft,rules\n");
    for depot in 0..20 {
        let _ = writeln!(depots, "D{depot:02},Yard {depot},America/Denver,{},us", depot * 250);
    }
    let mut unit_rows = String::from("unit,depot,body\n");
    let mut parts = String::from("part,unit,kind,position,spec,made,fitted_on\n");
    let kinds = ["cylinder", "cylinder", "regulator", "hose", "lp-detector", "co-detector", "smoke-alarm", "hose"];
    for unit in 0..units {
        let _ = writeln!(unit_rows, "U{unit:06},D{:02},travel trailer", unit % 20);
        for (place, kind) in kinds.iter().enumerate() {
            let number = unit * PARTS_PER_UNIT + place;
            let month = (number * 7919) % 110;
            let (year, month) = (2017 + month / 12, month % 12 + 1);
            let made = if number.is_multiple_of(40) && *kind != "cylinder" {
                String::new()
            } else {
                format!("{year}-{month:02}")
            };
            let spec = if *kind == "cylinder" { "DOT-4BA240" } else { "" };
            let _ = writeln!(parts, "P{number:07},U{unit:06},{kind},place {place},{spec},{made},");
        }
    }
    for (name, rows) in [("depots.csv", depots), ("units.csv", unit_rows), ("parts.csv", parts)] {
        fs::write(folder.join(name), rows).expect("a file of the fleet");
    }
}

fn run(db: &Path, words: &[&str]) {
    output(Command::new(PIGTAIL).arg("--db").arg(db).args(["--today", TODAY]).args(words));
}

fn output(command: &mut Command) {
    let output = command.stdin(Stdio::null()).output().expect("the program runs");
    assert!(output.status.success(), "{command:?}: {}", String::from_utf8_lossy(&output.stderr));
}

fn peak_mib(db: &Path) -> Option<f64> {
    let mut command = Command::new("/usr/bin/time");
    command.args(["-f", "%M"]).arg(PIGTAIL).arg("--db").arg(db).args(["--today", TODAY, "due", "--within", "30d"]);
    let output = command.output().ok()?;
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    said.lines().last()?.trim().parse::<f64>().ok().map(|kib| kib / 1024.0)
}

fn timed(work: impl FnOnce()) -> Duration {
    let start = Instant::now();
    work();
    start.elapsed()
}

fn best(work: impl Fn()) -> Duration {
    (0..ROUNDS).map(|_| timed(&work)).min().unwrap_or_default()
}

fn fastest_and_middle(work: impl Fn()) -> (Duration, Duration) {
    let mut took: Vec<Duration> = (0..SHORT_ROUNDS).map(|_| timed(&work)).collect();
    took.sort_unstable();
    (took[0], took[SHORT_ROUNDS / 2])
}

fn seconds(time: Duration) -> f64 {
    time.as_secs_f64()
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1000.0
}

fn text(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}
