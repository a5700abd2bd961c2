//! One round of the digest: to everybody whose turn it is, once.
//!
//! Owns: the order of steps: record the attempt, speak to the server, record the outcome. Refuses: two rounds at once.

use super::complaint::{Complaint, Status};
use super::console::Console;
use super::digest_facts::{facts, undelivered};
use super::digest_message::digest_message;
use super::settings::Settings;
use crate::book::Book;
use crate::digest::{Digest, Outlook, Parcel, Progress, Week};
use crate::model::{Day, Depot, DepotCode, Email};
use crate::post::{PostError, Remedy, ServerSettings, Session as MailSession};
use crate::show::digest_mail::digest_mail;
use chrono::{DateTime, Utc};
use std::fs::{File, OpenOptions};
use std::path::PathBuf;

/// What this round is about.
#[derive(Debug, Clone, Default)]
pub struct Round {
    /// Only this depot's recipients, and only about it.
    pub depot: Option<DepotCode>,
    /// Only where a schedule has come and its digest has not gone out.
    pub if_due: bool,
    /// Also where it has gone out already.
    pub again: bool,
}

/// How a round went.
#[derive(Debug, Default)]
pub struct Tally {
    /// Taken by the server.
    pub sent: u32,
    /// Not taken.
    pub failed: u32,
    /// Not tried: gone out already, not their turn, or the server is away.
    pub skipped: u32,
    /// The first failure, as a complaint.
    pub complaint: Option<Complaint>,
}

/// Held while somebody sends, so that two never do. The system lets go of it whatever happens to the process.
pub struct SendingLock(#[allow(dead_code, reason = "held, not read")] File);

impl SendingLock {
    /// Takes the lock beside a fleet file.
    ///
    /// # Errors
    /// [`Complaint`] where another process holds it.
    pub fn take(book: &Book) -> Result<Self, Complaint> {
        let mut path = book.path().as_os_str().to_owned();
        path.push(".sending");
        let path = PathBuf::from(path);
        let unwritable = |error: std::io::Error| {
            Complaint::outside(format!("{}: {error}", path.display()), "check the permissions of the folder")
        };
        let file = OpenOptions::new().create(true).truncate(false).write(true).open(&path).map_err(unwritable)?;
        file.try_lock().map_err(|_| {
            Complaint::outside("another pigtail is sending digests", "wait for it to end, or stop pigtail watch")
        })?;
        Ok(Self(file))
    }
}

/// Sends a round. `now` is asked again for each recipient.
///
/// # Errors
/// [`Complaint`] where nothing could be tried at all; failures with single recipients are in the [`Tally`].
pub fn deliver(
    book: &Book,
    settings: &Settings,
    round: &Round,
    today: Day,
    clock: &dyn Fn() -> DateTime<Utc>,
    console: &mut Console<'_>,
) -> Result<Tally, Complaint> {
    let mut depots = book.depots()?;
    depots.retain(|depot| round.depot.as_ref().is_none_or(|wanted| *wanted == depot.depot));
    let rounds = settings.rounds(&depots);
    if rounds.is_empty() {
        return Err(Complaint::refused(
            "no depot has an address that its digest goes to",
            "pigtail depot amend DEPOT --digest-to ADDRESS, or set [recipients] in the settings file",
        ));
    }
    let server = settings.mail.to_server().map_err(|error| Complaint::outside(&error, error.hint()))?;
    let mut courier = Courier { book, settings, server: &server, today, session: None };
    let mut tally = Tally::default();
    for (to, theirs) in &rounds {
        let Some(week) = turn(settings, theirs, round, today, clock()) else {
            tally.skipped += 1;
            continue;
        };
        let Some(parcel) = courier.due_parcel(to, week, round, clock(), console)? else {
            tally.skipped += 1;
            continue;
        };
        match courier.hand_over(parcel, theirs, clock)? {
            Ok(reply) => {
                tally.sent += 1;
                writeln!(console.out, "sent {week} to {to}: {reply}")?;
            }
            Err(error) => {
                tally.failed += 1;
                writeln!(console.out, "failed {week} to {to}: {error}")?;
                tally.complaint.get_or_insert_with(|| Complaint::outside(&error, error.hint()));
                if fails_for_all(&error) {
                    tally.skipped +=
                        u32::try_from(rounds.len()).unwrap_or(u32::MAX) - tally.sent - tally.failed - tally.skipped;
                    break;
                }
            }
        }
    }
    courier.close();
    Ok(tally)
}

/// The week whose digest is due to these depots' recipient now; none where it is not their turn.
fn turn(settings: &Settings, depots: &[&Depot], round: &Round, today: Day, now: DateTime<Utc>) -> Option<Week> {
    if !round.if_due {
        return Some(Week::of(today));
    }
    let clocks = depots.iter().map(|depot| (settings.schedule_of(&depot.depot), depot.timezone));
    crate::digest::latest_slot(clocks, now).map(|slot| slot.week)
}

/// True where the next recipient would fare no better.
fn fails_for_all(error: &PostError) -> bool {
    error.remedy() == Remedy::Repair
        || matches!(error, PostError::CannotConnect { .. } | PostError::CannotResolve { .. })
}

struct Courier<'a> {
    book: &'a Book,
    settings: &'a Settings,
    server: &'a ServerSettings,
    today: Day,
    session: Option<MailSession<'a>>,
}

impl Courier<'_> {
    /// The parcel, ready to begin; none where there is nothing to do now.
    fn due_parcel(
        &self,
        to: &Email,
        week: Week,
        round: &Round,
        now: DateTime<Utc>,
        console: &mut Console<'_>,
    ) -> Result<Option<Parcel>, Complaint> {
        let Some(kept) = self.book.parcel(to, week)? else { return Ok(Some(Parcel::queued(to.clone(), week))) };
        let parcel = kept.recovered(now);
        if round.again {
            return parcel.again().map(Some).map_err(|error| Complaint::outside(error, "try again when it has ended"));
        }
        match &parcel.progress {
            Progress::Sent { at, .. } => {
                if !round.if_due {
                    writeln!(console.talk, "{to} has the digest of {week} since {at}; --again sends it once more")?;
                }
                Ok(None)
            }
            // Somebody asked by hand: whatever was waited for has perhaps been mended.
            Progress::Failed { .. } if !round.if_due => Ok(Some(Parcel { progress: Progress::Queued, ..parcel })),
            _ => Ok(parcel.is_ready(now).then_some(parcel)),
        }
    }

    fn hand_over(
        &mut self,
        parcel: Parcel,
        depots: &[&Depot],
        clock: &dyn Fn() -> DateTime<Utc>,
    ) -> Result<Result<String, PostError>, Complaint> {
        let since = self.book.last_told(&parcel.to, parcel.week)?;
        let missed = undelivered(self.book, &parcel.to, parcel.week)?;
        let digest = Digest::of(facts(self.book, depots, self.today, since, missed)?);
        let told = digest.to_keep();
        let written_at = clock();
        let mail = digest_mail(&digest, written_at).map_err(Complaint::fault)?;
        let fleet = self.book.fleet_name()?;
        let message = match digest_message(mail, &parcel, &fleet, &self.settings.mail, written_at) {
            Ok(message) => message,
            Err(error) => return Err(Complaint::refused(error, "correct `sender` or the recipient's address")),
        };
        let step = |error: crate::digest::OutboxError| Complaint::fault(error);
        let to = parcel.to.clone();
        let parcel = parcel.begin(written_at).map_err(step)?;
        self.book.keep_parcel(&parcel, &told)?;
        let outcome = self.speak(|session| session.send(&message, &to));
        let parcel = match &outcome {
            Ok(accepted) => parcel.succeed(clock(), &accepted.reply),
            Err(error) => parcel.fail(clock(), &error.to_string(), Outlook::from(error.remedy())),
        };
        self.book.keep_parcel(&parcel.map_err(step)?, &told)?;
        Ok(outcome.map(|accepted| accepted.reply))
    }

    /// Speaks to the server, over the open session if there is one.
    fn speak<T>(&mut self, say: impl FnOnce(&mut MailSession<'_>) -> Result<T, PostError>) -> Result<T, PostError> {
        let mut session = match self.session.take() {
            Some(session) => session,
            None => MailSession::open(self.server)?,
        };
        let said = say(&mut session);
        let usable = match &said {
            Ok(_) => true,
            Err(error) => matches!(
                error,
                PostError::SenderRefused { .. } | PostError::RecipientRefused { .. } | PostError::MessageRefused { .. }
            ),
        };
        if usable {
            self.session = Some(session);
        }
        said
    }

    fn close(self) {
        if let Some(session) = self.session {
            session.close();
        }
    }
}

impl Tally {
    /// How the round ends the command.
    ///
    /// # Errors
    /// The first failure.
    pub fn answer(self) -> super::complaint::Answer {
        match self.complaint {
            Some(complaint) => Err(complaint),
            None => Ok(Status::Done),
        }
    }
}
