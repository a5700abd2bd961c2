//! A visit as a TOML file, written: the form in which `file` reads it back unchanged.
//!
//! Owns: quoting, order of keys, leaving out what is not answered. Refuses: comments, which only the template has.

use super::answers::{Answers, TestAnswers};
use crate::model::{Elevation, Temperature};
use std::fmt::{Display, Write};

/// The answers as TOML; `at` is the question to go on with.
#[must_use]
pub fn written(answers: &Answers, at: Option<&str>) -> String {
    let mut page = Page::default();
    page.key("unit", Some(&answers.unit));
    page.key("by", answers.by.as_ref());
    page.key("on", answers.on.as_ref());
    page.key("note", Some(&answers.note).filter(|note| !note.is_blank()));
    page.key("at", at.as_ref());
    page.test(&answers.test);
    for (part, stamp) in &answers.marks {
        page.head("[[mark]]");
        page.key("part", Some(part));
        page.key("stamp", Some(stamp));
    }
    for new in &answers.replacements {
        page.head("[[replace]]");
        page.key("part", Some(&new.part));
        page.key("code", new.code.as_ref());
        page.key("kind", new.kind.as_ref());
        page.key("made", new.made.as_ref());
        page.key("replace_by", new.replace_by.as_ref());
        page.key("serial", Some(&new.serial).filter(|serial| !serial.is_blank()));
        page.key("spec", new.spec.as_ref());
        page.key("position", new.position.as_ref());
        page.key("note", Some(&new.note).filter(|note| !note.is_blank()));
    }
    for check in &answers.checks {
        page.head("[[check]]");
        page.key("rule", Some(&check.rule));
        page.key("part", check.part.as_ref());
        page.key("result", Some(&check.result));
        page.key("note", Some(&check.note).filter(|note| !note.is_blank()));
    }
    for event in &answers.events {
        page.head("[[event]]");
        page.key("event", Some(&event.event));
        page.key("note", Some(&event.note).filter(|note| !note.is_blank()));
    }
    page.0
}

/// A text as a TOML string, whatever it holds.
#[must_use]
pub fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

#[derive(Default)]
struct Page(String);

impl Page {
    fn head(&mut self, head: &str) {
        let _ = writeln!(self.0, "\n{head}");
    }

    fn key(&mut self, key: &str, value: Option<&impl Display>) {
        if let Some(value) = value {
            let _ = writeln!(self.0, "{key} = {}", quoted(&value.to_string()));
        }
    }

    fn number(&mut self, key: &str, value: Option<f64>) {
        if let Some(value) = value {
            let _ = writeln!(self.0, "{key} = {value}");
        }
    }

    fn list<T: Display>(&mut self, key: &str, values: &[T]) {
        if !values.is_empty() {
            let values: Vec<String> = values.iter().map(|value| quoted(&value.to_string())).collect();
            let _ = writeln!(self.0, "{key} = [{}]", values.join(", "));
        }
    }

    fn test(&mut self, test: &TestAnswers) {
        if *test == TestAnswers::default() {
            return;
        }
        // Whole digits, so that what is read back is the very same number.
        let degrees = |air: Option<Temperature>| air.map(|air| format!("{}F", air.fahrenheit()));
        self.head("[test]");
        self.key("gauge", test.gauge.as_ref());
        self.key("tap", test.tap.as_ref());
        self.key("lockup", test.lockup.as_ref());
        self.list("lockup_later", &test.lockup_later);
        self.key("flow", test.flow.as_ref());
        self.number("load", test.load);
        self.list("burning", &test.burning);
        self.key("method", test.method.as_ref());
        self.key("drop_start", test.drop_start.as_ref());
        self.list("drop_between", &test.drop_between);
        self.key("drop_end", test.drop_end.as_ref());
        self.number("minutes", test.minutes);
        self.key("air", degrees(test.air).as_ref());
        self.key("air_after", degrees(test.air_after).as_ref());
        self.key("elevation", test.elevation.map(Elevation::feet).map(|feet| format!("{feet}ft")).as_ref());
        self.key("vent", test.vent.as_ref());
    }
}
