//! The fleet folder there and back: what is written is read again, whatever texts it holds, and nothing at all makes
//! reading panic or dawdle.

use crate::folder::{read, today};
use crate::folder_fleets::{character, happenings, nouns, one_of, spelled};
use pigtail::exchange::{FolderError, FolderFile, Import, WriteError, read_folder, write_folder};
use pigtail::journal::{Change, Fact};
use pigtail::model::{Fleet, Named, Text};
use proptest::collection::vec;
use proptest::prelude::{ProptestConfig, Strategy, any, prop_assert, prop_assert_eq, proptest};
use proptest::sample::select;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

/// The facts of an import as what would be exported once they are recorded.
fn view(import: &Import) -> Fleet {
    let mut fleet = Fleet::default();
    for located in &import.facts {
        match located.fact.clone() {
            Fact::Test(test) => fleet.gas_tests.push(test),
            Fact::Change(Change::Depot(depot)) => fleet.depots.push(depot),
            Fact::Change(Change::Unit(unit)) => fleet.units.push(unit),
            Fact::Change(Change::Appliance(appliance)) => fleet.appliances.push(appliance),
            Fact::Change(Change::Part(part)) => fleet.parts.push(part),
            Fact::Change(Change::Mark(mark)) => fleet.marks.push(mark),
            Fact::Change(Change::Person(person)) => fleet.people.push(person),
            Fact::Change(Change::Gauge(gauge)) => fleet.gauges.push(gauge),
            Fact::Change(Change::GaugeCheck(check)) => fleet.gauge_checks.push(check),
            Fact::Change(Change::Check(check)) => fleet.checks.push(check),
            Fact::Change(Change::Booking(booking)) => fleet.bookings.push(booking),
            Fact::Change(Change::Hold(hold)) => fleet.holds.push(hold),
            Fact::Change(Change::Event(event)) => fleet.events.push(event),
            Fact::Change(Change::Calendar(line)) => fleet.calendar.push(line),
            Fact::Change(other) => panic!("import made {other:?}"),
        }
    }
    fleet
}

/// Every row of a fleet, sorted, whatever list order it came in.
fn rows(fleet: &Fleet) -> Vec<String> {
    fn shown<T: std::fmt::Debug>(list: &[T], rows: &mut Vec<String>) {
        rows.extend(list.iter().map(|item| format!("{item:?}")));
    }
    let mut rows = Vec::new();
    shown(&fleet.depots, &mut rows);
    shown(&fleet.units, &mut rows);
    shown(&fleet.appliances, &mut rows);
    shown(&fleet.parts, &mut rows);
    shown(&fleet.marks, &mut rows);
    shown(&fleet.people, &mut rows);
    shown(&fleet.gauges, &mut rows);
    shown(&fleet.gauge_checks, &mut rows);
    shown(&fleet.gas_tests, &mut rows);
    shown(&fleet.checks, &mut rows);
    shown(&fleet.bookings, &mut rows);
    shown(&fleet.holds, &mut rows);
    shown(&fleet.events, &mut rows);
    shown(&fleet.calendar, &mut rows);
    rows.sort();
    rows
}

/// Every file of a folder with its bytes.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    entries.map(|path| (path.file_name().unwrap().to_string_lossy().into_owned(), fs::read(&path).unwrap())).collect()
}

/// Reads a folder as a book that knows every depot would.
fn read_knowing(folder: &Path) -> Result<Import, FolderError> {
    read_folder(folder, today(), &|_| true, &mut |_| {})
}

/// Writes a fleet, reads it, writes that: equal rows, equal bytes. Gives the bytes.
fn there_and_back(fleet: &Fleet) -> BTreeMap<String, Vec<u8>> {
    let (first, second) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    write_folder(first.path(), fleet).unwrap();
    let import = read_knowing(first.path()).unwrap_or_else(|error| panic!("{error}"));
    let again = view(&import);
    assert_eq!(rows(&again), rows(fleet));
    write_folder(second.path(), &again).unwrap();
    assert_eq!(files(first.path()), files(second.path()));
    let twice = read_knowing(second.path()).unwrap();
    assert_eq!(import.facts, twice.facts);
    files(first.path())
}

/// A text as a spreadsheet must not run it: no cell of a written file begins so, quoted or not.
fn would_run(cell: &str) -> bool {
    cell.starts_with(|c: char| matches!(c, '=' | '+' | '-' | '@') || c.is_control())
}

proptest! {
    // Each case writes and reads whole folders, so fewer than usual.
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn what_is_written_is_read_again(nouns in nouns(), happenings in happenings()) {
        let fleet = Fleet {
            depots: nouns.depots,
            units: nouns.units,
            appliances: nouns.appliances,
            parts: nouns.parts,
            people: nouns.people,
            gauges: nouns.gauges,
            ..happenings
        };
        for (name, bytes) in there_and_back(&fleet) {
            let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(bytes.as_slice());
            for record in reader.records() {
                let record = record.unwrap();
                prop_assert!(!record.iter().any(would_run), "{}: {:?}", name, record);
            }
        }
    }

    /// The other CSV library writes, we read: quoted or not, each of the three line ends.
    #[test]
    fn texts_written_by_another_hand_are_read_as_they_were_meant(
        notes in vec(spelled::<Text>(12), 1..6),
        always in any::<bool>(),
        end in select(vec![csv::Terminator::CRLF, csv::Terminator::Any(b'\n'), csv::Terminator::Any(b'\r')]),
    ) {
        let style = if always { csv::QuoteStyle::Always } else { csv::QuoteStyle::Necessary };
        let mut writer = csv::WriterBuilder::new().quote_style(style).terminator(end).from_writer(Vec::new());
        writer.write_record(["unit", "note", "depot"]).unwrap();
        // The apostrophe is ours, not CSV's.
        let notes: Vec<&Text> = notes.iter().filter(|note| !note.as_str().starts_with('\'')).collect();
        for (index, note) in notes.iter().enumerate() {
            writer.write_record([&format!("R-{index}"), note.as_str(), "HARBOR"]).unwrap();
        }
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("units.csv");
        fs::write(&path, writer.into_inner().unwrap()).unwrap();
        let import = read_knowing(&path).unwrap();
        let fleet = view(&import);
        prop_assert_eq!(fleet.units.iter().map(|unit| &unit.note).collect::<Vec<_>>(), notes);
    }

    #[test]
    fn no_bytes_make_reading_panic(file in one_of::<FolderFile>(), bytes in vec(any::<u8>(), 0..300)) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(file.name());
        fs::write(&path, bytes).unwrap();
        read(&path).ok();
    }

    #[test]
    fn no_cells_make_reading_panic(
        file in one_of::<FolderFile>(),
        rows in vec(vec(proptest::prop_oneof![
            select(vec!["", "2026-02", "2026-02-03", "3/2/26", "45292", "11-21 E", "-1", "1e5", "mon", "R-1", "\"", "\"\""])
                .prop_map(str::to_owned),
            vec(character(), 0..6).prop_map(|chars| chars.into_iter().collect::<String>()),
        ], 0..16), 0..6),
    ) {
        let header: Vec<&str> = file.columns().iter().map(|column| column.name).collect();
        let rows: Vec<String> = rows.iter().map(|row| row.join(",")).collect();
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(file.name());
        fs::write(&path, format!("{}\n{}", header.join(","), rows.join("\n"))).unwrap();
        if let Ok(import) = read_knowing(&path) {
            there_and_back(&view(&import));
        }
    }

    /// A good file with a few bytes changed is refused or read, and what is read can be written.
    #[test]
    fn good_files_gone_bad_do_no_harm(
        changes in vec((any::<proptest::sample::Index>(), any::<proptest::sample::Index>(), any::<u8>(), 0_u8..3), 1..4),
    ) {
        let good = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/messy");
        let mut content = files(&good);
        content.remove("expected.txt");
        for (which, at, byte, kind) in changes {
            let name = content.keys().nth(which.index(content.len())).unwrap().clone();
            let bytes = content.get_mut(&name).unwrap();
            let at = at.index(bytes.len());
            match kind {
                0 => bytes[at] = byte,
                1 => bytes.insert(at, byte),
                _ => drop(bytes.remove(at)),
            }
        }
        let folder = tempfile::tempdir().unwrap();
        for (name, bytes) in content {
            fs::write(folder.path().join(name), bytes).unwrap();
        }
        match read_knowing(folder.path()) {
            Ok(import) => drop(there_and_back(&view(&import))),
            Err(FolderError::Refused(problems)) => prop_assert!(problems.count() > 0),
            Err(other) => panic!("{other}"),
        }
    }
}

/// Files made to be slow: at a million bytes anything that looks at the whole file for every byte, row, column or
/// fault takes minutes.
#[test]
fn awkward_files_are_gone_through_once() {
    const BYTES: usize = 1_000_000;
    let repeat = |piece: &str| piece.repeat(BYTES / piece.len());
    let cases = [
        ("commas", repeat(",")),
        ("quotes", repeat("\"")),
        ("blank lines", format!("part,kind\n{}", repeat("\n"))),
        ("blank rows", format!("part,kind\n{}", repeat(",\n"))),
        ("one long line", repeat("x")),
        ("a header of strangers", repeat("price,")),
        ("a header of one column", repeat("part,")),
        ("an open quote", format!("part,kind\n\"{}", repeat("a,\n"))),
        ("quotes within quotes", format!("part,kind\n\"{}\",hose\n", repeat("\"\""))),
        ("bad words", format!("part,kind\n{}", repeat("H,hoes\n"))),
        ("bad dates", format!("kind,part,made\n{}", repeat("hose,H,3/2/2026\n"))),
        ("one wide row", format!("part,kind\n{}", repeat("x,"))),
        ("apostrophes", format!("part,kind,note\nH,hose,{}=", repeat("'"))),
    ];
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("parts.csv");
    for (name, content) in cases {
        fs::write(&path, &content).unwrap();
        let begun = Instant::now();
        let refused = matches!(read(&path), Err(FolderError::Refused(_)));
        assert_eq!(refused, !name.starts_with("blank"), "{name}");
        assert!(begun.elapsed() < Duration::from_secs(10), "{name}: {:?}", begun.elapsed());
    }
}

#[test]
fn the_messy_folder_is_written_clean() {
    let import = read(&Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/messy")).unwrap();
    let files = there_and_back(&view(&import));
    let units = "unit,depot,body,vin,plate,model_year,in_service_on,retired_on,note\r\n\
                 R-014,HARBOR,class C,1M8GDM9AXKP042788,0042,2016,2016-05-01,,\"says \"\"new\"\"\nas of May\"\r\n\
                 R-015,HARBOR,travel trailer,,'+49 1,1975,,,'=see sheet 2\r\n\
                 R-016,PINE,,OLD123,,1975,,2020-12-31,''@home\r\n";
    assert_eq!(String::from_utf8_lossy(&files["units.csv"]), units);
    let calendar = "depot,person,weekday,on,minutes\r\n\
                    HARBOR,,mon,,480\r\nHARBOR,,sun,,0\r\nHARBOR,ana,,2026-03-09,0\r\n";
    assert_eq!(String::from_utf8_lossy(&files["calendar.csv"]), calendar);
    let tests = "unit,on,by,gauge,tap,lockup,flow,load,drop_start,drop_end,minutes,air_f,air_after_f,elevation_ft\r\n\
                 R-014,2026-02-01,ana,D-1,main,12.5,11,75,8,8,3,0,'-5,200\r\n\
                 R-014,2026-02-01,ana,D-1,range-outlet,5,,,,,,,,\r\n\
                 R-015,2025-02-01,,,main,,,,,,,,,\r\n";
    assert_eq!(String::from_utf8_lossy(&files["gas_tests.csv"]), tests);
    let names: Vec<&str> = files.keys().map(String::as_str).collect();
    let mut all: Vec<&str> = FolderFile::ALL.iter().map(|file| file.name()).collect();
    all.sort_unstable();
    assert_eq!(names, all);
}

#[test]
fn the_demo_fleet_is_a_good_folder() {
    let import = read(&Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/demo")).unwrap_or_else(|e| panic!("{e}"));
    assert!(import.facts.len() > 100);
    there_and_back(&view(&import));
}

#[test]
fn files_without_rows_are_left_out_but_for_three() {
    let folder = tempfile::tempdir().unwrap();
    let target = folder.path().join("new/folder");
    let written = write_folder(&target, &Fleet::default()).unwrap();
    assert_eq!(written.files, [(FolderFile::Depots, 0), (FolderFile::Units, 0), (FolderFile::Parts, 0)]);
    let headers: Vec<Vec<u8>> = files(&target).into_values().collect();
    let expected = [
        "depot,name,timezone,elevation_ft,rules,digest_to\r\n",
        "part,unit,kind,position,spec,serial,made,fitted_on,replace_by,note\r\n",
        "unit,depot,body,vin,plate,model_year,in_service_on,retired_on,note\r\n",
    ];
    assert_eq!(headers, expected.map(|header| header.as_bytes().to_vec()));
}

#[test]
fn an_earlier_export_is_replaced_whole() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["units.csv", "marks.csv", "notes.md", ".hidden"] {
        fs::write(folder.path().join(name), "of old").unwrap();
    }
    let written = write_folder(folder.path(), &Fleet::default()).unwrap();
    assert_eq!(written.removed, [FolderFile::Marks]);
    let names: Vec<String> = files(folder.path()).into_keys().collect();
    assert_eq!(names, [".hidden", "depots.csv", "notes.md", "parts.csv", "units.csv"]);
    assert!(!fs::read(folder.path().join("units.csv")).unwrap().starts_with(b"of old"));
}

#[test]
fn a_folder_with_other_peoples_files_is_left_alone() {
    for other in ["tyres.csv", "Units.csv", "photo.jpg"] {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join(other), "theirs").unwrap();
        let error = write_folder(folder.path(), &Fleet::default()).unwrap_err();
        assert!(matches!(&error, WriteError::OtherFiles { name, .. } if name == other), "{error}");
        assert_eq!(files(folder.path()), BTreeMap::from([(other.to_owned(), b"theirs".to_vec())]));
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("fleet.csv");
    fs::write(&file, "theirs").unwrap();
    let error = write_folder(&file, &Fleet::default()).unwrap_err();
    assert!(matches!(error, WriteError::NotAFolder { .. }), "{error}");
}
