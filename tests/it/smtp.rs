//! One message handed to a server that takes it, and to many that do not.
//!
//! Owns: that each way of failing has its own error, names what to fix, and says whether waiting helps. Refuses: real
//! servers, which `.ci/smtp` runs.

use crate::digest_facts::full_week;
use crate::digest_mail::laid_out;
use crate::smtp_sink::{Bears, Deed, Manners, PASSWORD, POLITE, Sink, Tls, USER};
use pigtail::cli::digest_message::digest_message;
use pigtail::cli::settings::Settings;
use pigtail::digest::Parcel;
use pigtail::model::Email;
use pigtail::post::{Login, Message, PostError, Secret, Security, ServerSettings, Session, Timeouts, probe, send};
use std::path::{Path, PathBuf};
use std::time::Duration;

fn message(to: &str) -> Message {
    let text = "[mail]\nserver = \"localhost\"\nsender = \"desk@example.org\"\nsender_name = \"Fleet \u{e9}\"\nreply_to = \"yard@example.org\"\n";
    let settings = Settings::parse(text, Path::new("config.toml")).unwrap();
    let parcel = Parcel::queued(to.parse().unwrap(), "2026-W10".parse().unwrap());
    let written_at = "2026-03-02T14:00:00Z".parse().unwrap();
    digest_message(laid_out(full_week()), &parcel, "f00d", &settings.mail, written_at).unwrap()
}

fn boss() -> Email {
    "boss@example.org".parse().unwrap()
}

fn settings(sink: &Sink) -> ServerSettings {
    ServerSettings {
        host: "localhost".to_owned(),
        port: sink.port,
        security: Security::StartTls,
        login: Some(Login { user: USER.to_owned(), password: Secret::new(PASSWORD) }),
        ca_file: Some(sink.ca_file.clone()),
        timeouts: Timeouts { connect: Duration::from_secs(2), reply: Duration::from_secs(2) },
    }
}

#[test]
fn a_polite_server_takes_it() {
    let ways: [(Security, Tls, bool); 3] = [
        (Security::StartTls, Tls::Offered, true),
        (Security::Implicit, Tls::FromTheStart, true),
        (Security::Plain, Tls::None, false),
    ];
    for (security, tls, login) in ways {
        let sink = Sink::start(Manners { tls, login, ..POLITE });
        let mut settings = ServerSettings { security, ..settings(&sink) };
        settings.login = settings.login.filter(|_| login);
        let greeting = probe(&settings).unwrap();
        assert_eq!((greeting.encrypted, greeting.logged_in), (login, login), "{security}");
        assert_eq!(sink.taken(), [], "a probe sends nothing");
        let accepted = send(&settings, &message("boss@example.org"), &boss()).unwrap();
        assert_eq!(accepted.reply, "queued as 7");
        let taken = sink.taken();
        assert_eq!(taken.len(), 1);
        assert_eq!(taken[0].encrypted, login, "{security}");
        assert_eq!(taken[0].from, "MAIL FROM:<desk@example.org>");
        assert_eq!(taken[0].to, ["RCPT TO:<boss@example.org>"]);
        let sent = String::from_utf8(message("boss@example.org").bytes().to_vec()).unwrap().replace("\r\n", "\n");
        assert_eq!(taken[0].text.trim_end(), sent.trim_end());
    }
}

#[test]
fn the_message_is_the_same_each_time_and_its_name_no_other() {
    let one = message("boss@example.org");
    assert_eq!(one, message("boss@example.org"));
    assert_ne!(one.id(), message("b@example.org").id());
    let text = String::from_utf8(one.bytes().to_vec()).unwrap();
    let head = text.split("\r\n\r\n").next().unwrap().to_owned();
    insta::assert_snapshot!(head.replace("\r\n", "\n"));
}

/// What one way of failing says.
fn told(name: &str, port: u16, result: Result<(), PostError>) -> String {
    let Err(error) = result else { panic!("{name}: sent") };
    let shown = format!(
        "{error}\n  hint: {}\n  {:?}{}",
        error.hint(),
        error.remedy(),
        if error.may_have_arrived() { ", may have arrived" } else { "" }
    );
    let debug = format!("{error:?} {shown}");
    assert!(!debug.contains(PASSWORD) && !debug.contains("horse"), "{debug}");
    format!("{name}:\n  {}", shown.replace(&port.to_string(), "PORT"))
}

#[test]
fn every_way_of_failing_names_what_to_fix() {
    const fn doing(deeds: &'static [(&'static str, Deed)]) -> Manners {
        Manners { deeds, ..POLITE }
    }
    let rude: [(&str, Manners); 20] = [
        ("refused recipient", doing(&[("RCPT", Deed::Say("550 5.1.1 no such mailbox\u{7}"))])),
        ("greylisted recipient", doing(&[("RCPT", Deed::Say("451 4.7.1 come back later"))])),
        ("refused sender", doing(&[("MAIL", Deed::Say("553 5.7.1 not your address"))])),
        ("refused message", doing(&[(".", Deed::Say("554 5.7.1 spam"))])),
        ("message put off", doing(&[(".", Deed::Say("452 4.3.1 disk full"))])),
        ("no data wanted", doing(&[("DATA", Deed::Say("503 5.5.1 not now"))])),
        ("wrong password", doing(&[("AUTH", Deed::Say("535 5.7.8 wrong user or password"))])),
        ("login put off", doing(&[("AUTH", Deed::Say("454 4.7.0 try later"))])),
        ("no login offered", Manners { login: false, ..POLITE }),
        ("no STARTTLS", Manners { tls: Tls::None, ..POLITE }),
        ("another's certificate", Manners { certificate: Bears::AnotherName, ..POLITE }),
        ("an old certificate", Manners { certificate: Bears::AnOldDate, ..POLITE }),
        ("turned away", doing(&[("greeting", Deed::Say("554 5.7.1 go away"))])),
        ("busy", doing(&[("greeting", Deed::Say("421 4.3.2 too busy"))])),
        ("silent greeting", doing(&[("greeting", Deed::KeepSilent)])),
        ("silent after the message", doing(&[(".", Deed::KeepSilent)])),
        ("silent recipient", doing(&[("RCPT", Deed::KeepSilent)])),
        ("hangs up at once", doing(&[("greeting", Deed::HangUp)])),
        ("hangs up after the message", doing(&[(".", Deed::HangUp)])),
        ("nonsense", doing(&[("greeting", Deed::Say("HTTP/1.1 400 Bad Request"))])),
    ];
    let mut all = Vec::new();
    for (name, manners) in rude {
        let sink = Sink::start(manners);
        all.push(told(name, sink.port, send(&settings(&sink), &message("boss@example.org"), &boss()).map(|_| ())));
        assert_eq!(sink.taken(), [], "{name}");
    }
    insta::assert_snapshot!(all.join("\n"));
}

#[test]
fn every_wrong_setting_names_what_to_fix() {
    let sink = Sink::start(POLITE);
    let other = Sink::start(POLITE);
    let implicit = Sink::start(Manners { tls: Tls::FromTheStart, ..POLITE });
    let empty = tempfile::NamedTempFile::new().unwrap();
    let base = || settings(&sink);
    let wrong = Login { user: USER.to_owned(), password: Secret::new("hunter2 horse") };
    let free_port = std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
    let cases: Vec<(&str, ServerSettings)> = vec![
        ("wrong password", ServerSettings { login: Some(wrong), ..base() }),
        ("no password where one is wanted", ServerSettings { login: None, ..base() }),
        ("another authority", ServerSettings { ca_file: Some(other.ca_file.clone()), ..base() }),
        ("the system's authorities", ServerSettings { ca_file: None, ..base() }),
        ("no authority file", ServerSettings { ca_file: Some(PathBuf::from("/nowhere/ca.pem")), ..base() }),
        ("an empty authority file", ServerSettings { ca_file: Some(PathBuf::from(empty.path())), ..base() }),
        ("nobody there", ServerSettings { port: free_port, ..base() }),
        ("no such name", ServerSettings { host: "mail.invalid".to_owned(), ..base() }),
        ("implicit TLS to a STARTTLS port", ServerSettings { security: Security::Implicit, ..base() }),
        ("STARTTLS to an implicit TLS port", ServerSettings { port: implicit.port, ..base() }),
        ("a password over a plain link", ServerSettings { security: Security::Plain, port: free_port, ..base() }),
        (
            "a plain link to elsewhere",
            ServerSettings { host: "192.0.2.1".to_owned(), security: Security::Plain, login: None, ..base() },
        ),
    ];
    let mut all = Vec::new();
    for (name, settings) in cases {
        let port = settings.port;
        all.push(told(name, port, send(&settings, &message("boss@example.org"), &boss()).map(|_| ())));
        assert_eq!(sink.taken(), [], "{name}");
    }
    insta::with_settings!({filters => vec![
        // Resolvers word it differently.
        (r"is not found: .*", "is not found: [resolver]"),
        (r"`/tmp/[^`]*`", "`[file]`"),
    ]}, { insta::assert_snapshot!(all.join("\n")); });
}

#[test]
fn a_session_goes_on_after_a_refusal() {
    let sink = Sink::start(POLITE);
    let settings = settings(&sink);
    let mut session = Session::open(&settings).unwrap();
    let rich: Email = "büro@example.org".parse().unwrap();
    let refused = session.send(&message("boss@example.org"), &rich).unwrap_err();
    assert!(matches!(refused, PostError::AddressTooRich { .. }), "{refused}");
    session.send(&message("boss@example.org"), &boss()).unwrap();
    session.send(&message("b@example.org"), &"b@example.org".parse().unwrap()).unwrap();
    session.close();
    assert_eq!(sink.taken().len(), 2);
}

#[test]
fn a_secret_never_shows() {
    let sink = Sink::start(POLITE);
    let shown = format!("{:?} {:#?}", settings(&sink), settings(&sink).login);
    assert!(!shown.contains("horse") && shown.contains("Secret(…)"), "{shown}");
}
