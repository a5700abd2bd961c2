//! The unit's sheet, whole, and with names that mean harm.

use crate::program::Desk;

fn check(desk: &Desk, unit: &str, format: &str, name: &str) -> String {
    let ran = desk.types(&["sheet", unit, "--format", format]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{unit}");
    insta::with_settings!({ filters => vec![("[0-9a-f]{64}", "[head]")] }, {
        insta::assert_snapshot!(name, ran.out);
    });
    ran.out
}

#[test]
fn a_unit_that_failed_its_gas_test() {
    let desk = Desk::with_demo_fleet();
    check(&desk, "R-012", "text", "failed_text");
    check(&desk, "R-012", "html", "failed_html");
}

#[test]
fn a_unit_with_marks_and_a_hold() {
    let desk = Desk::with_demo_fleet();
    check(&desk, "R-008", "text", "held_text");
}

#[test]
fn a_unit_with_nothing_on_record() {
    let desk = Desk::new("2026-03-02");
    assert_eq!(desk.types(&["init"]).status, 0);
    assert_eq!(desk.types(&["depot", "add", "D", "--timezone", "UTC"]).status, 0);
    let ran = desk.types(&["unit", "add", "U-1", "--depot", "D"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    check(&desk, "U-1", "text", "bare_text");
}

#[test]
fn an_unknown_unit_is_refused() {
    let desk = Desk::with_demo_fleet();
    let ran = desk.types(&["sheet", "R-112"]);
    assert_eq!((ran.status, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("nearest is R-"), "{}", ran.err);
    assert_eq!(desk.types(&["sheet", "R-012", "--format", "csv"]).status, 2);
}

#[test]
fn names_that_mean_harm_do_none() {
    let desk = Desk::new("2026-03-02");
    assert_eq!(desk.types(&["init"]).status, 0);
    let evil = "<script>alert(1)</script>\u{1b}[31m\u{202e}\"'&{{ sheet.head }}{% raw %}\r\nsigned by nobody";
    let code = "<b onmouseover'x'>&amp;{{7*7}}";
    let run = |words: &[&str]| {
        let ran = desk.types(words);
        assert_eq!(ran.status, 0, "{words:?}: {}", ran.err);
    };
    run(&["depot", "add", "D<i>", "--timezone", "UTC", "--name", evil]);
    run(&["unit", "add", code, "--depot", "D<i>", "--body", evil, "--plate", evil, "--note", evil]);
    run(&["unit", "appliance", code, evil, "--btu-h", "1000"]);
    run(&[
        "part",
        "add",
        "P<img src'x'>",
        "--kind",
        "hose",
        "--unit",
        code,
        "--position",
        evil,
        "--spec",
        evil,
        "--serial",
        evil,
    ]);
    run(&["hold", "place", code, "--because", evil]);
    let text = check(&desk, code, "text", "hostile_text");
    let html = check(&desk, code, "html", "hostile_html");
    for page in [&text, &html] {
        assert!(!page.contains(['\u{1b}', '\u{202e}', '\r']), "{page}");
        assert!(!page.contains("\nsigned by nobody"), "{page}");
    }
    for tag in ["<script", "<img", "<b onmouseover", "<i>"] {
        assert!(!html.contains(tag), "{tag} stands in\n{html}");
    }
}
