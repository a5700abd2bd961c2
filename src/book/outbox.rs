//! Parcels of the digest, kept between runs.
//!
//! Owns: their rows. Refuses: which step may follow which (`digest`), and sending.

use super::columns::parsed;
use super::{Book, BookError};
use crate::digest::{Parcel, Previous, Progress, Week};
use crate::model::Email;
use chrono::{DateTime, SecondsFormat, Utc};
use rusqlite::types::Type;
use rusqlite::{OptionalExtension, Result, Row, params};

const PARCEL: &str = "SELECT recipient, week, copy, attempts, progress, at, said, next_try FROM outbox";

/// A column that names a step nobody knows.
#[derive(Debug, thiserror::Error)]
#[error("`{word}` is no step of a parcel")]
struct UnknownStep {
    word: String,
}

fn moment(row: &Row<'_>, index: usize) -> Result<Option<DateTime<Utc>>> {
    let Some(text) = row.get::<_, Option<String>>(index)? else { return Ok(None) };
    DateTime::parse_from_rfc3339(&text)
        .map(|moment| Some(moment.to_utc()))
        .map_err(|error| rusqlite::Error::FromSqlConversionFailure(index, Type::Text, Box::new(error)))
}

fn parcel(row: &Row<'_>) -> Result<Parcel> {
    let at = moment(row, 5)?.unwrap_or(DateTime::UNIX_EPOCH);
    let said: String = row.get(6)?;
    let word: String = row.get(4)?;
    let progress = match word.as_str() {
        "queued" => Progress::Queued,
        "sending" => Progress::Sending { since: at },
        "sent" => Progress::Sent { at, reply: said },
        "failed" => Progress::Failed { at, reason: said, next_try: moment(row, 7)? },
        _ => return Err(rusqlite::Error::FromSqlConversionFailure(4, Type::Text, Box::new(UnknownStep { word }))),
    };
    Ok(Parcel { to: parsed(row, 0)?, week: parsed(row, 1)?, copy: row.get(2)?, attempts: row.get(3)?, progress })
}

fn text(moment: DateTime<Utc>) -> String {
    moment.to_rfc3339_opts(SecondsFormat::Millis, true)
}

impl Book {
    /// One recipient's parcel of one week, if there is one.
    ///
    /// # Errors
    /// What the file reports.
    pub fn parcel(&self, to: &Email, week: Week) -> std::result::Result<Option<Parcel>, BookError> {
        self.conn
            .prepare_cached(&format!("{PARCEL} WHERE recipient = ? AND week = ?"))
            .and_then(|mut statement| statement.query_row([to.as_str(), &week.to_string()], parcel).optional())
            .map_err(|source| self.explained(source))
    }

    /// All parcels, latest week first.
    ///
    /// # Errors
    /// What the file reports.
    pub fn parcels(&self) -> std::result::Result<Vec<Parcel>, BookError> {
        self.conn
            .prepare_cached(&format!("{PARCEL} ORDER BY week DESC, recipient"))
            .and_then(|mut statement| statement.query_map([], parcel)?.collect())
            .map_err(|source| self.explained(source))
    }

    /// Keeps a parcel as it stands, with what its message tells.
    ///
    /// # Errors
    /// What the file reports.
    pub fn keep_parcel(&self, parcel: &Parcel, told: &Previous) -> std::result::Result<(), BookError> {
        let (at, said, next_try) = match &parcel.progress {
            Progress::Queued => (None, "", None),
            Progress::Sending { since } => (Some(text(*since)), "", None),
            Progress::Sent { at, reply } => (Some(text(*at)), reply.as_str(), None),
            Progress::Failed { at, reason, next_try } => (Some(text(*at)), reason.as_str(), next_try.map(text)),
        };
        let told = serde_json::to_string(told)
            .map_err(|error| self.explained(rusqlite::Error::ToSqlConversionFailure(Box::new(error))))?;
        self.conn
            .prepare_cached(
                "INSERT INTO outbox VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9) ON CONFLICT DO UPDATE SET copy = ?3,
                 attempts = ?4, progress = ?5, at = ?6, said = ?7, next_try = ?8, told = ?9",
            )
            .and_then(|mut statement| {
                statement.execute(params![
                    parcel.to.as_str(),
                    parcel.week.to_string(),
                    parcel.copy,
                    parcel.attempts,
                    parcel.progress.word(),
                    at,
                    said,
                    next_try,
                    told
                ])
            })
            .map(|_| ())
            .map_err(|source| self.explained(source))
    }

    /// What the last digest that reached a recipient before `week` told them.
    ///
    /// # Errors
    /// What the file reports.
    pub fn last_told(&self, to: &Email, week: Week) -> std::result::Result<Option<Previous>, BookError> {
        let told: Option<String> = self
            .conn
            .prepare_cached(
                "SELECT told FROM outbox WHERE recipient = ? AND week < ? AND progress = 'sent' ORDER BY week DESC LIMIT 1",
            )
            .and_then(|mut statement| {
                statement.query_row([to.as_str(), &week.to_string()], |row| row.get(0)).optional()
            })
            .map_err(|source| self.explained(source))?;
        told.map(|told| {
            serde_json::from_str(&told).map_err(|error| {
                self.explained(rusqlite::Error::FromSqlConversionFailure(0, Type::Text, Box::new(error)))
            })
        })
        .transpose()
    }
}
