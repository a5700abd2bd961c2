//! Processes killed, disks that refuse, four at once: what was acknowledged is there, whole, and nothing else.
//!
//! Owns: short runs of each in every `cargo test`, and the long ones: `cargo test --test it crash -- --ignored`.
//! Refuses: a power cut, which takes the machine; SQLite's own tests cover what the disk does then.

use crate::program::{Desk, path_text};
use crate::shell::{has, mounted, pigtail, ran, say, under};
use pigtail::book::Book;
use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Numbers by chance; the same seed gives the same.
struct Chance(u64);

impl Chance {
    fn below(&mut self, end: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % end
    }
}

/// Opens, verifies and counts.
pub fn entries(db: &Path) -> u64 {
    let book = Book::open(db).unwrap();
    let found = book.verify(&mut |_, _| {}).unwrap();
    assert_eq!(found.faults, []);
    found.entries
}

/// Opens, checks the pages, and counts; `verify` is for the end.
fn counted(db: &Path) -> u64 {
    let conn = rusqlite::Connection::open(db).unwrap();
    let pages: String = conn.query_row("PRAGMA quick_check", [], |row| row.get(0)).unwrap();
    assert_eq!(pages, "ok");
    conn.query_row("SELECT count(*) FROM journal", [], |row| row.get(0)).unwrap()
}

/// A visit whose every fact is new: its note, and a look at the extinguisher in words of its own.
pub fn visit(number: u64) -> Vec<String> {
    let (note, check) = (format!("visit {number}"), format!("extinguisher-look=pass:look {number}"));
    ["closeout", "R-001", "--by", "brandt", "--check", &check, "--note", &note].map(str::to_owned).into()
}

/// A folder with hires that are new each time.
pub fn hires(folder: &Path, number: u64, count: u64) -> Vec<String> {
    let path = folder.join(format!("hires-{number}"));
    std::fs::create_dir(&path).unwrap();
    std::fs::write(path.join("units.csv"), "unit,depot\n").unwrap();
    std::fs::write(path.join("parts.csv"), "part,kind\n").unwrap();
    let mut text = "booking,unit,out_on,back_on\n".to_owned();
    for hire in 0..count {
        writeln!(text, "B{number}-{hire},R-001,2027-01-01,2027-01-09").unwrap();
    }
    std::fs::write(path.join("bookings.csv"), text).unwrap();
    vec!["import".to_owned(), path_text(&path).to_owned()]
}

/// What a process may add to the journal, and whether it said it did.
struct Trial {
    words: Vec<String>,
    db: PathBuf,
    adds: u64,
    before: u64,
    backup: Option<PathBuf>,
}

fn killed(kills: u64, seed: u64) {
    let desk = Desk::with_demo_fleet();
    let db = desk.db();
    let mut chance = Chance(seed);
    // How long each takes when it is let be, and how much it adds.
    let timed = |words: &[String], db: &Path| {
        let before = if db.exists() { counted(db) } else { 0 };
        let started = Instant::now();
        assert!(pigtail(db).args(words).output().unwrap().status.success(), "{words:?}");
        (started.elapsed(), if db.exists() { counted(db) - before } else { 0 })
    };
    let (of_visit, adds_visit) = timed(&visit(900_000), &db);
    let (of_import, adds_import) = timed(&hires(desk.folder.path(), 900_000, 150), &db);
    let (of_first, adds_first) = timed(&["import".to_owned(), "fixtures/demo".to_owned()], &desk.path("first.db"));
    let (mut before, mut outcomes) = (counted(&db), [0u64; 2]);
    for number in 0..kills {
        let backup = desk.path(&format!("backup-{number}.db"));
        let trial = |words: Vec<String>, adds: u64| Trial { words, db: db.clone(), adds, before, backup: None };
        let (trial, usual) = match number % 5 {
            0 => (trial(hires(desk.folder.path(), number, 150), adds_import), of_import),
            1 => (trial(visit(number), adds_visit), of_visit),
            2 => {
                let last = before.to_string();
                let words = ["journal", "void", &last, "--because", "slip"].map(str::to_owned);
                (trial(words.into(), 1), of_visit * 2)
            }
            3 => {
                let words = vec!["backup".to_owned(), path_text(&backup).to_owned()];
                (Trial { backup: Some(backup), ..trial(words, 0) }, of_visit * 2)
            }
            _ => {
                let new = desk.path(&format!("new-{number}.db"));
                let words = vec!["import".to_owned(), "fixtures/demo".to_owned()];
                (Trial { words, db: new, adds: adds_first, before: 0, backup: None }, of_first)
            }
        };
        let wait = usual.as_micros() as u64 * chance.below(115) / 100;
        let acknowledged = killed_after(&trial.words, &trial.db, Duration::from_micros(wait));
        outcomes[usize::from(acknowledged)] += 1;
        let after = if trial.db.exists() { counted(&trial.db) } else { 0 };
        let allowed =
            if acknowledged { vec![trial.before + trial.adds] } else { vec![trial.before, trial.before + trial.adds] };
        assert!(
            allowed.contains(&after),
            "seed {seed}, kill {number}: {allowed:?}, not {after}, after {:?}",
            trial.words
        );
        match trial.backup {
            Some(backup) if backup.exists() => assert_eq!(entries(&backup), before, "seed {seed}, kill {number}"),
            Some(_) => assert!(!acknowledged, "seed {seed}, kill {number}: a backup was promised"),
            None if trial.db == db => before = after,
            None if trial.db.exists() => assert_eq!(entries(&trial.db), adds_first),
            None => {}
        }
        if number % 10 == 0 {
            entries(&db);
        }
    }
    entries(&db);
    assert!(outcomes[0] > 0, "no process was killed before it was done");
}

/// Whether the process said that it was done before it was killed.
fn killed_after(words: &[String], db: &Path, wait: Duration) -> bool {
    let mut child = pigtail(db).args(words).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
    std::thread::sleep(wait);
    child.kill().unwrap();
    let mut said = String::new();
    child.stdout.take().unwrap().read_to_string(&mut said).unwrap();
    child.wait().unwrap();
    said.contains("recorded") || said.contains("checked")
}

#[test]
fn killed_at_any_moment() {
    killed(25, 7);
}

#[test]
#[ignore = "minutes: cargo test --test it crash -- --ignored"]
fn killed_at_five_hundred_moments() {
    let seed = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap().as_secs();
    killed(500, seed);
}

/// Four processes after another each, all on one file.
fn four_at_once(each: u64) -> (Desk, Duration) {
    let desk = Desk::with_demo_fleet();
    let db = desk.db();
    let before = counted(&db);
    let started = Instant::now();
    std::thread::scope(|scope| {
        for writer in 0..4u64 {
            let db = &db;
            scope.spawn(move || {
                for number in 0..each {
                    let output = pigtail(db).args(visit(writer * 1_000_000 + number)).output().unwrap();
                    let ran = ran(output);
                    assert_eq!(ran.status, 0, "{}", ran.err);
                }
            });
        }
    });
    let took = started.elapsed();
    let book = Book::open(&db).unwrap();
    assert_eq!(book.verify(&mut |_, _| {}).unwrap().faults, []);
    let mut notes = BTreeSet::new();
    for (entry, _) in book.entries().unwrap().into_iter().skip(before as usize) {
        if let Some(at) = entry.body.find("\"note\":\"visit ") {
            assert!(notes.insert(entry.body[at..].to_owned()), "twice: {}", entry.body);
        }
    }
    assert_eq!(notes.len() as u64, 4 * each);
    (desk, took)
}

#[test]
fn four_writers_at_once_lose_nothing() {
    four_at_once(10);
}

#[test]
#[ignore = "minutes: cargo test --test it crash -- --ignored"]
fn four_writers_a_thousand_visits_each() {
    let (desk, took) = four_at_once(1000);
    let path = desk.path("bare.db");
    let conn = rusqlite::Connection::open(&path).unwrap();
    conn.execute_batch("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; CREATE TABLE t (a TEXT)").unwrap();
    let started = Instant::now();
    for number in 0..4000 {
        conn.execute("INSERT INTO t VALUES (?)", [format!("visit {number}")]).unwrap();
    }
    let bare = started.elapsed();
    let rate = |took: Duration| 4000.0 / took.as_secs_f64();
    say(&format!(
        "4 x 1000 close-outs: {:.0} a second with a process each; bare SQLite inserts, one each: {:.0} a second",
        rate(took),
        rate(bare)
    ));
}

/// Runs a command on a copy of a fleet file under ever larger limits, and says how many were refused and taken. A
/// refusal changes nothing; an acknowledgement is kept.
fn under_limits(words: &dyn Fn(u64) -> Vec<String>, limits: &[u64], before: &dyn Fn(u64) -> Vec<String>) -> (u32, u32) {
    let desk = Desk::with_demo_fleet();
    let held = entries(&desk.db());
    let (mut refused, mut taken) = (0, 0);
    for &limit in limits {
        let db = desk.path("trial.db");
        for suffix in ["", "-wal", "-shm"] {
            std::fs::remove_file(desk.path(&format!("trial.db{suffix}"))).ok();
        }
        std::fs::copy(desk.db(), &db).unwrap();
        let before = before(limit);
        let before: Vec<&str> = before.iter().map(String::as_str).collect();
        let ran = ran(under(&before, &db).args(words(limit)).output().unwrap());
        let now = entries(&db);
        match ran.status {
            0 => {
                assert!(now > held, "limit {limit}: acknowledged and lost");
                taken += 1;
            }
            3 => {
                assert_eq!(now, held, "limit {limit}: {}", ran.err);
                assert!(ran.err.contains("error: the disk that holds ") && ran.err.contains("\nhint: "), "{}", ran.err);
                refused += 1;
            }
            // Killed by the limit's own signal.
            255 => refused += 1,
            other => panic!("limit {limit}: status {other}: {}{}", ran.out, ran.err),
        }
    }
    (refused, taken)
}

fn refusing_writes(limit: u64) -> Vec<String> {
    ["prlimit", &format!("--fsize={limit}"), "env", "--ignore-signal=XFSZ"].map(str::to_owned).into()
}

fn dying_at_writes(limit: u64) -> Vec<String> {
    ["prlimit", &format!("--fsize={limit}")].map(str::to_owned).into()
}

fn writes_that_fail(limits: &[u64], hires_each: u64) {
    let ignoring = Command::new("env").args(["--ignore-signal=XFSZ", "true"]).output();
    if !has("prlimit") || !ignoring.is_ok_and(|output| output.status.success()) {
        say("passed over: no prlimit or env here");
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let import = |limit: u64| hires(folder.path(), limit, hires_each);
    for before in [&refusing_writes as &dyn Fn(u64) -> Vec<String>, &dying_at_writes] {
        let (refused, taken) = under_limits(&visit, limits, before);
        assert!(refused > 0 && taken > 0, "{refused} {taken}");
    }
    let (refused, taken) = under_limits(&import, limits, &refusing_writes);
    assert!(refused > 0 && taken > 0, "{refused} {taken}");
}

#[test]
fn writes_that_the_system_refuses() {
    writes_that_fail(&[0, 16_384, 33_000, 49_152, 2_000_000], 40);
}

#[test]
#[ignore = "minutes: cargo test --test it crash -- --ignored"]
fn every_write_refused_in_turn() {
    let mut limits: Vec<u64> = (0..120).map(|page| page * 2060).collect();
    limits.push(4_000_000);
    writes_that_fail(&limits, 200);
}

#[test]
#[ignore = "minutes: cargo test --test it crash -- --ignored"]
fn a_disk_full_at_every_page_of_an_import() {
    let Some(disk) = mounted(8 << 20) else { return };
    let desk = Desk::with_demo_fleet();
    let db = disk.path().join("fleet.db");
    let (mut held, mut taken) = (entries(&desk.db()), 0);
    drop(rusqlite::Connection::open(desk.db()).unwrap());
    std::fs::copy(desk.db(), &db).unwrap();
    for spare in 0..100u64 {
        let words = hires(desk.folder.path(), spare, 200);
        disk.fill_all_but(spare * 4096);
        let ran = ran(pigtail(&db).args(words).output().unwrap());
        disk.empty_again();
        let now = entries(&db);
        match ran.status {
            0 => {
                assert_eq!(now, held + 200, "spare {spare}");
                held = now;
                taken += 1;
            }
            3 => assert_eq!(now, held, "spare {spare}: {}", ran.err),
            other => panic!("spare {spare}: status {other}: {}", ran.err),
        }
    }
    assert!(taken > 0);
}
