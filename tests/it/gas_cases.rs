//! Every case of `fixtures/cases/gas.jsonl`, through the commands a user would type.

use crate::calculator::calculate_json;
use pigtail::model::{Dated, Span};
use serde_json::Value;

/// Coefficient that turns the formula's K 0.90 into the table remembered from NFPA 54.
const NFPA_TABLE_K: &str = "0.9216";

struct Case {
    name: String,
    source: String,
    fields: Value,
}

impl Case {
    fn read(line: &str) -> Self {
        let fields: Value = serde_json::from_str(line).unwrap();
        let text = |key: &str| fields[key].as_str().unwrap_or("none given").to_owned();
        let doubt = if text("confidence") == "memory" { " [from memory]" } else { "" };
        Self {
            name: format!("{}{doubt}", text("id")),
            source: format!("{} ({}); {}", text("source"), text("confidence"), text("why")),
            fields,
        }
    }

    fn text(&self, key: &str) -> Option<&str> {
        self.fields[key].as_str()
    }

    fn number(&self, key: &str) -> Option<f64> {
        self.fields[key].as_f64()
    }

    fn show(&self, key: &str) -> String {
        self.number(key).unwrap_or_else(|| panic!("{}: no {key}", self.name)).to_string()
    }

    fn flags(&self, pairs: &[(&str, &str, &str)]) -> Vec<String> {
        pairs
            .iter()
            .filter(|(_, key, _)| !self.fields[key].is_null())
            .flat_map(|(flag, key, unit)| {
                let value = self.text(key).map_or_else(|| self.show(key), str::to_owned);
                [(*flag).to_owned(), format!("{value}{unit}")]
            })
            .collect()
    }

    fn near(&self, answer: &Value, key: &str, expected: &str, absolute: f64) {
        let got = answer[key].as_f64().unwrap_or_else(|| panic!("{}: no {key} in {answer}", self.name));
        let expected = self.number(expected).unwrap();
        let within = absolute.max(expected.abs() * self.number("tol_rel").unwrap_or(0.0));
        assert!(
            (got - expected).abs() <= within,
            "{}: {key} is {got}, expected {expected}: {}",
            self.name,
            self.source
        );
    }
}

fn calc(command: &str, flags: impl IntoIterator<Item = String>) -> Value {
    let words: Vec<String> = std::iter::once(command.to_owned()).chain(flags).collect();
    calculate_json(&words).1
}

#[test]
fn cases_with_a_source() {
    assert_eq!(run_where(|confidence| confidence != "memory"), 89, "cases were added or lost");
}

#[test]
fn cases_from_memory() {
    assert_eq!(run_where(|confidence| confidence == "memory"), 12, "cases were added or lost");
}

/// Runs the cases of some confidence and counts them.
fn run_where(wanted: impl Fn(&str) -> bool) -> usize {
    let cases = include_str!("../../fixtures/cases/gas.jsonl").lines().map(Case::read);
    cases.filter(|case| wanted(case.text("confidence").unwrap())).inspect(run).count()
}

fn run(case: &Case) {
    match case.text("type").unwrap() {
        "age" => age(case),
        "altitude-input" => altitude(case),
        "atmosphere" => atmosphere(case),
        "leak" => leak(case),
        "leak-rate" => leak_rate(case),
        "lockup" => lockup(case),
        "manometer" => manometer(case),
        "operating" => operating(case),
        "orifice" => orifice(case),
        "pipe-volume" => pipe_volume(case),
        "temperature-effect" => temperature(case),
        "unit-conversion" => conversion(case),
        "vapour-pressure" => vapour(case),
        other => panic!("{}: nobody runs cases of type {other}", case.name),
    }
}

fn age(case: &Case) {
    let start: Dated = case.text("start").unwrap().parse().unwrap();
    let years: Span = format!("{} years", case.show("years")).parse().unwrap();
    assert_eq!(start.plus(years).to_string(), case.text("due").unwrap(), "{}: {}", case.name, case.source);
}

fn altitude(case: &Case) {
    let convention = match case.text("rule").unwrap() {
        "nfpa54-from-sea-level" => "from-sea-level",
        "ruud-801-table" => "from-2000-ft",
        other => panic!("{}: unknown rule {other}", case.name),
    };
    let mut flags = case.flags(&[("--elevation", "elevation_ft", "ft"), ("--input", "sea_level_btu_h", "")]);
    flags.extend(["--convention".to_owned(), convention.to_owned()]);
    case.near(&calc("derate", flags), "btu_h", "expect_btu_h", 0.5);
}

fn atmosphere(case: &Case) {
    let answer = calc("atmosphere", [format!("{}ft", case.show("elevation_ft"))]);
    case.near(&answer, "kpa", "expect_kpa", 0.0);
    case.near(&answer, "psi", "expect_psi", 0.0);
    case.near(&answer, "inh2o", "expect_inh2o", 0.0);
}

/// Asserts the verdict; `what` names a word that some finding must say.
fn judged(case: &Case, flags: Vec<String>, expected: &str, what: &str) {
    let words: Vec<String> = std::iter::once("judge".to_owned()).chain(flags).collect();
    let (status, answer) = calculate_json(&words);
    assert_eq!(answer["verdict"], expected, "{}: {}: {answer}", case.name, case.source);
    assert_eq!(status, u8::from(expected != "pass"), "{}", case.name);
    let said = answer["findings"].as_array().unwrap().iter().any(|f| f["says"].as_str().unwrap().contains(what));
    assert!(said, "{}: nothing says `{what}`: {answer}", case.name);
    if let Some(caution) = case.fields["caution"].as_bool() {
        let cautioned = answer["findings"].as_array().unwrap().iter().any(|f| f["caution"] == true);
        assert_eq!(cautioned, caution, "{}: {}: {answer}", case.name, case.source);
    }
}

fn leak(case: &Case) {
    let unit = case.text("unit").unwrap_or("inwc");
    let mut flags = case.flags(&[
        ("--method", "method", ""),
        ("--minutes", "minutes", ""),
        ("--air", "temp_start_f", "F"),
        ("--air-after", "temp_end_f", "F"),
        ("--elevation", "elevation_ft", "ft"),
    ]);
    flags.extend(["--drop".to_owned(), format!("{}{unit}:{}{unit}", case.show("start"), case.show("end"))]);
    let (verdict, what) = match case.text("expect").unwrap() {
        "pass" => ("pass", "held"),
        "leak" => ("fail", "a leak"),
        "valve-passing" => ("fail", "valve"),
        "inconclusive" => ("inconclusive", ""),
        other => panic!("{}: unknown outcome {other}", case.name),
    };
    judged(case, flags, verdict, what);
}

fn leak_rate(case: &Case) {
    let flags = case.flags(&[
        ("--volume", "volume_ft3", "ft3"),
        ("--volume", "volume_cm3", "cm3"),
        ("--drop", "drop_inwc", "inwc"),
        ("--drop", "drop_mbar", "mbar"),
        ("--minutes", "minutes", ""),
    ]);
    let answer = calc("leak-rate", flags);
    // The cases are rounded in their last digit.
    for (key, expected, rounding) in
        [("scfh", "expect_scfh", 5e-7), ("btu_h", "expect_btu_h", 5e-3), ("l_h", "expect_l_h", 5e-5)]
    {
        if case.number(expected).is_some() {
            case.near(&answer, key, expected, rounding);
        }
    }
}

fn lockup(case: &Case) {
    let mut flags = case.flags(&[("--lockup", "reading_inwc", "")]);
    if let Some(later) = case.number("reading2_inwc") {
        flags.extend(["--lockup".to_owned(), format!("{later}@{}", case.show("then_after_min"))]);
    }
    judged(case, flags, case.text("expect").unwrap(), "");
}

fn manometer(case: &Case) {
    let words = if case.number("left").is_some() {
        case.flags(&[("--left", "left", ""), ("--right", "right", "")])
    } else {
        vec![format!("{}+{}", case.show("below_zero"), case.show("above_zero"))]
    };
    case.near(&calc("reading", words), "value", "expect", 1e-9);
}

fn operating(case: &Case) {
    let mut flags = case.flags(&[
        ("--flow", "reading_inwc", ""),
        ("--load", "load_pct", ""),
        ("--lockup", "static_inwc", ""),
        ("--inlet-min", "inlet_min_inwc", ""),
        ("--inlet-max", "inlet_max_inwc", ""),
    ]);
    if let Some(tap) = case.text("tap") {
        assert_eq!(tap, "downstream of range regulator", "{}", case.name);
        flags.extend(["--tap".to_owned(), "range-outlet".to_owned()]);
    }
    judged(case, flags, case.text("expect").unwrap(), "");
}

fn orifice(case: &Case) {
    let mut flags = case.flags(&[
        ("--drill", "drill", ""),
        ("--pressure", "pressure_inwc", "inwc"),
        ("--sg", "sg", ""),
        ("--k", "k", ""),
    ]);
    if case.number("k").is_none() {
        flags.extend(["--k".to_owned(), NFPA_TABLE_K.to_owned()]);
    }
    let answer = calc("orifice", flags);
    case.near(&answer, "diameter_in", "diameter_in", 1e-12);
    case.near(&answer, "btu_h", "btu_h", 0.0);
    if case.number("cfh").is_some() {
        case.near(&answer, "cfh", "cfh", 0.0);
    }
}

fn pipe_volume(case: &Case) {
    let answer = calc(
        "piping",
        ["--id".to_owned(), format!("{}in", case.show("id_in")), "--length".to_owned(), "1ft".to_owned()],
    );
    case.near(&answer, "in3_per_ft", "expect_in3_per_ft", 0.0);
    case.near(&answer, "ft3_per_ft", "expect_ft3_per_ft", 0.0);
}

fn temperature(case: &Case) {
    let flags = case.flags(&[
        ("--start", "start_inwc", ""),
        ("--from", "t1_f", "F"),
        ("--to", "t2_f", "F"),
        ("--elevation", "elevation_ft", "ft"),
        ("--barometer", "baro_change_mbar", "mbar"),
    ]);
    let answer = calc("temperature", flags);
    let within = case.number("tol").unwrap();
    case.near(&answer, "change_inwc", "expect_change", within);
    if case.number("expect_end_inwc").is_some() {
        case.near(&answer, "end_inwc", "expect_end_inwc", within);
    }
}

fn conversion(case: &Case) {
    let words = [case.show("value"), case.text("from").unwrap().to_owned(), case.text("to").unwrap().to_owned()];
    case.near(&calc("convert", words), "value", "expect", case.number("tol").unwrap());
}

fn vapour(case: &Case) {
    let answer = calc("vapour", [format!("{}F", case.show("temp_f"))]);
    case.near(&answer, "psig", "expect_psig", case.number("tol_psi").unwrap());
}
