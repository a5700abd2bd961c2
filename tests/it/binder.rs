//! A binder as a third party gets it.
//!
//! Owns: that what is in it is enough to check it, that nothing in it can be changed unseen, and that nobody's code
//! reaches outside the folder. Refuses: proving that nothing was left out.

use crate::book_facts::{small_fleet, take};
use crate::program::{Desk, path_text};
use pigtail::book::Book;
use serde_json::json;
use std::fs;
use std::path::PathBuf;
use std::process::Command;

fn desk() -> (Desk, PathBuf) {
    let desk = Desk::new("2026-03-02");
    let mut book = Book::create(&desk.db()).unwrap();
    take(&mut book, 0, small_fleet());
    take(
        &mut book,
        1,
        [
            json!({"change": "unit", "unit": "R-2", "depot": "HARBOR"}),
            json!({"change": "hold", "unit": "R-2", "placed_on": "2026-02-01", "reason": "nobody's business"}),
            json!({"change": "gas-test", "unit": "R-1", "on": "2025-02-20", "by": "brandt", "lockup": "11", "verdict": "pass"}),
            json!({"change": "gas-test", "unit": "R-1", "on": "2024-02-20", "by": "brandt", "lockup": "10.9", "verdict": "pass"}),
        ],
    );
    let dir = desk.path("binder");
    let ran = desk.types(&["binder", "R-1", "--from", "2026-01-01", "--to", "2026-03-01", path_text(&dir)]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    (desk, dir)
}

#[test]
fn what_a_third_party_gets() {
    let (desk, dir) = desk();
    let mut names: Vec<String> =
        fs::read_dir(&dir).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    assert_eq!(
        names,
        [
            "README.txt",
            "binder.json",
            "chain.txt",
            "journal.jsonl",
            "marks.csv",
            "records.csv",
            "records.json",
            "tests.csv"
        ]
    );
    let read = |name: &str| fs::read_to_string(dir.join(name)).unwrap();
    insta::with_settings!({filters => vec![(r"[0-9a-f]{64}", "[hash]"), (r"20\d\d-\d\d-\d\dT[0-9:.]+Z", "[moment]")]}, {
        insta::assert_snapshot!("binder_records", read("records.csv"));
        insta::assert_snapshot!("binder_tests", read("tests.csv"));
        insta::assert_snapshot!("binder_readme", read("README.txt"));
    });
    assert_eq!(read("marks.csv").lines().count(), 2);
    // Others are not in it, and still count in the chain.
    assert!(!read("journal.jsonl").contains("nobody's business"));
    assert_eq!(read("chain.txt").lines().count(), 27);
    let head = desk.types(&["journal", "verify", "--format", "json"]).out;
    let ran = desk.types(&["journal", "verify", "--binder", path_text(&dir), "--format", "json"]);
    assert_eq!(ran.status, 0, "{}", ran.out);
    let (head, binder): (serde_json::Value, serde_json::Value) =
        (serde_json::from_str(&head).unwrap(), serde_json::from_str(&ran.out).unwrap());
    assert_eq!((&head["head"], &head["entries"]), (&binder["head"], &binder["entries"]));
    // Against heads that were mailed: this one, an earlier one, and one of another history.
    let book = Book::open(&desk.db()).unwrap();
    let mailed = |seq: u64| format!("{}@{seq}", book.entry(seq).unwrap().unwrap().0.hash);
    for (against, status) in [
        (mailed(26), 0),
        (mailed(3)[..12].to_owned() + "@3", 0),
        (mailed(3).replace("@3", "@4"), 1),
        (mailed(26).replace("@26", "@27"), 1),
    ] {
        for words in [
            &["journal", "verify", "--binder", path_text(&dir), "--against", &against][..],
            &["journal", "verify", "--against", &against],
        ] {
            let ran = desk.types(words);
            assert_eq!(ran.status, status, "{words:?}: {}{}", ran.out, ran.err);
        }
    }
    let ran = desk.types(&["journal", "verify", "--against", "12@x"]);
    assert!(ran.status == 2 && ran.err.contains("HASH@N"), "{}", ran.err);
}

#[test]
fn every_byte_of_every_file_counts() {
    let (desk, dir) = desk();
    let verify = || desk.types(&["journal", "verify", "--binder", path_text(&dir)]);
    assert_eq!(verify().status, 0);
    for entry in fs::read_dir(&dir).unwrap() {
        let path = entry.unwrap().path();
        let whole = fs::read(&path).unwrap();
        // Of the cover not every byte is proof: only what it says of the others.
        let step = if whole.len() > 4000 { 97 } else { 41 };
        for at in (0..whole.len()).step_by(step) {
            let mut flipped = whole.clone();
            flipped[at] ^= 1;
            fs::write(&path, &flipped).unwrap();
            let ran = verify();
            let told = String::from_utf8_lossy(&whole[at.saturating_sub(30)..at + 1]).into_owned();
            let free =
                ["written_at", "program", "about", "\"from\"", "\"to\"", "R-1"].iter().any(|key| told.contains(key));
            let blank = whole[at].is_ascii_whitespace() || flipped[at].is_ascii_whitespace();
            if !(path.ends_with("binder.json") && (free || blank)) {
                assert_eq!(ran.status, 1, "byte {at} of {}: {}{}", path.display(), ran.out, ran.err);
            }
        }
        fs::remove_file(&path).unwrap();
        assert_ne!(verify().status, 0, "{} removed", path.display());
        fs::write(&path, &whole).unwrap();
    }
    fs::write(dir.join("extra.txt"), "x").unwrap();
    assert!(verify().out.contains("extra.txt does not belong to the binder"));
    fs::remove_file(dir.join("extra.txt")).unwrap();
    assert_eq!(verify().status, 0);
}

/// A forger who has this source: the entry and the records made anew, all digests right.
#[test]
fn an_entry_forged_with_care_breaks_the_chain() {
    let (desk, dir) = desk();
    let read = |name: &str| fs::read_to_string(dir.join(name)).unwrap();
    let edit = |name: &str, text: String| fs::write(dir.join(name), text).unwrap();
    for name in ["journal.jsonl", "records.json", "records.csv", "marks.csv"] {
        edit(name, read(name).replace("2021-11", "2025-11"));
    }
    let mut cover: serde_json::Value = serde_json::from_str(&read("binder.json")).unwrap();
    for (name, digest) in cover["files"].as_object_mut().unwrap() {
        *digest = json!(pigtail::show::binder::digest(read(name).as_bytes()));
    }
    edit("binder.json", cover.to_string());
    let ran = desk.types(&["journal", "verify", "--binder", path_text(&dir)]);
    assert_eq!(ran.status, 1);
    assert!(ran.out.starts_with("entry 8 is not the one sealed in the chain\nfirst bad entry 8\n"), "{}", ran.out);
}

#[test]
fn the_reference_script_agrees() {
    if !crate::shell::has("python3") {
        return;
    }
    let script = fs::read_to_string("docs/verify_binder.py").unwrap();
    assert!(script.lines().count() <= 40);
    let (desk, dir) = desk();
    let python = || {
        let output = Command::new("python3").args(["docs/verify_binder.py", path_text(&dir)]).output().unwrap();
        (output.status.success(), String::from_utf8(output.stdout).unwrap())
    };
    let head = desk.types(&["journal", "verify", "--format", "json"]).out;
    let head: serde_json::Value = serde_json::from_str(&head).unwrap();
    assert_eq!(python(), (true, format!("sound: {}@27\n", head["head"].as_str().unwrap())));
    for name in ["chain.txt", "journal.jsonl", "tests.csv"] {
        let path = dir.join(name);
        let whole = fs::read_to_string(&path).unwrap();
        fs::write(&path, whole.replacen('1', "2", 1)).unwrap();
        assert!(!python().0, "{name}");
        fs::write(&path, whole).unwrap();
    }
    assert!(python().0);
}

#[test]
fn codes_name_no_files_and_folders_stay_as_they_are() {
    let desk = Desk::new("2026-03-02");
    let mut book = Book::create(&desk.db()).unwrap();
    take(&mut book, 0, small_fleet());
    let codes = ["../../R-9", "/etc/passwd", "..", "a/b\\c", "HARBOR", "con.", "-rf"];
    take(&mut book, 1, codes.map(|code| json!({"change": "unit", "unit": code, "depot": "HARBOR"})));
    drop(book);
    let period = ["--from", "2026-01-01", "--to", "2026-03-01"];
    for (number, code) in codes.iter().enumerate() {
        let dir = desk.path(&format!("inner/{number}"));
        let words = [&["binder"][..], &period, &["--dir", path_text(&dir), "--", code]].concat();
        let ran = desk.types(&words);
        if *code == "HARBOR" {
            assert!(ran.status == 2 && ran.err.contains("HARBOR is a unit and a depot"), "{}", ran.err);
            let words = [&["binder", "HARBOR", "--depot"][..], &period, &[path_text(&dir)]].concat();
            assert_eq!(desk.types(&words).status, 0);
        } else {
            assert_eq!(ran.status, 0, "{code}: {}", ran.err);
        }
        assert_eq!(fs::read_dir(&dir).unwrap().count(), 8, "{code}");
        assert_eq!(desk.types(&["journal", "verify", "--binder", path_text(&dir)]).status, 0, "{code}");
    }
    assert_eq!(fs::read_dir(desk.path("inner")).unwrap().count(), codes.len());
    let mut around: Vec<String> = fs::read_dir(desk.folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    around.retain(|name| !name.starts_with("fleet.db"));
    assert_eq!(around, ["inner"]);
    // A folder with anything in it is left alone.
    let dir = desk.path("inner/0");
    let words = [&["binder", "R-1"][..], &period, &[path_text(&dir)]].concat();
    let ran = desk.types(&words);
    assert!(ran.status == 2 && ran.err.contains("not an empty folder"), "{}", ran.err);
    for (words, status, says) in [
        (vec!["binder", "R-7", "--from", "2026-01-01", "--to", "2026-03-01", "x"], 2, "unit R-7 is not in the book"),
        (vec!["binder", "R-1", "--from", "2026-03-01", "--to", "2026-01-01", "x"], 2, "is before the first"),
        (vec!["journal", "verify", "--binder", "nowhere"], 3, "binder.json"),
    ] {
        let ran = desk.types(&words);
        assert!(ran.status == status && ran.err.contains(says), "{words:?}: {}", ran.err);
    }
}
