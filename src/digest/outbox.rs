//! What happens to one recipient's digest of one week, from queued to sent.
//!
//! Owns: which step may follow which, when a failed one is tried again, and what names it so that its receiver can
//! recognise a second copy. Refuses: storing it (`book`), sending it (`post`).
//!
//! An attempt is recorded before the server is spoken to and its outcome after. Whoever finds a parcel in
//! [`Progress::Sending`] while nobody is sending knows that a run died between the two: the message may have arrived,
//! and goes out again under the same name.

use super::week::Week;
use crate::model::Email;
use chrono::{DateTime, TimeDelta, Utc};

/// How long to wait after the first, second, … failed attempt, in minutes. Greylisting servers want some minutes;
/// a server that is down over a weekend is still waited for.
const WAITS_MINUTES: [i64; 10] = [2, 5, 15, 30, 60, 120, 240, 480, 960, 960];

/// How long to wait where nothing helps but somebody changing the settings or the server.
const WAIT_FOR_REPAIR: TimeDelta = TimeDelta::minutes(30);

/// What can be hoped for after a failed attempt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outlook {
    /// Trying again later may help: the network, or a server's 4xx.
    Transient,
    /// Every message fails alike until somebody repairs something, as a wrong password; never given up.
    Repair,
    /// Nothing helps for this recipient: a server's 5xx.
    Permanent,
}

/// How far it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Progress {
    /// Not tried yet.
    Queued,
    /// Being handed to the server.
    Sending {
        /// Since when.
        since: DateTime<Utc>,
    },
    /// Taken by the server.
    Sent {
        /// When.
        at: DateTime<Utc>,
        /// What the server said, on one line.
        reply: String,
    },
    /// Not taken.
    Failed {
        /// When.
        at: DateTime<Utc>,
        /// Why, on one line.
        reason: String,
        /// When to try again; none where it was given up.
        next_try: Option<DateTime<Utc>>,
    },
}

impl Progress {
    /// Its word: `queued`, `sending`, `sent` or `failed`.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Queued => "queued",
            Self::Sending { .. } => "sending",
            Self::Sent { .. } => "sent",
            Self::Failed { .. } => "failed",
        }
    }
}

/// One recipient's digest of one week.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Parcel {
    /// For whom.
    pub to: Email,
    /// For which week.
    pub week: Week,
    /// 0, or how many times it was forced out again.
    pub copy: u32,
    /// How many attempts have begun.
    pub attempts: u32,
    /// How far it is.
    pub progress: Progress,
}

/// A step that cannot follow.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("digest of {week} to `{to}` is {progress}; it cannot be {step}")]
pub struct OutboxError {
    /// For whom.
    pub to: Email,
    /// For which week.
    pub week: Week,
    /// How far it is.
    pub progress: &'static str,
    /// What was wanted.
    pub step: &'static str,
}

impl Parcel {
    /// A parcel not tried yet.
    #[must_use]
    pub fn queued(to: Email, week: Week) -> Self {
        Self { to, week, copy: 0, attempts: 0, progress: Progress::Queued }
    }

    /// What its Message-ID is made from: the same however often this parcel is tried, and no other's. `fleet` tells
    /// one fleet's journal from another's and stays the same for life, as the hash of the journal's first entry.
    #[must_use]
    pub fn name_facts(&self, fleet: &str) -> Vec<String> {
        let mut facts = vec!["digest".to_owned(), fleet.to_owned(), self.to.as_str().to_owned(), self.week.to_string()];
        if self.copy > 0 {
            facts.push(format!("copy {}", self.copy));
        }
        facts
    }

    /// True where it may be handed to the server at `now`.
    #[must_use]
    pub fn is_ready(&self, now: DateTime<Utc>) -> bool {
        match &self.progress {
            Progress::Queued => true,
            Progress::Failed { next_try, .. } => next_try.is_some_and(|next_try| next_try <= now),
            Progress::Sending { .. } | Progress::Sent { .. } => false,
        }
    }

    /// When it wants attention next; none where it is done, given up or being sent.
    #[must_use]
    pub fn next_try(&self) -> Option<DateTime<Utc>> {
        match &self.progress {
            Progress::Queued => Some(DateTime::UNIX_EPOCH),
            Progress::Failed { next_try, .. } => *next_try,
            Progress::Sending { .. } | Progress::Sent { .. } => None,
        }
    }

    /// True where it failed for good.
    #[must_use]
    pub fn is_given_up(&self) -> bool {
        matches!(self.progress, Progress::Failed { next_try: None, .. })
    }

    /// Begins an attempt; to be recorded before the server is spoken to.
    ///
    /// # Errors
    /// [`OutboxError`] where it is not ready.
    pub fn begin(self, now: DateTime<Utc>) -> Result<Self, OutboxError> {
        if !self.is_ready(now) {
            return Err(self.cannot("sent now"));
        }
        Ok(Self { attempts: self.attempts.saturating_add(1), progress: Progress::Sending { since: now }, ..self })
    }

    /// Ends an attempt well.
    ///
    /// # Errors
    /// [`OutboxError`] where none has begun.
    pub fn succeed(self, at: DateTime<Utc>, reply: &str) -> Result<Self, OutboxError> {
        self.end("marked as sent", Progress::Sent { at, reply: reply.to_owned() })
    }

    /// Ends an attempt badly, and says when to try again, if ever.
    ///
    /// # Errors
    /// [`OutboxError`] where none has begun.
    pub fn fail(self, at: DateTime<Utc>, reason: &str, outlook: Outlook) -> Result<Self, OutboxError> {
        let wait = match outlook {
            Outlook::Permanent => None,
            Outlook::Repair => Some(WAIT_FOR_REPAIR),
            Outlook::Transient => usize::try_from(self.attempts.saturating_sub(1))
                .ok()
                .and_then(|failed| WAITS_MINUTES.get(failed))
                .map(|minutes| TimeDelta::minutes(*minutes)),
        };
        let next_try = wait.map(|wait| at + wait);
        self.end("marked as failed", Progress::Failed { at, reason: reason.to_owned(), next_try })
    }

    /// What becomes of a parcel found in [`Progress::Sending`] by the only one who may send: it is tried again at once.
    /// Any other is left as it is.
    #[must_use]
    pub fn recovered(self, now: DateTime<Utc>) -> Self {
        if !matches!(self.progress, Progress::Sending { .. }) {
            return self;
        }
        let reason = "a run ended before its outcome was recorded; it may have arrived".to_owned();
        Self { progress: Progress::Failed { at: now, reason, next_try: Some(now) }, ..self }
    }

    /// Forces it out again under a new name, with all attempts before it.
    ///
    /// # Errors
    /// [`OutboxError`] where it is being sent.
    pub fn again(self) -> Result<Self, OutboxError> {
        match self.progress {
            Progress::Sending { .. } => Err(self.cannot("queued again")),
            // Nothing went out under the old name for certain, so it can be kept.
            Progress::Queued => Ok(self),
            Progress::Sent { .. } | Progress::Failed { .. } => {
                Ok(Self { copy: self.copy.saturating_add(1), attempts: 0, progress: Progress::Queued, ..self })
            }
        }
    }

    fn end(self, step: &'static str, progress: Progress) -> Result<Self, OutboxError> {
        match self.progress {
            Progress::Sending { .. } => Ok(Self { progress, ..self }),
            _ => Err(self.cannot(step)),
        }
    }

    fn cannot(self, step: &'static str) -> OutboxError {
        OutboxError { to: self.to, week: self.week, progress: self.progress.word(), step }
    }
}
