//! Broken input through the whole program: what is wrong is said in full, and the fleet file is byte for byte what it was.

use crate::program::{Desk, path_text};
use std::fs;
use std::path::PathBuf;

/// Every byte of a fleet file, after what the log holds was brought into it.
fn bytes(desk: &Desk) -> Vec<u8> {
    let conn = rusqlite::Connection::open(desk.db()).unwrap();
    conn.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).unwrap();
    drop(conn);
    fs::read(desk.db()).unwrap()
}

fn entries(folder: &str) -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    found.sort();
    found
}

#[test]
fn broken_folders_change_nothing() {
    let desk = Desk::with_demo_fleet();
    let before = bytes(&desk);
    let folders: Vec<PathBuf> = entries("fixtures/broken-folders").into_iter().filter(|path| path.is_dir()).collect();
    assert!(folders.len() >= 40, "{}", folders.len());
    for folder in folders {
        // The report itself is no file of the folder; what is read is a copy without it.
        let copy = tempfile::tempdir().unwrap();
        let mut expected = String::new();
        for file in entries(path_text(&folder)) {
            let name = file.file_name().unwrap();
            if name == "expected.txt" {
                expected = fs::read_to_string(&file).unwrap();
            } else if file.is_file() {
                fs::copy(&file, copy.path().join(name)).unwrap();
            } else {
                fs::create_dir(copy.path().join(name)).unwrap();
            }
        }
        let ran = desk.types(&["import", path_text(copy.path())]);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{}: {}", folder.display(), ran.err);
        let said: Vec<&str> = ran.err.lines().take_while(|line| !line.starts_with("error: ")).collect();
        let wanted: Vec<&str> = expected.lines().filter(|line| !line.starts_with("note: ")).collect();
        assert_eq!(said, wanted, "{}", folder.display());
        assert!(
            ran.err.ends_with("hint: mend what is listed above and import again; the fleet file was not changed\n"),
            "{}",
            ran.err
        );
        assert_eq!(desk.types(&["import", path_text(copy.path()), "--check"]).status, 2);
    }
    assert_eq!(bytes(&desk), before);
}

#[test]
fn broken_rule_files_change_nothing() {
    let desk = Desk::with_demo_fleet();
    let before = bytes(&desk);
    let files: Vec<PathBuf> = entries("fixtures/broken-rules")
        .into_iter()
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    assert!(files.len() >= 25, "{}", files.len());
    for file in files {
        for verb in ["check", "adopt"] {
            let ran = desk.types(&["rules", verb, path_text(&file)]);
            assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{verb} {}", file.display());
            assert!(ran.err.starts_with("error: ") && ran.err.contains("hint: "), "{}: {}", file.display(), ran.err);
        }
    }
    assert_eq!(bytes(&desk), before);
}

/// A folder that reads well and contradicts the book: the book's own refusals, located like the reader's.
#[test]
fn what_the_book_refuses_names_file_line_and_column() {
    let desk = Desk::with_demo_fleet();
    let before = bytes(&desk);
    let folder = desk.path("folder");
    fs::create_dir(&folder).unwrap();
    let write = |name: &str, text: &str| fs::write(folder.join(name), text).unwrap();
    write("units.csv", "unit,depot\nR-900,HARBOR\n");
    write(
        "parts.csv",
        "part,unit,kind,spec,made\nCY-9001,R-900,cylinder,DOT-4BA240,2015-06\nCY-1101,R-001,hose,,\n\
         CY-9002,R-00l,cylinder,DOT-4BA240,2015-06\nCY-9003,R-900,cylinder,DOT-5B,2015-06\n\
         HS-9004,R-900,hose,,2027-01\n",
    );
    write(
        "marks.csv",
        "part,month,method\nCY-1101,2013-05,volumetric\nHS-4101,2020-01,volumetric\nCY-9001,2020-07,ultrasonic\n",
    );
    write(
        "checks.csv",
        "unit,part,on,by,rule,result\nR-001,,2026-03-01,brandt,gas-test,pass\n\
         R-001,EX-8101,2026-03-01,brant,extinguisher-look,pass\nR-001,EX-8101,2026-03-01,brandt,extinguisher-lok,pass\n\
         R-001,CY-1101,2026-03-01,brandt,cylinder-requalification,pass\n",
    );
    let ran = desk.types(&["import", path_text(&folder)]);
    assert_eq!((ran.status, ran.out.as_str()), (2, ""));
    insta::assert_snapshot!(ran.err);
    assert_eq!(bytes(&desk), before);
}
