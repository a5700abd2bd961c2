//! Promised visits, from `plan keep` to the close-out that fulfils them.
//!
//! Owns: what the three people see of a promise. Refuses: how good plans are, which the other `plan_` tables say.

use crate::program::{Desk, path_text};
use pigtail::model::Day;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::fs;

/// One depot, one technician on weekdays, units whose gas test falls due on the day given, and their hires.
fn yard(tests: &[(&str, &str)], hires: &[(&str, &str, &str)]) -> Desk {
    let desk = Desk::new("2026-03-02");
    let folder = desk.path("fleet");
    fs::create_dir(&folder).unwrap();
    let write = |name: &str, text: String| fs::write(folder.join(name), text).unwrap();
    write("depots.csv", "depot,name,timezone,rules\nHARBOR,Harbour Yard,America/Denver,us\n".to_owned());
    write("people.csv", "person,name,skills\nbrandt,A. Brandt,gas\nosei,K. Osei,gas\n".to_owned());
    let days = ["mon", "tue", "wed", "thu", "fri"];
    let lines = days.map(|day| format!("HARBOR,brandt,{day},,180\n")).concat();
    write("calendar.csv", format!("depot,person,weekday,on,minutes\n{lines}HARBOR,osei,wed,,180\n"));
    let units = tests.iter().map(|(unit, _)| format!("{unit},HARBOR\n")).collect::<String>();
    write("units.csv", format!("unit,depot\n{units}"));
    write("gauges.csv", "gauge,kind,resolution_inwc\nTUBE,u-tube,0.1\n".to_owned());
    write("parts.csv", "part,unit,kind\n".to_owned());
    let rows = hires.iter().enumerate().map(|(at, (unit, out, back))| format!("B-{at},{unit},{out},{back}\n"));
    write("bookings.csv", format!("booking,unit,out_on,back_on\n{}", rows.collect::<String>()));
    let row = |(unit, due): &(&str, &str)| {
        let due: Day = due.parse().unwrap();
        // Passed a year before it falls due.
        let on = due.to_string().replacen("2026", "2025", 1);
        format!("{unit},{on},brandt,TUBE,main,11.4,11.0,60,9.0,9.0,4,58,58,0\n")
    };
    let rows = tests.iter().map(row).collect::<String>();
    write(
        "gas_tests.csv",
        format!(
            "unit,on,by,gauge,tap,lockup,flow,load,drop_start,drop_end,minutes,air_f,air_after_f,elevation_ft\n{rows}"
        ),
    );
    let ran = desk.types(&["import", path_text(&folder)]);
    assert_eq!(ran.status, 0, "{}{}", ran.out, ran.err);
    desk
}

/// Day and promised day of each unit's gas test.
fn planned(desk: &Desk, today: &str, more: &[&str]) -> BTreeMap<String, (String, Value)> {
    let words: Vec<&str> =
        ["--format", "json", "plan", "--weeks", "6"].into_iter().chain(more.iter().copied()).collect();
    let ran = desk.types_on(today, &words);
    let plan: Value = serde_json::from_str(&ran.out).unwrap_or_else(|_| panic!("{}{}", ran.out, ran.err));
    let visits = plan["visits"].as_array().unwrap().iter();
    let day = |visit: &Value| (visit["on"].as_str().unwrap().to_owned(), visit["work"][0]["promised_on"].clone());
    visits.map(|visit| (visit["unit"].as_str().unwrap().to_owned(), day(visit))).collect()
}

fn due(desk: &Desk) -> BTreeMap<String, Value> {
    let ran = desk.types(&["--format", "json", "due", "--all"]);
    let due: Value = serde_json::from_str(&ran.out).unwrap();
    let tests = due["items"].as_array().unwrap().iter().filter(|item| item["rule"] == "gas-test");
    tests.map(|item| (item["unit"].as_str().unwrap().to_owned(), item["planned_on"].clone())).collect()
}

const THREE: [(&str, &str); 3] = [("R-1", "2026-03-11"), ("R-2", "2026-03-20"), ("R-3", "2026-04-10")];

#[test]
fn near_visits_are_promised_and_shown_and_far_ones_are_not() {
    let desk = yard(&THREE, &[]);
    let before = planned(&desk, "2026-03-02", &[]);
    assert_eq!(before["R-1"], ("2026-03-04".to_owned(), Value::Null), "a week before its last day");
    let ran = desk.types(&["plan", "keep", "--weeks", "6"]);
    assert_eq!(
        (ran.status, ran.out.as_str()),
        (0, "promised 2 visits: 2 items new, 0 items on another day than before; 0 items taken back\n")
    );
    let due = due(&desk);
    assert_eq!(due["R-1"], json!("2026-03-04"));
    assert_eq!(due["R-2"], json!("2026-03-13"));
    assert_eq!(due["R-3"], Value::Null);
    let again = desk.types(&["plan", "keep", "--weeks", "6"]);
    assert_eq!(again.out, "every visit was promised as it is already: 2 visits\n");
    let digest = desk.types(&["digest", "show", "--format", "text"]);
    assert!(digest.out.contains("planned for 2026-03-04"), "{}", digest.out);
    assert_eq!(desk.types(&["journal", "verify"]).status, 0);
}

#[test]
fn a_near_promise_stays_although_another_day_would_be_better_by_now() {
    let desk = yard(&THREE, &[]);
    desk.types(&["plan", "keep", "--weeks", "6"]);
    // On its own the test of R-2 would wait for the buffer's last day; with another buffer it would wait longer.
    let freely = planned(&yard(&THREE, &[]), "2026-03-02", &["--buffer", "1"]);
    assert_eq!(freely["R-2"].0, "2026-03-19");
    let bound = planned(&desk, "2026-03-02", &["--buffer", "1"]);
    assert_eq!(bound["R-2"], ("2026-03-13".to_owned(), json!("2026-03-13")));
}

#[test]
fn closing_out_fulfils_a_promise_early_or_on_the_day() {
    let desk = yard(&THREE, &[]);
    desk.types(&["plan", "keep", "--weeks", "6"]);
    let test = [
        "--gauge",
        "TUBE",
        "--lockup",
        "11.4",
        "--flow",
        "11.0",
        "--load",
        "60",
        "--drop",
        "9.0:9.0",
        "--minutes",
        "4",
    ];
    let words: Vec<&str> = ["closeout", "R-1", "--by", "brandt"]
        .into_iter()
        .chain(test)
        .chain(["--air", "58F", "--air-after", "58F"])
        .collect();
    let ran = desk.types(&words);
    assert!(ran.out.contains("the visit planned for 2026-03-04 is fulfilled"), "{}{}", ran.out, ran.err);
    assert_eq!(due(&desk)["R-1"], Value::Null);
    // Whoever was there on the day and left the work undone has not kept the promise: it is planned anew.
    let ran = desk.types_on("2026-03-13", &["closeout", "R-2", "--by", "brandt", "--note", "no key"]);
    assert!(ran.out.contains("the visit planned for 2026-03-13 is fulfilled"), "{}{}", ran.out, ran.err);
    let after = planned(&desk, "2026-03-13", &[]);
    assert_eq!(after["R-2"].1, Value::Null);
    assert!(after["R-2"].0.as_str() <= "2026-03-20");
    assert_eq!(desk.types(&["journal", "verify"]).status, 0);
}

#[test]
fn voiding_the_close_out_brings_the_promise_back() {
    let desk = yard(&THREE, &[]);
    desk.types(&["plan", "keep", "--weeks", "6"]);
    let ran =
        desk.types(&["--format", "json", "closeout", "R-1", "--by", "brandt", "--on", "2026-03-02", "--note", "x"]);
    assert_eq!(due(&desk)["R-1"], json!("2026-03-04"), "a visit before the day that did nothing fulfils nothing");
    let ran_on = desk.types_on("2026-03-04", &["--format", "json", "closeout", "R-1", "--by", "brandt", "--note", "x"]);
    let closed: Value = serde_json::from_str(&ran_on.out).unwrap_or_else(|_| panic!("{}{}", ran.err, ran_on.err));
    assert_eq!(closed["fulfilled"], json!(["2026-03-04"]));
    assert_eq!(due(&desk)["R-1"], Value::Null);
    let seq = closed["recorded"][0]["seq"].to_string();
    let ran = desk.types(&["journal", "void", &seq, "--because", "another unit"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert_eq!(due(&desk)["R-1"], json!("2026-03-04"));
}

#[test]
fn a_hire_over_a_promise_is_cautioned_and_moves_that_visit_only() {
    let desk = yard(&THREE, &[]);
    desk.types(&["plan", "keep", "--weeks", "6"]);
    let ran = desk.types(&["booking", "add", "B-9", "R-1", "--out", "2026-03-03", "--back", "2026-03-09"]);
    assert!(
        ran.err.contains("caution: unit R-1 is planned for the workshop on 2026-03-04, when it is out"),
        "{}",
        ran.err
    );
    let ran = desk.types(&["plan", "--weeks", "6"]);
    assert!(
        ran.out.contains("promised for 2026-03-04 and no longer possible then: R-1: test gas system"),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("was 2026-03-04"), "{}", ran.out);
    let after = planned(&desk, "2026-03-02", &[]);
    assert_eq!(after["R-1"].0, "2026-03-02", "before the hire rather than inside the buffer after it");
    assert_eq!(after["R-2"].0, "2026-03-13");
    let ran = desk.types(&["plan", "keep", "--weeks", "6"]);
    assert_eq!(ran.out, "promised 2 visits: 0 items new, 1 item on another day than before; 0 items taken back\n");
    assert_eq!(due(&desk)["R-1"], json!(after["R-1"].0));
}

#[test]
fn a_failed_test_is_no_longer_bound_to_the_day_promised_for_the_yearly_one() {
    let desk = yard(&THREE, &[]);
    desk.types(&["plan", "keep", "--weeks", "6"]);
    let test = ["--gauge", "TUBE", "--drop", "9.0:7.5", "--minutes", "4", "--air", "58F", "--air-after", "58F"];
    let words: Vec<&str> = ["closeout", "R-2", "--by", "brandt"].into_iter().chain(test).collect();
    assert_eq!(desk.types(&words).status, 1);
    let after = planned(&desk, "2026-03-02", &[]);
    assert!(after["R-2"].0.as_str() < "2026-03-13", "{after:?}");
}

#[test]
fn what_was_not_done_on_its_day_is_said_to_be_missed_and_planned_again() {
    let desk = yard(&THREE, &[]);
    desk.types(&["plan", "keep", "--weeks", "6"]);
    let digest = desk.types_on("2026-03-06", &["digest", "show", "--format", "text"]);
    let words = digest.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("planned for 2026-03-04 and not recorded as done"), "{words}");
    let after = planned(&desk, "2026-03-06", &[]);
    assert!(after["R-1"].0.as_str() >= "2026-03-06" && after["R-1"].0.as_str() <= "2026-03-11");
    assert_eq!(after["R-1"].1, json!("2026-03-04"));
}

#[test]
fn a_promise_can_be_taken_back() {
    let desk = yard(&THREE, &[]);
    desk.types(&["plan", "keep", "--weeks", "6"]);
    let ran = desk.types(&["plan", "drop", "R-1"]);
    assert_eq!((ran.status, ran.out.as_str()), (0, "unit R-1: the visit planned for 2026-03-04 is taken back\n"));
    let ran = desk.types(&["plan", "drop", "R-1"]);
    assert_eq!(
        (ran.status, ran.err.as_str()),
        (2, "error: unit R-1 has no visit planned\nhint: pigtail plan shows what is planned\n")
    );
    assert_eq!(desk.types(&["plan", "drop", "R-9"]).status, 2);
    assert_eq!(due(&desk)["R-2"], json!("2026-03-13"));
}

#[test]
fn each_later_day_is_answered_for() {
    let desk = yard(&[("R-1", "2026-03-10"), ("R-2", "2026-03-10")], &[("R-1", "2026-03-03", "2026-03-06")]);
    let ran = desk.types(&["plan", "why", "R-1", "--buffer", "5"]);
    assert_eq!(
        ran.out,
        "R-1: test gas system: 2026-03-02\n  last good day 2026-03-10\n  2026-03-03 to 2026-03-05: away on hire B-0\n  \
         2026-03-06: possible, but inside the buffer before its last good day\n  2026-03-07 to 2026-03-08: nobody \
         qualified works long enough (brandt, osei off)\n  2026-03-09 to 2026-03-10: possible, but inside the buffer \
         before its last good day\n"
    );
    let ran = desk.types(&["--format", "json", "plan", "why", "R-1", "--buffer", "5"]);
    let why: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(why["items"][0]["on"], "2026-03-02");
    assert_eq!(why["items"][0]["later"][0]["says"], "away on hire B-0");
    assert_eq!(desk.types(&["plan", "why", "R-11"]).status, 2);
}

#[test]
fn what_if_compares_and_changes_nothing() {
    let desk = yard(&THREE, &[]);
    let before = fs::read(desk.db()).unwrap();
    let figures = |more: &[&str]| {
        let words: Vec<&str> =
            ["--format", "json", "plan", "--weeks", "6"].into_iter().chain(more.iter().copied()).collect();
        let ran = desk.types(&words);
        assert_eq!(ran.status, 0, "{}", ran.err);
        let compared: Value = serde_json::from_str(&ran.out).unwrap();
        assert_eq!(compared["as_is"]["without_a_day"], 0);
        compared["what_if"].clone()
    };
    // Osei works on Wednesdays, so a day is left for everything.
    let away = figures(&["--without", "brandt", "--from", "2026-03-02", "--to", "2026-03-20"]);
    assert_eq!((&away["without_a_day"], &away["overdue_days"]), (&json!(0), &json!(0)));
    assert_eq!(away["moved"], 1, "only R-2, planned for a Friday");
    let both = figures(&["--without", "brandt", "--without", "osei", "--from", "2026-03-02", "--to", "2026-03-12"]);
    assert_eq!(both["overdue_days"], 2, "R-1 waits from the 11th to the 13th");
    let saved = figures(&[
        "--without",
        "brandt",
        "--without",
        "osei",
        "--from",
        "2026-03-02",
        "--to",
        "2026-03-12",
        "--add-day",
        "osei:2026-03-08:90",
    ]);
    assert_eq!(saved["overdue_days"], 0, "a Sunday is added");
    let hired = figures(&["--as-if", "booking", "R-1", "2026-03-02", "2026-03-20"]);
    assert_eq!(hired["lost_hire_days"], 18);
    assert_eq!(fs::read(desk.db()).unwrap(), before);
}

#[test]
fn suppositions_that_mean_nothing_are_refused() {
    let desk = yard(&THREE, &[]);
    let cases: [(&[&str], &str); 6] = [
        (&["--without", "brand"], "error: person brand is not in the book; nearest is brandt"),
        (&["--without", "osei", "--from", "2026-03-09", "--to", "2026-03-02"], "error: --to is before --from"),
        (
            &["--as-if", "sale", "R-1", "2026-03-02", "2026-03-20"],
            "error: `sale` is not something that can be supposed",
        ),
        (&["--as-if", "booking", "R-1", "2026-03-20", "2026-03-02"], "error: back 2026-03-02 is before out 2026-03-20"),
        (&["--add-day", "brandt:2026-03-08"], "give PERSON:DATE:MINUTES"),
        (&["--add-day", "brandt:2026-03-08:5000"], "minutes are a number from 1 to 1440"),
    ];
    for (words, says) in cases {
        let words: Vec<&str> = ["plan"].into_iter().chain(words.iter().copied()).collect();
        let ran = desk.types(&words);
        assert_eq!((ran.status, ran.err.contains(says)), (2, true), "{words:?}: {}", ran.err);
    }
}

#[test]
fn a_person_gets_a_calendar_of_their_visits() {
    let desk = yard(&[("R-1", "2026-03-10"), ("R-2", "2026-03-10"), ("R-3", "2026-03-10")], &[]);
    // Too much for one person's Tuesday.
    let ran = desk.types(&["--format", "ics", "plan", "--buffer", "0", "--person", "brandt"]);
    let events = |text: &str| text.matches("BEGIN:VEVENT").count();
    assert!(ran.out.starts_with("BEGIN:VCALENDAR\r\n"), "{}", ran.out);
    assert!(ran.out.contains("DTSTART;VALUE=DATE:202603"), "{}", ran.out);
    let everybody = desk.types(&["--format", "ics", "plan", "--buffer", "0"]);
    assert_eq!(events(&everybody.out), 3);
    let osei = desk.types(&["--format", "ics", "plan", "--buffer", "0", "--person", "osei"]);
    assert_eq!(events(&ran.out) + events(&osei.out), 3);
}

#[test]
fn a_file_from_before_there_were_promises_is_brought_up_to_date() {
    let desk = yard(&THREE, &[]);
    let conn = rusqlite::Connection::open(desk.db()).unwrap();
    conn.execute_batch("DROP TABLE kept_work; PRAGMA user_version = 1;").unwrap();
    drop(conn);
    assert_eq!(desk.types(&["plan", "keep", "--weeks", "6"]).status, 0);
    assert_eq!(due(&desk)["R-1"], json!("2026-03-04"));
    assert_eq!(desk.types(&["journal", "verify"]).status, 0);
}

#[test]
fn hours_entered_by_command_are_planned_with() {
    let desk = yard(&[("R-1", "2026-03-10")], &[]);
    let ran = desk.types(&["depot", "hours", "HARBOR", "--on", "2026-03-10", "--on", "2026-03-09", "--minutes", "0"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert_eq!(
        planned(&desk, "2026-03-02", &["--buffer", "0"])["R-1"].0,
        "2026-03-06",
        "the depot is closed after that"
    );
    let ran = desk.types(&["depot", "hours", "HARBOR", "--person", "osei", "--on", "sun", "--minutes", "120"]);
    assert_eq!(ran.out, "recorded 15: calendar of depot HARBOR: osei sun 120 minutes\n");
    assert_eq!(planned(&desk, "2026-03-02", &["--buffer", "0"])["R-1"].0, "2026-03-08");
    let ran = desk.types(&["depot", "hours", "HARBOR", "--person", "osei"]);
    assert_eq!(ran.out, "DEPOT   PERSON  ON   MINUTES\nHARBOR  osei    sun  120\nHARBOR  osei    wed  180\n");
    let ran = desk.types(&["depot", "hours", "HARBOR", "--person", "osie"]);
    assert_eq!((ran.status, ran.err.contains("nearest is osei")), (2, true), "{}", ran.err);
    let ran = desk.types(&["depot", "hours", "HARBOR", "--person", "osei", "--on", "mon", "--minutes", "2000"]);
    assert_eq!(ran.status, 2, "{}", ran.err);
}
