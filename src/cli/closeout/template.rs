//! A visit file to fill in offline.
//!
//! Owns: its comments: what is due, which gauges, appliances and parts there are. Refuses: answers; whatever is blank was
//! not done.

use super::scene::{Scene, Work};
use super::wording::due_line;
use super::written::quoted;
use crate::due::ItemKind;
use crate::model::{EventKind, Named, rounded};
use crate::show::legible::one_line;
use std::fmt::Write;

/// A commented visit file for the unit of `scene`.
#[must_use]
pub fn template(scene: &Scene) -> String {
    let mut page = Page::default();
    let unit = &scene.unit;
    let code = unit.unit.as_str();
    page.note(&format!("Visit to unit {code}, {}, depot {}.", unit.body, unit.depot));
    page.note("Fill in what was done and read; what stays \"\" was not. Then: pigtail closeout --from THIS-FILE");
    page.note("Nothing is recorded unless all of it can be. Gas work is for licensed people; local code comes first.");
    page.note("");
    page.note(&format!("Due on {}:", scene.today));
    let due: Vec<String> = scene.due().map(|item| due_line(item, scene)).collect();
    due.iter().for_each(|line| page.note(&format!("  {line}")));
    if due.is_empty() {
        page.note("  nothing");
    }
    page.key("unit", code);
    page.list("Who did the work", scene.people.iter().map(|person| format!("{} ({})", person.person, person.name)));
    page.key("by", "");
    page.note("Day of the visit, YYYY-MM-DD.");
    page.key("on", "");
    page.key("note", "");
    test(&mut page, scene);
    marks(&mut page, scene);
    checks(&mut page, scene);
    replacements(&mut page, scene);
    page.blank();
    page.note("Something happened. Take the # away and copy it as often as needed.");
    page.note(&format!("Known: {}", EventKind::ALL.iter().map(|event| event.name()).collect::<Vec<_>>().join(", ")));
    page.note("[[event]]");
    page.note("event = \"\"");
    page.note("note = \"\"");
    page.0
}

fn test(page: &mut Page, scene: &Scene) {
    page.blank();
    page.head("[test]");
    if let Some(item) = scene.gas_item() {
        page.note(&due_line(item, scene));
    }
    page.note("Pressures as 11.4 (in. w.c.), 27.4mbar, 2.74kPa, or the two legs of a U-tube, 5.7+5.7.");
    page.list(
        "Gauges",
        scene.gauges.iter().map(|gauge| {
            let standing = scene.gauge_standing(gauge).map(|standing| format!(", check {standing}"));
            format!("{} ({}{})", gauge.gauge, gauge.kind, standing.unwrap_or_default())
        }),
    );
    page.key("gauge", "");
    page.note("Where it was connected: main or range-outlet.");
    page.key("tap", "main");
    page.note("Nothing burning.");
    page.key("lockup", "");
    page.note("Read again while watched, each as \"11.6@3\": 3 minutes after the first.");
    page.line("lockup_later = []");
    page.note("Under load, and which appliances burned then; or `load` in percent of all of them.");
    page.key("flow", "");
    page.list(
        "Appliances",
        scene.appliances.iter().map(|one| format!("{}, {} Btu/h", one.appliance, rounded(one.btu_h, 0))),
    );
    page.line("burning = []");
    let method = scene.usual_method();
    let minutes = rounded(scene.minutes_of(method), 1);
    page.note(&format!("Timed drop, {method}: {minutes} minutes at least. Readings in between as \"9.0@1\"."));
    page.key("method", method.name());
    page.key("drop_start", "");
    page.line("drop_between = []");
    page.key("drop_end", "");
    page.key("minutes", "");
    page.note("Air temperature at the start and at the end, as 58F or 15C.");
    page.key("air", "");
    page.key("air_after", "");
    page.note("Elevation as 200ft; blank for the depot's.");
    page.key("elevation", "");
    page.note("Regulator vent, degrees from straight down, or unseen.");
    page.key("vent", "");
}

fn marks(page: &mut Page, scene: &Scene) {
    for part in scene.marked_parts() {
        page.blank();
        page.note(&scene.part_in_words(part));
        if let Some(mark) = scene.marks.get(&part.part).and_then(|marks| marks.last()) {
            page.note(&format!("last mark on record: {} {}", mark.month, mark.method));
        }
        for item in scene.items.iter().filter(|item| item.part.as_ref() == Some(&part.part)) {
            page.note(&due_line(item, scene));
        }
        page.note("A new stamp as it stands on the collar, as \"11 A123 21 E\".");
        page.head("[[mark]]");
        page.key("part", part.part.as_str());
        page.key("stamp", "");
    }
}

fn checks(page: &mut Page, scene: &Scene) {
    for item in scene.due_by(Work::Check) {
        page.blank();
        page.note(&due_line(item, scene));
        page.note("pass or fail; for a fail say in `note` what is wrong.");
        page.head("[[check]]");
        page.key("rule", item.rule.as_str());
        if let Some(part) = item.part.as_ref().filter(|_| item.kind != ItemKind::Unit) {
            page.key("part", part.as_str());
        }
        page.key("result", "");
        page.key("note", "");
    }
}

fn replacements(page: &mut Page, scene: &Scene) {
    if scene.parts.is_empty() {
        return;
    }
    page.blank();
    page.note(
        "Replaced parts. Where one was replaced take the # away from its lines and fill them in; the old part is",
    );
    page.note("scrapped and the new one gets the next free code, or yours: code = \"\".");
    for part in &scene.parts {
        page.note("");
        page.note(&scene.part_in_words(part));
        for item in scene.due_by(Work::Replacement).filter(|item| item.part.as_ref() == Some(&part.part)) {
            page.note(&due_line(item, scene));
        }
        page.note("[[replace]]");
        page.note(&format!("part = {}", quoted(part.part.as_str())));
        page.note("made = \"\"");
        page.note("serial = \"\"");
        page.note("replace_by = \"\"");
    }
}

#[derive(Default)]
struct Page(String);

impl Page {
    fn line(&mut self, line: &str) {
        self.0.push_str(line.trim_end());
        self.0.push('\n');
    }

    fn blank(&mut self) {
        self.line("");
    }

    fn head(&mut self, head: &str) {
        self.line(head);
    }

    /// A comment, which nothing in it can end.
    fn note(&mut self, text: &str) {
        let indent = text.len() - text.trim_start().len();
        let line = format!("# {:indent$}{}", "", one_line(text));
        self.line(&line);
    }

    fn list(&mut self, what: &str, names: impl Iterator<Item = String>) {
        let names: Vec<String> = names.collect();
        let names = if names.is_empty() { "none on record".to_owned() } else { names.join("; ") };
        self.note(&format!("{what}: {names}."));
    }

    fn key(&mut self, key: &str, value: &str) {
        let _ = writeln!(self.0, "{key} = {}", quoted(value));
    }
}
