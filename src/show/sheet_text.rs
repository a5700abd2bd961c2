//! A unit's sheet as plain text.
//!
//! Owns: headings, labels and wrapping. Refuses: sentences (`sheet`).

use super::reasons::line;
use super::sheet::{DueLine, Named, PartLine, Sheet, TestPart};

/// Width of a page of text, in characters.
const WIDTH_CHARS: usize = 96;

/// The sheet as text, lines ended by `\n`.
#[must_use]
pub fn sheet_text(sheet: &Sheet) -> String {
    let mut text = format!("UNIT {}, AS OF {}\n{}\n", sheet.unit, sheet.as_of, sheet.ready);
    for block in &sheet.blocks {
        line(&mut text, "because", block, WIDTH_CHARS);
    }
    head(&mut text, "Identity");
    sheet.identity.iter().for_each(|named| word(&mut text, named));
    sheet.appliances.iter().for_each(|appliance| line(&mut text, "appliance", appliance, WIDTH_CHARS));
    head(&mut text, "Parts");
    sheet.parts.iter().for_each(|one| part(&mut text, one));
    nothing(&mut text, sheet.parts.is_empty(), "no parts on record");
    head(&mut text, "Last gas test");
    match &sheet.test {
        Some(one) => test(&mut text, one),
        None => nothing(&mut text, true, "none on record"),
    }
    head(&mut text, "Holds");
    sheet.holds.iter().for_each(|hold| line(&mut text, "hold", hold, WIDTH_CHARS));
    nothing(&mut text, sheet.holds.is_empty(), "none on record");
    head(&mut text, "Due dates");
    sheet.due.iter().for_each(|item| due(&mut text, item));
    nothing(&mut text, sheet.due.is_empty(), "no rule asks anything of this unit");
    head(&mut text, "Cautions");
    sheet.cautions.iter().for_each(|caution| line(&mut text, "caution", caution, WIDTH_CHARS));
    text.push_str(&format!("\n{}\n{}\n", sheet.journal, sheet.head));
    let rule = "_".repeat(30);
    text.push_str(&format!("\nsigned {rule}  name {rule}  date {}\n", "_".repeat(12)));
    text
}

fn head(text: &mut String, title: &str) {
    text.push_str(&format!("\n{title}\n{}\n", "-".repeat(title.chars().count())));
}

fn nothing(text: &mut String, nothing: bool, said: &str) {
    if nothing {
        text.push_str(&format!("  {said}\n"));
    }
}

fn word(text: &mut String, named: &Named) {
    line(text, named.name, &named.value, WIDTH_CHARS);
}

fn part(text: &mut String, part: &PartLine) {
    let place = if part.position.is_empty() { String::new() } else { format!(", {}", part.position) };
    text.push_str(&format!("{} {}{place}\n", part.kind, part.part));
    let dates = [("spec", &part.spec), ("serial", &part.serial), ("made", &part.made), ("fitted", &part.fitted)];
    for (name, value) in dates.into_iter().filter(|(_, value)| !value.is_empty()) {
        line(text, name, value, WIDTH_CHARS);
    }
    if !part.replace_by.is_empty() {
        line(text, "label", &format!("replace by {}", part.replace_by), WIDTH_CHARS);
    }
    part.marks.iter().for_each(|mark| line(text, "mark", mark, WIDTH_CHARS));
}

fn test(text: &mut String, test: &TestPart) {
    line(text, "verdict", &test.verdict, WIDTH_CHARS);
    line(text, "made", &test.made, WIDTH_CHARS);
    test.readings.iter().for_each(|reading| word(text, reading));
    test.findings.iter().for_each(|finding| line(text, "found", finding, WIDTH_CHARS));
    if test.findings.is_empty() {
        line(text, "found", "every check passed plainly", WIDTH_CHARS);
    }
}

fn due(text: &mut String, item: &DueLine) {
    text.push_str(&format!("{:<8} {:<10} {}: {}\n", item.state, item.last_day, item.about, item.what));
    line(text, "stands", &item.standing, WIDTH_CHARS);
    line(text, "why", &item.because, WIDTH_CHARS);
    line(text, "rule", &format!("{} ({})", item.rule, item.authority), WIDTH_CHARS);
    line(text, "source", &item.cite, WIDTH_CHARS);
}
