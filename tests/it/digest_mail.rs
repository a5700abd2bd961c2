//! The digest laid out: whole outputs.
//!
//! Owns: that every form says what it should, and all the same. Refuses: MIME, which `smtp` tests.

use crate::digest_facts::{facts, full_week};
use chrono::{DateTime, Utc};
use pigtail::digest::{Digest, Facts};
use pigtail::show::digest_mail::{DigestMail, digest_mail};

fn noon() -> DateTime<Utc> {
    "2026-03-02T12:00:00Z".parse().unwrap()
}

pub fn laid_out(facts: Facts) -> DigestMail {
    digest_mail(&Digest::of(facts), noon()).unwrap()
}

#[test]
fn a_full_week_in_every_form() {
    let mail = laid_out(full_week());
    insta::assert_snapshot!("digest_text", format!("Subject: {}\n\n{}", mail.subject, mail.text));
    insta::assert_snapshot!("digest_html", mail.html);
    insta::assert_snapshot!("digest_csv", mail.csv);
    insta::assert_snapshot!("digest_calendar", mail.calendar);
}

#[test]
fn a_quiet_week_says_so() {
    let mail = laid_out(facts(&[]));
    insta::assert_snapshot!("digest_quiet", format!("Subject: {}\n\n{}", mail.subject, mail.text));
}

/// Words of a text without its drawing, shell continuations and the calendar, which the two forms draw differently.
fn words_of_text(text: &str) -> Vec<String> {
    let told = text.split("Next 30 days").next().unwrap();
    told.split_whitespace()
        .filter(|word| !matches!(*word, "*" | "$" | "\\") && !word.starts_with("===") && !word.starts_with("---"))
        .map(str::to_lowercase)
        .collect()
}

/// Words of a page without its markup; entities resolved.
fn words_of_html(html: &str) -> Vec<String> {
    let body = html.split("<body>").nth(1).unwrap().split("Next 30 days").next().unwrap();
    let mut text = String::new();
    let mut inside = false;
    for c in body.chars() {
        match c {
            '<' => inside = true,
            '>' => {
                inside = false;
                text.push(' ');
            }
            c if !inside => text.push(c),
            _ => {}
        }
    }
    for (entity, character) in
        [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#x27;", "'"), ("&#x2f;", "/"), ("&amp;", "&")]
    {
        text = text.replace(entity, character);
    }
    text.split_whitespace().map(|word| if word == "NEW" { "[new]".to_owned() } else { word.to_lowercase() }).collect()
}

#[test]
fn text_and_html_say_the_same() {
    let mail = laid_out(full_week());
    assert_eq!(words_of_text(&mail.text), words_of_html(&mail.html));
}

#[test]
fn both_feet_bear_the_journal() {
    let mail = laid_out(full_week());
    let hash = "a5".repeat(32);
    for form in [&mail.text, &mail.html] {
        assert!(form.contains(&hash) && form.contains("1284 entries"), "{form}");
    }
}

#[test]
fn lines_of_text_stay_under_78() {
    let long = laid_out(full_week()).text.lines().map(|line| line.chars().count()).max();
    assert!(long.unwrap() <= 76, "{long:?}");
}

#[test]
fn a_long_list_says_where_the_rest_is() {
    let words: Vec<String> = (0..100).map(|n| format!("R-{n} H-{n} hose hose-age 2026-02-01")).collect();
    let mail = laid_out(facts(&words.iter().map(String::as_str).collect::<Vec<_>>()));
    assert_eq!(mail.text.matches("OVERDUE by 29 days").count(), 40);
    assert_eq!(mail.html.matches("OVERDUE by 29 days").count(), 40);
    for form in [&mail.text, &mail.html] {
        assert!(form.contains("60 more; all of them stand in items.csv, attached."));
    }
    assert_eq!(mail.csv.lines().count(), 101);
}
