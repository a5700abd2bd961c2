//! The fleet folder: what is refused and in which words, what messy spreadsheets come to, limits.

use pigtail::exchange::{FolderError, FolderFile, Import, MAX_FILE_BYTES, Progress, read_folder};
use pigtail::model::{Day, Named};
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// The day the fixtures are read on.
pub fn today() -> Day {
    "2026-03-02".parse().unwrap()
}

pub fn read(path: &Path) -> Result<Import, FolderError> {
    read_folder(path, today(), &|_| false, &mut |_| {})
}

/// Where fact number `index` was read from, as the command that imports says it.
fn origin(import: &Import, index: usize) -> String {
    let located = &import.facts[index];
    format!("{}:{}", import.file_name(located.file), located.line)
}

/// The whole report of a folder that is refused, as a person reads it.
fn report(path: &Path) -> String {
    match read(path) {
        Err(FolderError::Refused(problems)) => format!("{problems}\n"),
        Err(other) => panic!("{}: {other}", path.display()),
        Ok(import) => panic!("{}: {} facts were read", path.display(), import.facts.len()),
    }
}

fn fixtures(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures").join(name)
}

/// A folder of files for one test.
fn folder(files: &[(&str, &[u8])]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, content) in files {
        fs::write(folder.path().join(name), content).unwrap();
    }
    folder
}

/// A file as a spreadsheet saves it, byte order mark and all.
const UNITS: (&str, &[u8]) = ("units.csv", b"\xEF\xBB\xBFunit,depot\r\nR-014,HARBOR\r\n");
const PARTS: (&str, &[u8]) = ("parts.csv", b"part,unit,kind\nCY-1180,R-014,cylinder\n");

/// Run with `PIGTAIL_REWRITE_REPORTS=1` to write the reports anew; then read every line of the difference.
#[test]
fn each_broken_folder_is_refused_with_its_whole_report() {
    let rewrite = std::env::var_os("PIGTAIL_REWRITE_REPORTS").is_some();
    let mut names: Vec<PathBuf> =
        fs::read_dir(fixtures("broken-folders")).unwrap().map(|entry| entry.unwrap().path()).collect();
    names.sort();
    assert!(names.len() >= 60, "only {} broken folders", names.len());
    let mut differing = Vec::new();
    for path in names {
        let (expected, report) = (path.join("expected.txt"), report(&path));
        if rewrite {
            fs::write(&expected, &report).unwrap();
        } else if fs::read_to_string(&expected).unwrap_or_default() != report {
            differing.push(format!("{}:\n{report}", path.display()));
        }
    }
    assert!(differing.is_empty(), "{}", differing.join("\n"));
}

/// Every line of every report names a place that a person can go to.
#[test]
fn every_reported_place_is_there() {
    for entry in fs::read_dir(fixtures("broken-folders")).unwrap() {
        let path = entry.unwrap().path();
        let Err(FolderError::Refused(problems)) = read(&path) else { panic!("{} was read", path.display()) };
        let mut places = Vec::new();
        for problem in problems.shown() {
            let Ok(content) = fs::read(path.join(problem.file_name())) else {
                assert_eq!((problem.line(), problem.column()), (1, "file"), "{problem}");
                continue;
            };
            let ends = content.iter().filter(|byte| matches!(byte, b'\n' | b'\r')).count();
            assert!(problem.line() as usize <= ends.max(1), "{problem}: the file has {ends} lines");
            let line = problem.to_string();
            let start = format!("{}:{}: {}: ", problem.file_name(), problem.line(), problem.column());
            assert!(line.starts_with(&start) && !line.contains('\n'), "{line}");
            places.push(line);
        }
        let distinct: BTreeSet<&String> = places.iter().collect();
        assert_eq!(distinct.len(), places.len(), "{}: said twice", path.display());
    }
}

#[test]
fn faults_beyond_the_list_are_counted() {
    let Err(FolderError::Refused(problems)) = read(&fixtures("broken-folders/very-many-faults")) else {
        panic!("was read")
    };
    assert_eq!((problems.shown().len(), problems.beyond_shown(), problems.count()), (200, 100, 300));
    assert_eq!(problems.to_string().lines().last(), Some("and 100 more, not listed"));
}

#[test]
fn a_messy_folder_is_read_as_it_was_meant() {
    let import = read(&fixtures("messy")).unwrap_or_else(|error| panic!("{error}"));
    let mut lines: Vec<String> = Vec::new();
    for (index, located) in import.facts.iter().enumerate() {
        let fact = match &located.fact {
            pigtail::journal::Fact::Change(change) => serde_json::to_string(change).unwrap(),
            pigtail::journal::Fact::Test(test) => format!("test {}", serde_json::to_string(test).unwrap()),
        };
        lines.push(format!("{} {fact}", origin(&import, index)));
    }
    lines.extend(import.notes.iter().map(|note| format!("note {note}")));
    let read = lines.join("\n") + "\n";
    let expected = fixtures("messy/expected.txt");
    if std::env::var_os("PIGTAIL_REWRITE_REPORTS").is_some() {
        fs::write(&expected, &read).unwrap();
    }
    assert_eq!(fs::read_to_string(&expected).unwrap(), read);
}

/// The kind of file and the first fact's origin, or the report.
type Taken = Result<(FolderFile, &'static str), &'static str>;

#[test]
fn a_single_file_is_taken_by_its_name_or_its_header() {
    let marks = b"part,stamp\nCY-1180,11-21 E\n".as_slice();
    let cases: [(&str, &[u8], Taken); 7] = [
        ("parts.csv", PARTS.1, Ok((FolderFile::Parts, "parts.csv:2"))),
        ("Parts.CSV", PARTS.1, Ok((FolderFile::Parts, "Parts.CSV:2"))),
        ("collar stamps.csv", marks, Ok((FolderFile::Marks, "collar stamps.csv:2"))),
        ("spring.csv", b"on,event,unit\n2026-02-01,fire,R-014\n", Ok((FolderFile::Events, "spring.csv:2"))),
        (
            "spring.csv",
            b"on,event,unit,cost\n2026-02-01,fire,R-014,1\n",
            Err("spring.csv:1: cost: is not a column of events.csv; known are unit, on, event, note"),
        ),
        (
            "list.csv",
            b"tyre,size\n1,2\n",
            Err(
                "list.csv:1: file: is named like no file of a fleet folder, and its first line is the header of none; \
                 name it as `parts.csv`",
            ),
        ),
        (
            "list.csv",
            b"PK\x03\x04",
            Err("list.csv:1: file: is a workbook or zip archive under the name of a CSV file; save the sheet as \
                 `CSV UTF-8 (comma delimited)`"),
        ),
    ];
    for (name, content, expected) in cases {
        let folder = folder(&[(name, content)]);
        let read = match read(&folder.path().join(name)) {
            Ok(import) => Ok((import.facts[0].file, origin(&import, 0))),
            Err(error) => Err(error.to_string()),
        };
        let expected = expected.map(|(file, origin)| (file, origin.to_owned())).map_err(str::to_owned);
        assert_eq!(read, expected, "{name}");
    }
}

#[test]
fn hidden_files_and_texts_are_passed_over() {
    let folder = folder(&[UNITS, PARTS, (".DS_Store", b"\0"), ("README.md", b"hello"), ("Notes.TXT", b"\xff")]);
    assert_eq!(read(folder.path()).unwrap().facts.len(), 3);
}

#[test]
fn the_same_file_in_other_capitals_is_refused() {
    let folder = folder(&[UNITS, PARTS, ("Units.csv", UNITS.1)]);
    if fs::read_dir(folder.path()).unwrap().count() < 3 {
        return; // This disk takes the two names for one.
    }
    assert_eq!(
        report(folder.path()),
        "units.csv:1: file: is the same file as `Units.csv` but for capital letters; keep one\n"
    );
}

#[test]
fn a_file_over_the_limit_is_refused_unread() {
    let folder = folder(&[UNITS, PARTS]);
    let bytes = MAX_FILE_BYTES + 1;
    fs::File::create(folder.path().join("units.csv")).unwrap().set_len(bytes).unwrap();
    let said = format!(
        "units.csv:1: file: has {bytes} bytes; at most {MAX_FILE_BYTES} are read, so split the fleet by depot\n"
    );
    assert_eq!(report(folder.path()), said);
}

#[test]
fn a_path_that_is_not_there_is_named() {
    let error = read(Path::new("/nowhere/fleet")).unwrap_err();
    assert!(matches!(error, FolderError::Absent { .. }));
    assert_eq!(error.to_string(), "`/nowhere/fleet` does not exist");
}

#[test]
fn headers_without_rows_say_nothing_and_are_noted() {
    let folder = folder(&[("units.csv", b"unit,depot\r\n"), ("parts.csv", b"part,kind")]);
    let import = read(folder.path()).unwrap();
    let notes: Vec<String> = import.notes.iter().map(ToString::to_string).collect();
    assert_eq!(import.facts, []);
    assert_eq!(notes, ["units.csv has a header and no rows", "parts.csv has a header and no rows"]);
}

#[test]
fn a_depot_nobody_described_is_entered_once_unless_the_book_has_it() {
    let units = b"unit,depot\nR-1,HARBOR\nR-2,HARBOR\nR-3,HARBR\nR-4,MESA\n";
    let folder = folder(&[("units.csv", units), PARTS, ("depots.csv", b"depot,timezone\nHARBOR,UTC\n")]);
    let known = |depots: &[&str]| {
        let import = read_folder(folder.path(), today(), &|code| depots.contains(&code.as_str()), &mut |_| {}).unwrap();
        let notes: Vec<String> = import.notes.iter().map(ToString::to_string).collect();
        let kinds: Vec<String> = (0..import.facts.len()).map(|index| origin(&import, index)).collect();
        (notes, kinds)
    };
    let added = |line: u32, depot: &str, near: &str| {
        format!(
            "units.csv:{line}: depot: `{depot}` is not described in depots.csv; it is entered with time zone UTC and \
             rules us{near}"
        )
    };
    let units = ["units.csv:2", "units.csv:3", "units.csv:4", "units.csv:5"];
    let (notes, origins) = known(&[]);
    assert_eq!(notes, [added(4, "HARBR", " (was `HARBOR` meant?)"), added(5, "MESA", "")]);
    assert_eq!(origins, [&["depots.csv:2", "units.csv:4", "units.csv:5"][..], &units, &["parts.csv:2"]].concat());
    let (notes, origins) = known(&["MESA"]);
    assert_eq!(notes, [added(4, "HARBR", " (was `HARBOR` meant?)")]);
    assert_eq!(origins, [&["depots.csv:2", "units.csv:4"][..], &units, &["parts.csv:2"]].concat());
}

#[test]
fn progress_ends_at_every_byte() {
    let folder = folder(&[UNITS, PARTS]);
    let total = (UNITS.1.len() + PARTS.1.len()) as u64;
    let mut reports: Vec<Progress> = Vec::new();
    read_folder(folder.path(), today(), &|_| false, &mut |progress| reports.push(progress)).unwrap();
    let done = |file, done| Progress { file, done, total };
    assert_eq!(reports, [done(FolderFile::Units, UNITS.1.len() as u64), done(FolderFile::Parts, total)]);
}

/// The user's page lists the same columns as the program reads, with the same needs and units.
#[test]
fn the_page_on_the_fleet_folder_is_true() {
    let page = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/fleet-folder.md")).unwrap();
    for file in FolderFile::ALL {
        let heading = format!("\n### {file}\n");
        let section = page.split_once(&heading).unwrap_or_else(|| panic!("no section on {file}")).1;
        let section = section.split("\n#").next().unwrap();
        let rows = section.lines().filter_map(|line| line.strip_prefix("| `"));
        let written: Vec<(String, String)> = rows
            .map(|row| {
                let mut cells = row.split('|').map(str::trim);
                let name = cells.next().unwrap().trim_end_matches('`').to_owned();
                (name, cells.next().unwrap().to_owned())
            })
            .collect();
        let columns: Vec<(String, String)> = file
            .columns()
            .iter()
            .map(|column| {
                let need = match column.need {
                    pigtail::exchange::Need::Required => "yes",
                    pigtail::exchange::Need::Optional => "no",
                    pigtail::exchange::Need::OneOf => "one of",
                };
                (column.name.to_owned(), need.to_owned())
            })
            .collect();
        assert_eq!(written, columns, "{file}");
        for column in file.columns().iter().filter(|column| !column.unit.is_empty()) {
            let row = section.lines().find(|line| line.starts_with(&format!("| `{}`", column.name))).unwrap();
            assert!(row.contains(column.unit), "{file}: {} is in {}", column.name, column.unit);
        }
    }
}
