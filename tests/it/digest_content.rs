//! What a recipient is told, and in which order.
//!
//! Owns: grouping, counting and what counts as a change. Refuses: layout.

use crate::digest_facts::{TODAY, day, facts, full_week, item, previous};
use pigtail::digest::{Digest, closing_command};
use pigtail::due::{ItemKind, State, Subject, assess};
use pigtail::model::PackId;
use pigtail::rules::RuleBook;

/// One line of what a digest says, an item each.
fn outline(digest: &Digest) -> Vec<String> {
    let mut out = Vec::new();
    let line = |line: &pigtail::digest::Line| {
        let item = &line.item;
        let unit = item.unit.as_ref().map_or("-", |unit| unit.as_str());
        let days = line.days.map_or("-".to_owned(), |days| days.to_string());
        format!("  {unit} {} {} {days}{}", item.rule, line.state, if line.fresh { " new" } else { "" })
    };
    for depot in &digest.depots {
        out.push(depot.depot.to_string());
        for group in &depot.overdue {
            out.push(format!(" {}", group.late));
            out.extend(group.lines.iter().map(line));
        }
        out.push(" undated".to_owned());
        out.extend(depot.undated.iter().map(line));
        out.push(" coming".to_owned());
        out.extend(depot.coming.iter().map(line));
        out.extend(depot.holds.iter().map(|held| format!("  held {} {}", held.hold.unit, held.days)));
    }
    out.push("general".to_owned());
    out.extend(digest.general.iter().map(line));
    out
}

#[test]
fn worst_first_and_grouped_by_what_late_means() {
    insta::assert_snapshot!(outline(&Digest::of(full_week())).join("\n"));
}

#[test]
fn counts_are_of_what_is_named() {
    let cases: [(&[&str], [usize; 4]); 6] = [
        (&[], [0, 0, 0, 0]),
        // The last good day is not overdue, the day after is.
        (&["R-1 H-1 hose hose-age 2026-03-02"], [0, 0, 1, 0]),
        (&["R-1 H-1 hose hose-age 2026-03-01"], [1, 0, 0, 1]),
        // 30 days ahead and no further.
        (&["R-1 H-1 hose hose-age 2026-04-01", "R-1 H-2 hose hose-age 2026-04-02"], [0, 0, 1, 0]),
        (&["R-1 H-1 hose hose-age -"], [0, 1, 0, 1]),
        // A unit with three things wrong is one unit.
        (
            &["R-1 H-1 hose hose-age 2026-01-01", "R-1 H-2 hose hose-age 2026-01-01", "R-1 - unit gas-test -"],
            [2, 1, 0, 1],
        ),
    ];
    for (items, expected) in cases {
        let counts = Digest::of(facts(items)).counts;
        assert_eq!([counts.overdue, counts.undated, counts.due, counts.units], expected, "{items:?}");
    }
}

#[test]
fn changes_since_the_last_digest() {
    // before, now, (newly overdue, newly undated, newly due, closed out)
    let cases: [(&str, &str, [usize; 4]); 11] = [
        ("", "R-1 H-1 hose hose-age 2026-03-01", [1, 0, 0, 0]),
        ("", "R-1 H-1 hose hose-age 2026-03-20", [0, 0, 1, 0]),
        ("", "R-1 H-1 hose hose-age -", [0, 1, 0, 0]),
        ("due R-1 H-1 hose hose-age 2026-03-01", "R-1 H-1 hose hose-age 2026-03-01", [1, 0, 0, 0]),
        ("overdue R-1 H-1 hose hose-age 2026-02-01", "R-1 H-1 hose hose-age 2026-02-01", [0, 0, 0, 0]),
        ("due R-1 H-1 hose hose-age 2026-03-20", "R-1 H-1 hose hose-age 2026-03-20", [0, 0, 0, 0]),
        ("overdue R-1 H-1 hose hose-age 2026-02-01", "", [0, 0, 0, 1]),
        // A monthly look that was done is soon due again, and yet was closed out.
        ("overdue R-1 X-1 extinguisher look 2026-02-20", "R-1 X-1 extinguisher look 2026-03-25", [0, 0, 0, 1]),
        ("due R-1 X-1 extinguisher look 2026-02-28", "R-1 X-1 extinguisher look 2026-03-25", [0, 0, 0, 1]),
        ("undated R-1 H-1 hose hose-age -", "R-1 H-1 hose hose-age 2026-03-25", [0, 0, 0, 1]),
        // A date that was found and turned out to be past is no work done.
        ("undated R-1 H-1 hose hose-age -", "R-1 H-1 hose hose-age 2026-01-25", [1, 0, 0, 0]),
    ];
    for (before, now, expected) in cases {
        let list = |line: &'static str| if line.is_empty() { vec![] } else { vec![line] };
        let mut facts = facts(&list(now));
        facts.since = Some(previous("2026-02-23", &list(before)));
        let changes = Digest::of(facts).changes.unwrap();
        let told = [changes.newly_overdue, changes.newly_undated, changes.newly_due, changes.closed_out.len()];
        assert_eq!(told, expected, "before `{before}`, now `{now}`");
    }
}

#[test]
fn a_first_digest_has_no_changes_and_calls_nothing_new() {
    let digest = Digest::of(facts(&["R-1 H-1 hose hose-age 2026-03-01"]));
    assert!(digest.changes.is_none() && digest.lines().all(|line| !line.fresh));
}

#[test]
fn what_is_kept_makes_the_next_digest_quiet() {
    let kept = Digest::of(full_week()).to_keep();
    let stored = serde_json::to_string(&kept).unwrap();
    let mut again = full_week();
    again.since = Some(serde_json::from_str(&stored).unwrap());
    let digest = Digest::of(again);
    let changes = digest.changes.as_ref().unwrap();
    assert_eq!(changes.since, day(TODAY));
    assert_eq!((changes.newly_overdue, changes.newly_undated, changes.newly_due), (0, 0, 0));
    assert!(changes.closed_out.is_empty() && digest.lines().all(|line| !line.fresh));
}

#[test]
fn a_part_moved_to_another_unit_or_depot_is_the_same_item() {
    let mut facts = facts(&["R-2 H-1 hose hose-age 2026-02-01"]);
    facts.since = Some(previous("2026-02-23", &["overdue R-1 H-1 hose hose-age 2026-02-01"]));
    let changes = Digest::of(facts).changes.unwrap();
    assert_eq!((changes.newly_overdue, changes.closed_out.len()), (0, 0));
}

#[test]
fn depots_come_worst_first() {
    let base = facts(&[]).depots.remove(0);
    let depot = |code: &str, items: &[&str]| {
        let mut depot = base.clone();
        depot.depot.depot = code.parse().unwrap();
        depot.items = items.iter().map(|words| item(words)).collect();
        depot
    };
    let mut week = facts(&[]);
    week.depots = vec![
        depot("QUIET", &[]),
        depot("COMING", &["R-1 H-1 hose hose-age 2026-03-20"]),
        depot("ADVISED", &["R-2 H-2 hose hose-age 2026-02-20", "R-2 H-3 hose hose-age 2026-02-20"]),
        depot("OFFRENT", &["R-3 - unit gas-test 2026-02-20"]),
    ];
    let order: Vec<String> = Digest::of(week).depots.iter().map(|depot| depot.depot.to_string()).collect();
    assert_eq!(order, ["OFFRENT", "ADVISED", "COMING", "QUIET"]);
}

#[test]
fn each_line_carries_the_command_that_closes_it() {
    let cases = [
        (
            "R-1 CY-1 cylinder cylinder-requalification 2026-01-31",
            "pigtail closeout R-1 --mark CY-1=\"MM-YY E\" --by YOU",
        ),
        // A missing fact is entered, not worked.
        ("R-1 CY-1 cylinder cylinder-requalification -", "pigtail part amend CY-1 --made YYYY-MM"),
        ("- H-1 hose hose-age -", "pigtail part amend H-1 --made YYYY-MM"),
        (
            "R-1 - unit gas-test -",
            "pigtail closeout R-1 --gauge G --lockup R --flow R --load PERCENT --drop START:END --minutes N --by YOU",
        ),
        (
            "R-1 LD-1 lp-detector lp-detector-age 2026-01-31",
            "pigtail closeout R-1 --replace LD-1=kind:lp-detector,made:YYYY-MM,serial:NUMBER --by YOU",
        ),
        (
            "R-1 X-1 extinguisher extinguisher-look 2026-01-31",
            "pigtail closeout R-1 --check extinguisher-look=pass --by YOU",
        ),
        ("- G-1 gauge gauge-check -", "pigtail gauge check G-1 --reading R --reference R --by YOU"),
        ("- ANA person credential -", "pigtail person amend ANA --credential-until YYYY-MM-DD"),
        ("- H-1 hose hose-age 2026-01-31", "pigtail why H-1"),
        // Codes are typed by people; what a shell would act on is quoted.
        (
            "R-1;rm CY'1 cylinder cylinder-requalification 2026-01-31",
            "pigtail closeout 'R-1;rm' --mark 'CY'\\''1'=\"MM-YY E\" --by YOU",
        ),
        (
            "$(id) - unit gas-test -",
            "pigtail closeout '$(id)' --gauge G --lockup R --flow R --load PERCENT --drop START:END --minutes N --by YOU",
        ),
    ];
    for (words, expected) in cases {
        assert_eq!(closing_command(&item(words)).join(" "), expected, "{words}");
    }
}

#[test]
fn quiet_means_nothing_to_act_on() {
    assert!(Digest::of(facts(&[])).is_quiet());
    assert!(!Digest::of(full_week()).is_quiet());
    assert_eq!(Digest::of(facts(&["R-1 H-1 hose hose-age -"])).depots[0].undated[0].state, State::Undated);
}

#[test]
fn what_the_due_engine_calls_missing_is_entered_with_the_right_option() {
    let rules = RuleBook::new(&[]).unwrap();
    let (unit, part) = ("R-1".parse().unwrap(), "P-1".parse().unwrap());
    let cases = [
        (ItemKind::Cylinder, "cylinder-requalification", "DOT-4BA240", "--made YYYY-MM"),
        (ItemKind::Cylinder, "cylinder-requalification", "", "--spec SPEC"),
        (ItemKind::Hose, "hose", "", "--made YYYY-MM"),
        (ItemKind::SmokeAlarm, "smoke-alarm", "", "--made YYYY-MM"),
    ];
    for (kind, rule, spec, option) in cases {
        let subject = Subject {
            depot: None,
            unit: Some(&unit),
            part: Some(&part),
            kind,
            position: "",
            spec,
            made: None,
            fitted_on: None,
            in_service_on: None,
            replace_by: None,
            credential_until: None,
            marks: &[],
            outcomes: &[],
            events: &[],
        };
        let mut items = Vec::new();
        assess(rules.pack(PackId::Us), &subject, |item| items.push(item));
        let item = items.iter().find(|item| item.rule.as_str() == rule).unwrap();
        let expected = format!("pigtail part amend P-1 {option}");
        assert_eq!(closing_command(item).join(" "), expected, "{}", item.because);
    }
}

#[test]
fn a_booking_that_crosses_two_dates_is_one_booking() {
    let mut week = full_week();
    let again = week.depots[1].crossings[0].clone();
    week.depots[1].crossings.push(again);
    assert_eq!(Digest::of(week).counts.crossing, 1);
}
