//! A parcel's way through the outbox.
//!
//! Owns: which step may follow which, the waits, and that no run of bad luck loses or doubles a message. Refuses: SMTP.

use chrono::{DateTime, TimeDelta, Utc};
use pigtail::digest::{Outlook, Parcel, Progress};
use proptest::prelude::{Just, Strategy, prop_oneof};
use proptest::proptest;

fn start() -> DateTime<Utc> {
    "2026-03-02T14:00:00Z".parse().unwrap()
}

fn parcel() -> Parcel {
    Parcel::queued("boss@example.org".parse().unwrap(), "2026-W10".parse().unwrap())
}

#[test]
fn the_straight_way() {
    let sending = parcel().begin(start()).unwrap();
    assert_eq!((sending.attempts, sending.progress.word()), (1, "sending"));
    let sent = sending.succeed(start(), "250 queued as 7").unwrap();
    assert_eq!(sent.progress, Progress::Sent { at: start(), reply: "250 queued as 7".to_owned() });
    assert!(!sent.is_ready(start()) && sent.next_try().is_none() && !sent.is_given_up());
}

#[test]
fn waits_grow_and_end() {
    let mut parcel = parcel();
    let mut now = start();
    let mut waits = Vec::new();
    while !parcel.is_given_up() {
        parcel = parcel.begin(now).unwrap().fail(now, "451 come back later", Outlook::Transient).unwrap();
        if let Some(next_try) = parcel.next_try() {
            assert!(!parcel.is_ready(next_try - TimeDelta::seconds(1)) && parcel.is_ready(next_try));
            waits.push((next_try - now).num_minutes());
            now = next_try;
        }
    }
    assert_eq!(waits, [2, 5, 15, 30, 60, 120, 240, 480, 960, 960]);
    assert_eq!(parcel.attempts, 11);
    // Two days: a server down over a weekend is waited for.
    assert!(now - start() > TimeDelta::hours(47));
}

#[test]
fn a_wrong_password_is_waited_out_and_a_wrong_address_is_not() {
    let mut waiting = parcel();
    let mut now = start();
    for _ in 0..100 {
        waiting = waiting.begin(now).unwrap().fail(now, "535", Outlook::Repair).unwrap();
        now = waiting.next_try().unwrap();
    }
    let refused = parcel().begin(start()).unwrap().fail(start(), "550", Outlook::Permanent).unwrap();
    assert!(refused.is_given_up() && !refused.is_ready(start() + TimeDelta::days(365)));
}

#[test]
fn steps_out_of_order_are_refused() {
    let sending = || parcel().begin(start()).unwrap();
    let sent = || sending().succeed(start(), "").unwrap();
    let cases = [
        (sending().begin(start()), "digest of 2026-W10 to `boss@example.org` is sending; it cannot be sent now"),
        (sent().begin(start()), "digest of 2026-W10 to `boss@example.org` is sent; it cannot be sent now"),
        (
            parcel().succeed(start(), ""),
            "digest of 2026-W10 to `boss@example.org` is queued; it cannot be marked as sent",
        ),
        (
            sent().fail(start(), "", Outlook::Transient),
            "digest of 2026-W10 to `boss@example.org` is sent; it cannot be marked as failed",
        ),
        (sending().again(), "digest of 2026-W10 to `boss@example.org` is sending; it cannot be queued again"),
    ];
    for (step, expected) in cases {
        assert_eq!(step.unwrap_err().to_string(), expected);
    }
}

#[test]
fn a_parcel_has_one_name_until_it_is_forced_out_again() {
    let first = parcel();
    let name = first.name_facts("f00d");
    let retried = first.begin(start()).unwrap().recovered(start());
    assert_eq!(retried.name_facts("f00d"), name);
    let forced = retried.begin(start()).unwrap().succeed(start(), "").unwrap().again().unwrap();
    assert!(forced.is_ready(start()));
    let mut names = vec![name, forced.name_facts("f00d"), parcel().name_facts("beef")];
    names.push(Parcel { week: "2026-W11".parse().unwrap(), ..parcel() }.name_facts("f00d"));
    names.push(Parcel { to: "b@example.org".parse().unwrap(), ..parcel() }.name_facts("f00d"));
    names.sort();
    names.dedup();
    assert_eq!(names.len(), 5);
}

/// What can befall a run that wants to send one message.
#[derive(Debug, Clone, Copy)]
enum Fate {
    Delivered,
    Refused(Outlook),
    DiedBeforeTheServer,
    DiedAfterTheServer,
}

proptest! {
    /// However runs die, a message is delivered, given up with a reason, or still wanted: never silently lost. It is
    /// doubled at most once for each run that died after the server took it.
    #[test]
    fn nothing_is_lost_and_doubles_are_accounted_for(
        fates in proptest::collection::vec(
            prop_oneof![
                Just(Fate::Delivered),
                Just(Fate::Refused(Outlook::Transient)),
                Just(Fate::Refused(Outlook::Repair)),
                Just(Fate::Refused(Outlook::Permanent)),
                Just(Fate::DiedBeforeTheServer),
                Just(Fate::DiedAfterTheServer),
            ].boxed(),
            0..40,
        )
    ) {
        let (mut parcel, mut now) = (parcel(), start());
        let (mut arrived, mut died_after) = (0, 0);
        for fate in fates {
            parcel = parcel.recovered(now);
            if !parcel.is_ready(now) {
                let Some(next_try) = parcel.next_try() else { break };
                now = next_try;
            }
            let sending = parcel.begin(now).unwrap();
            parcel = match fate {
                Fate::Delivered => {
                    arrived += 1;
                    sending.succeed(now, "250").unwrap()
                }
                Fate::Refused(outlook) => sending.fail(now, "no", outlook).unwrap(),
                Fate::DiedBeforeTheServer => sending,
                Fate::DiedAfterTheServer => {
                    arrived += 1;
                    died_after += 1;
                    sending
                }
            };
        }
        let parcel = parcel.recovered(now);
        match &parcel.progress {
            Progress::Sent { .. } => assert_eq!(arrived, died_after + 1),
            Progress::Failed { next_try: None, reason, .. } => assert!(!reason.is_empty() && arrived == died_after),
            _ => assert!(parcel.next_try().is_some() && arrived == died_after),
        }
    }
}
