//! What to type when the work on an item is done.
//!
//! Owns: the command for each kind of work, quoted for a POSIX shell: codes are typed by people and may hold anything
//! a shell would act on. Refuses: knowing whether the work was done.

use crate::due::{Basis, Item, ItemKind};

/// The rule that gas tests are made under, in every pack.
const GAS_TEST: &str = "gas-test";

/// The command that closes an item, one string a word, each safe to paste into a shell. `YOU`, `MM-YY E` and the like
/// stand for what only the technician knows.
#[must_use]
pub fn closing_command(item: &Item) -> Vec<String> {
    let part = item.part.as_ref().map(|part| shell_word(part.as_str()));
    let unit = item.unit.as_ref().map(|unit| shell_word(unit.as_str()));
    let words: Vec<String> = match (item.kind, unit, part) {
        (ItemKind::Gauge, _, Some(gauge)) => words(&["gauge", "check", &gauge, "--reading R", "--reference R"]),
        (ItemKind::Person, _, Some(person)) => words(&["person", "amend", &person, "--credential-until YYYY-MM-DD"]),
        (_, _, Some(part)) if missing(item).is_some() => {
            return command(words(&["part", "amend", &part, missing(item).unwrap_or_default()]));
        }
        (ItemKind::Unit, Some(unit), _) if is_gas_test(item) => words(&[
            "closeout",
            &unit,
            "--gauge G",
            "--lockup R",
            "--flow R",
            "--load PERCENT",
            "--drop START:END",
            "--minutes N",
        ]),
        (_, Some(unit), Some(part)) if is_requalification(item) => {
            words(&["closeout", &unit, &format!("--mark {part}=\"MM-YY E\"")])
        }
        (_, Some(unit), Some(part)) if is_replacement(item) => {
            words(&["closeout", &unit, &format!("--replace {part}=kind:{},made:YYYY-MM,serial:NUMBER", item.kind)])
        }
        (_, Some(unit), _) => words(&["closeout", &unit, &format!("--check {}=pass", item.rule)]),
        (_, None, Some(part)) => return command(words(&["why", &part])),
        (_, None, None) => return command(words(&["due", "--all"])),
    };
    let by = if item.kind == ItemKind::Person { Vec::new() } else { words_of("--by YOU") };
    command(words.into_iter().chain(by).collect())
}

fn command(words: Vec<String>) -> Vec<String> {
    std::iter::once("pigtail".to_owned()).chain(words).collect()
}

fn words(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

fn words_of(word: &str) -> Vec<String> {
    words(&[word])
}

/// The option that enters the missing fact of an undated item, where it is a part's own.
fn missing(item: &Item) -> Option<&'static str> {
    match item.basis {
        Basis::MadeMissing => Some("--made YYYY-MM"),
        Basis::FittedMissing => Some("--fitted-on YYYY-MM-DD"),
        Basis::SpecMissing => Some("--spec SPEC"),
        _ => None,
    }
}

fn is_gas_test(item: &Item) -> bool {
    item.rule.as_str() == GAS_TEST
}

fn is_requalification(item: &Item) -> bool {
    item.kind == ItemKind::Cylinder && item.rule.as_str().contains("requalification")
}

/// Work that ends with a new part: what wears out by age, and whatever its rule calls a replacement.
fn is_replacement(item: &Item) -> bool {
    matches!(
        item.kind,
        ItemKind::Regulator | ItemKind::Hose | ItemKind::LpDetector | ItemKind::CoDetector | ItemKind::SmokeAlarm
    ) || item.what.to_lowercase().starts_with("replace")
}

fn shell_word(code: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | '/' | ':' | '@' | '%' | '+' | ',');
    if !code.is_empty() && code.chars().all(plain) {
        code.to_owned()
    } else {
        format!("'{}'", code.replace('\'', "'\\''"))
    }
}
