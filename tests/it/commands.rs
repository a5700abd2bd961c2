//! Whole commands: status, data and talk, as typed.

use crate::program::{Desk, Ran, path_text, type_words};
use serde_json::{Value, json};

fn said(ran: &Ran) -> String {
    format!("status {}\n{}--\n{}", ran.status, ran.out, ran.err)
}

/// Types lines into one fleet and gives all of it back as one text.
fn typed(desk: &Desk, lines: &[&str]) -> String {
    let mut all = String::new();
    for line in lines {
        let words = crate::readme::split(line);
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        all.push_str(&format!("$ {line}\n{}", said(&desk.types(&words))));
    }
    all.replace(path_text(desk.folder.path()), "FOLDER")
}

#[test]
fn a_register_kept_by_hand() {
    let desk = Desk::new("2026-03-02");
    insta::assert_snapshot!(typed(
        &desk,
        &[
            "due",
            "init",
            "init",
            "depot add YARD --name \"The Yard\" --timezone America/Denver --elevation 5280 --digest-to boss@yard.example",
            "depot add YARD",
            "depot amend YARD --elevation 5300",
            "unit add T-1 --depot YARD --body \"travel trailer\" --vin 1M8GDM9AXKP042788",
            "unit add T-2 --depot YRAD",
            "unit add T-3 --depot YARD --vin 1M8GDM9A1KP042788",
            "part add CY-1 --kind cylinder --spec DOT-4BA240 --made 2015-06",
            "part fit CY-1 T-1 --position left",
            "part fit CY-1 T-1",
            "part add CY-2 --kind cylinder --spec DOT-4BA99X --made 2015-06 --unit T-1",
            "part add HS-1 --kind hose --made 2027-01",
            "part add HS-1 --kind hose --made 2024-01 --unit T-1",
            "part list",
            "person add ada --name \"Ada Ferrow\" --skill gas --credential-until 2027-01-31",
            "person add ada",
            "part mark CY-1 \"02 A123 25 E\"",
            "part mark CY-1 \"13-21\"",
            "part mark HS-1 \"02-25 E\"",
            "due --all",
            "part pull CY-1",
            "part scrap HS-1 --because \"chafed through\"",
            "part show HS-1",
            "unit move T-1 YARDD",
            "unit retire T-1 --because sold",
            "due --all",
            "journal verify --format json",
        ],
    )
    .lines()
    .map(|line| if line.starts_with("{\"ok\":true") { "{\"ok\":true …" } else { line })
    .collect::<Vec<_>>()
    .join("\n"));
}

#[test]
fn a_visit_closed_out() {
    let desk = Desk::with_demo_fleet();
    insta::assert_snapshot!(typed(
        &desk,
        &[
            "closeout R-007 --by brandt",
            "closeout R-007 --by brand --note looked",
            "closeout R-07 --by brandt --note looked",
            "closeout R-007 --by brandt --replace HS-4112=made:2026-01,serial:77-A --check extinguisher-look=fail:\"needle in the red\"",
            "due --unit R-007 --within 30d",
            "ready R-007",
            "hold list --unit R-007",
            "hold lift R-007 --because \"looks fine\"",
            "closeout R-007 --by brandt --check extinguisher-look=pass --gauge TUBE-1 --lockup 11.4 --flow 10.9 --load 60 --drop 9.0:9.0 --minutes 4 --air 58F --air-after 58F",
            "ready R-007",
            "closeout R-009 --by brandt --gauge DIAL-2 --lockup 11.4 --flow 10.9 --load 60 --drop 9.0:9.0 --minutes 4",
            "closeout R-009 --by brandt --gauge TUBE-1 --lockup 14.6 --flow 10.9 --load 60 --drop 9.0:9.0 --minutes 4 --air 58F --air-after 58F",
            "closeout R-009 --by brandt --mark CY-1101=xx",
            "closeout R-009 --by brandt --mark \"CY-9999=03 21 E\"",
        ],
    ));
}

#[test]
fn holds_events_and_gauges() {
    let desk = Desk::with_demo_fleet();
    insta::assert_snapshot!(typed(
        &desk,
        &[
            "hold add R-005 --because \"\"",
            "hold place R-005 --because \"odd smell reported\"",
            "ready R-005",
            "hold lift R-005 --because \"nothing found by licensed service\"",
            "hold lift R-005 --because again",
            "ready R-005",
            "event R-005 system-opened",
            "ready R-005 --format json",
            "gauge add DIAL-9 --kind dial --resolution 0.2",
            "gauge check DIAL-9 --reading 11.0 --reference 11.1 --by kovac",
            "gauge check DIGI-3 --reading 11.9 --reference 11.0 --by osei",
            "due --kind gauge --all",
            "due --unit R-032 --within 10d",
        ],
    ));
}

/// The JSON of `due`, key for key as outside programs were promised it.
#[test]
fn due_as_json() {
    let desk = Desk::new("2026-03-02");
    let folder = desk.path("folder");
    std::fs::create_dir(&folder).unwrap();
    std::fs::write(folder.join("units.csv"), "unit,depot\nR-014,HARBOR\n").unwrap();
    std::fs::write(
        folder.join("parts.csv"),
        "part,unit,kind,position,spec,made\nCY-1180,R-014,cylinder,front left,DOT-4BA240,2014-02\n",
    )
    .unwrap();
    assert_eq!(desk.types(&["import", path_text(&folder)]).status, 0);
    let ran = desk.types(&["due", "--kind", "cylinder", "--format", "json"]);
    let found: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(
        found,
        json!({"as_of": "2026-03-02", "until": "2026-05-01",
            "counts": {"overdue": 1, "due": 0, "in-date": 0, "undated": 0},
            "items": [{"depot": "HARBOR", "unit": "R-014", "part": "CY-1180", "kind": "cylinder",
                "position": "front left", "rule": "cylinder-requalification", "what": "requalify or replace cylinder",
                "due_on": "2026-02-28", "days": -2, "state": "overdue", "authority": "law", "cite": "49 CFR 180.209(e)",
                "because": "made 2014-02; first period 12 years; to the end of the month"}]})
    );
    assert_eq!(desk.types(&["due", "--kind", "cylinder", "--check"]).status, 1);
    assert_eq!(desk.types_on("2026-02-28", &["due", "--kind", "cylinder", "--check"]).status, 0);
}

/// What is exported reads back to the same export, byte for byte; and reading it again changes nothing.
#[test]
fn export_and_import_are_each_others_inverse() {
    let desk = Desk::with_demo_fleet();
    let (first, second) = (desk.path("first"), desk.path("second"));
    assert_eq!(desk.types(&["export", path_text(&first)]).status, 0);
    let again = desk.types(&["import", path_text(&first)]);
    assert!(again.out.ends_with("recorded 0 facts; 690 were on record already\n"), "{}", again.out);
    let other = Desk::new("2026-03-02");
    assert_eq!(other.types(&["import", path_text(&first)]).status, 0);
    assert_eq!(other.types(&["export", path_text(&second)]).status, 0);
    let files: Vec<_> = std::fs::read_dir(&first).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(files.len(), 14);
    for file in files {
        assert_eq!(std::fs::read(first.join(&file)).unwrap(), std::fs::read(second.join(&file)).unwrap(), "{file:?}");
    }
}

/// `ready` is never yes on a day on which `due` shows the unit overdue or undated.
#[test]
fn ready_agrees_with_due_on_every_day() {
    let desk = Desk::with_demo_fleet();
    let mut seen = [0, 0];
    for ahead in [0, 1, 2, 5, 9, 14, 30, 60, 200, 400] {
        let today: pigtail::model::Day = "2026-03-02".parse().unwrap();
        let today = today.plus_days(ahead).to_string();
        let due: Value =
            serde_json::from_str(&desk.types_on(&today, &["due", "--all", "--format", "json"]).out).unwrap();
        let ready: Value =
            serde_json::from_str(&desk.types_on(&today, &["ready", "--all", "--format", "json"]).out).unwrap();
        for unit in ready["units"].as_array().unwrap() {
            let late =
                due["items"].as_array().unwrap().iter().any(|item| {
                    item["unit"] == unit["unit"] && (item["state"] == "overdue" || item["state"] == "undated")
                });
            let is_ready = unit["ready"] == json!(true);
            assert!(!(late && is_ready), "{today}: {unit}");
            seen[usize::from(is_ready)] += 1;
        }
    }
    assert!(seen[0] > 20 && seen[1] > 20, "{seen:?}");
}

#[test]
fn help_version_and_slips() {
    let version = type_words(&["pigtail", "--version"]);
    assert_eq!((version.status, version.out.as_str()), (0, concat!("pigtail ", env!("CARGO_PKG_VERSION"), "\n")));
    let slips = [
        vec!["pigtail", "deu"],
        vec!["pigtail", "due", "--within", "soon"],
        vec!["pigtail", "due", "--state", "overdo"],
        vec!["pigtail", "--today", "3/2/2026", "due"],
        vec!["pigtail", "closeout", "R-1", "--by", "ada", "--check", "x"],
        vec!["pigtail", "--db", "/nowhere/at/all.db", "due"],
        vec!["pigtail", "calc", "stamp", "11-21X"],
    ];
    let all: Vec<String> =
        slips.iter().map(|words| format!("$ {}\n{}", words.join(" "), said(&type_words(words)))).collect();
    insta::assert_snapshot!(all.join(""));
}
