//! Names that mean harm, or only trouble.
//!
//! Owns: that they reach every form of the digest harmless and legible. Refuses: refusing them; the model does that.

use crate::digest_facts::{depot, facts, hold, item};
use crate::digest_mail::laid_out;
use pigtail::digest::{Facts, Undelivered};
use pigtail::model::Email;
use pigtail::post::{Draft, Message, MessageId};

const LONG: &str =
    "wwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwww";

/// Every hostile text in every place that takes one.
fn hostile() -> Facts {
    let mut facts = facts(&["R-1 CY-1 cylinder cylinder-requalification 2026-02-28"]);
    let long = LONG.repeat(3);
    let texts = [
        "<script>alert(1)</script>",
        "=HYPERLINK(\"http://evil.example/\",\"click\")",
        "nine\r\nBcc: victim@example.org\r\n\r\n<b>body",
        "\u{202e}tfel ot thgir\u{202c} abc",
        "\u{200b}+1 zero width",
        &long,
        "\u{1f468}\u{200d}\u{1f527}\u{1f525} München 日本語 ع",
        "{{ 7*7 }} {% raw %} & &amp; '\"`",
        ".\r\n.\r\nQUIT",
        "BEGIN:VEVENT\nEND:VCALENDAR;,\\n",
    ];
    for text in texts {
        let mut item = item("R-1 CY-1 cylinder cylinder-requalification 2026-02-28");
        item.part = Some(format!("CY{}", facts.depots[0].items.len()).parse().unwrap());
        item.unit = text.chars().filter(|c| *c != '=').take(40).collect::<String>().parse().ok().or(item.unit);
        item.position = text.to_owned();
        item.because = text.to_owned();
        item.what = text.to_owned();
        item.cite = text.to_owned();
        facts.depots[0].items.push(item);
        facts.depots[0].holds.push(hold("R-9", "2026-02-01", text));
        facts.undelivered.push(Undelivered {
            to: "a@example.org".parse().unwrap(),
            week: "2026-W09".parse().unwrap(),
            reason: text.to_owned(),
        });
    }
    facts.depots[0].depot = depot("HARBOR", texts[0]);
    facts
}

fn message() -> Message {
    let mail = laid_out(hostile());
    let from: Email = "desk@example.org".parse().unwrap();
    let attachment = |file, media_type, text| pigtail::post::Attachment { file, media_type, text };
    Draft {
        from_name: "Desk\r\nBcc: victim@example.org \u{202e}\u{1f525}".to_owned(),
        to: "boss@example.org".parse().unwrap(),
        reply_to: None,
        written_at: "2026-03-02T12:00:00Z".parse().unwrap(),
        id: MessageId::of(&["a"], &from),
        list: "pigtail-digest".to_owned(),
        subject: format!("{}\r\nX-Evil: yes", mail.subject),
        text: mail.text,
        html: mail.html,
        attachments: vec![
            attachment("items.csv", "text/csv; charset=utf-8", mail.csv),
            attachment("due-dates.ics", "text/calendar; charset=utf-8", mail.calendar),
        ],
        from,
    }
    .finish()
    .unwrap()
}

#[test]
fn every_form_of_a_hostile_digest() {
    let mail = laid_out(hostile());
    insta::assert_snapshot!("hostile_text", mail.text);
    insta::assert_snapshot!("hostile_csv", mail.csv);
    insta::assert_snapshot!("hostile_calendar", mail.calendar);
    for form in [&mail.subject, &mail.text, &mail.html, &mail.csv, &mail.calendar] {
        let deceptive = |c: char| pigtail::model::code::is_deceptive(c) && !"\r\n\u{feff}\u{200d}".contains(c);
        assert_eq!(form.chars().find(|c| deceptive(*c)), None, "{form}");
    }
}

#[test]
fn html_holds_no_markup_but_its_own() {
    let html = laid_out(hostile()).html;
    for harm in ["<script", "<b>body", "49 {%", "evil.example/\",\""] {
        assert!(!html.contains(harm), "{harm}");
    }
    assert!(html.contains("&lt;script&gt;alert(1)"), "legible: {html}");
    assert!(html.contains("{{ 7*7 }}"));
    assert!(!html.contains("http-equiv") && !html.contains(" src="));
}

#[test]
fn no_cell_of_the_csv_is_run_by_a_spreadsheet() {
    let csv = laid_out(hostile()).csv;
    let mut reader =
        csv::ReaderBuilder::new().has_headers(true).from_reader(csv.trim_start_matches('\u{feff}').as_bytes());
    let mut rows = 0;
    for row in reader.records() {
        let row = row.unwrap();
        assert_eq!(row.len(), 17);
        for (column, cell) in row.iter().enumerate() {
            let number = cell.parse::<i64>().is_ok();
            assert!(number || !cell.starts_with(['=', '+', '-', '@', '\t', '\r']), "{column} {cell}");
            assert!(!cell.contains(['\r', '\n']), "{column} {cell:?}");
        }
        rows += 1;
    }
    assert_eq!(rows, 11);
}

#[test]
fn no_name_starts_a_header_or_ends_a_part() {
    let bytes = message().bytes().to_vec();
    let text = String::from_utf8(bytes).unwrap();
    let (head, body) = text.split_once("\r\n\r\n").unwrap();
    let names: Vec<&str> = head
        .split("\r\n")
        .filter(|line| !line.starts_with([' ', '\t']))
        .map(|line| line.split(':').next().unwrap())
        .collect();
    assert_eq!(
        names,
        ["Date", "From", "To", "Subject", "Message-ID", "List-Id", "Auto-Submitted", "MIME-Version", "Content-Type"]
    );
    assert!(!text.replace("\r\n", "").contains(['\r', '\n']), "only CR LF ends lines");
    assert!(text.is_ascii(), "safe for every server");
    // RFC 5322 advises 78 and allows 998; the mail library does not fold between a long name and its address.
    let longest = |part: &str| part.split("\r\n").map(str::len).max().unwrap();
    assert!(longest(body) <= 78 && longest(head) <= 100, "{text}");
    assert_eq!(body.matches("Content-Type:").count(), 5, "four parts and their alternative");
}
