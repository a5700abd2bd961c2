//! The one write path: facts in, journal entries, tables and due rows out, in one transaction or not at all.
//!
//! Owns: admission in order, sealing, applying, settling. Refuses: half of anything.

use super::error::{BookError, RecordError};
use super::file::{explained, explained_at_commit, house_rules};
use super::gate::{Admission, Gate, Obstacle, UnitStanding};
use super::refusal::{Refusal, Refused};
use super::settle::{self, Touched};
use super::{Book, apply, judge, replay, void};
use crate::journal::{Author, Change, Entry, Fact, Hash, Instant};
use crate::model::{
    Check, Day, Event, EventKind, GasTest, Gauge, GaugeCheck, Mark, PackId, Part, PartKind, Unit, UnitCode, Verdict,
};
use crate::rules::{RuleBook, parse_house};
use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};
use std::cell::{Cell, RefCell};

/// Who records, when, and what day it is there.
#[derive(Debug, Clone)]
pub struct Recording {
    /// By whom.
    pub author: Author,
    /// The moment.
    pub at: Instant,
    /// Today; nothing may have happened after it.
    pub today: Day,
}

/// What a transaction added.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Recorded {
    /// Entries added, each with its number, in order.
    pub entries: Vec<(u64, Change)>,
    /// How many entries were added; where they are not kept for the caller, more than `entries` holds.
    pub added: u64,
    /// Facts that said what was recorded already.
    pub known: u64,
}

/// Entries handed back to the caller; an import has no use for more.
const MOST_RETURNED: usize = 1000;

/// Pages kept in memory while writing, KiB (negative as SQLite wants it). Memory is only taken as it is filled.
const WRITING_CACHE_KIB: i32 = -262_144;

/// Facts between two calls of the progress report.
const STRIDE: usize = 4096;

/// The journal's last entry: how long it is and the hash that pins all of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Head {
    /// Number of entries.
    pub seq: u64,
    /// Hash of the last.
    pub hash: Hash,
}

impl Book {
    /// Records `facts` in order: all of them, or none and the whole list of what is wrong. Facts that say what is
    /// recorded already are passed over. `progress` is told how many are done; of a void, how many entries were read
    /// again: each is read twice.
    ///
    /// # Errors
    /// [`RecordError::Refused`] with every refused fact, or what the file reports.
    pub fn record(
        &mut self,
        recording: &Recording,
        facts: impl IntoIterator<Item = Fact>,
        progress: &mut dyn FnMut(usize),
    ) -> Result<Recorded, RecordError> {
        let Some((recorded, rules)) = self.attempt(recording, facts, progress, true)? else {
            return Ok(Recorded::default());
        };
        self.rules = rules;
        Ok(recorded)
    }

    /// Does everything [`Self::record`] does and then takes it back: says what would be recorded.
    ///
    /// # Errors
    /// As [`Self::record`].
    pub fn rehearse(
        &mut self,
        recording: &Recording,
        facts: impl IntoIterator<Item = Fact>,
        progress: &mut dyn FnMut(usize),
    ) -> Result<Recorded, RecordError> {
        Ok(self.attempt(recording, facts, progress, false)?.map(|(recorded, _)| recorded).unwrap_or_default())
    }

    fn attempt(
        &mut self,
        recording: &Recording,
        facts: impl IntoIterator<Item = Fact>,
        progress: &mut dyn FnMut(usize),
        keep: bool,
    ) -> Result<Option<(Recorded, RuleBook)>, RecordError> {
        let path = self.path.clone();
        let explain = |source| RecordError::Book(explained(&path, source));
        let tx = self.conn.transaction_with_behavior(TransactionBehavior::Immediate).map_err(explain)?;
        // Another process may have adopted house rules since this file was opened.
        let rules = house_rules(&tx, &path)?;
        let head = head(&tx).map_err(explain)?;
        // A large transaction keeps its pages at hand instead of writing them out and reading them back.
        tx.pragma_update(None, "cache_size", WRITING_CACHE_KIB).map_err(explain)?;
        let mut writer = Writer {
            tx: &tx,
            path: &path,
            recording,
            packs_before: settle::packs_in_use(&tx).map_err(explain)?,
            rules,
            head,
            touched: Touched::default(),
            recorded: Recorded::default(),
            refused: Vec::new(),
            nearest_given: Cell::new(0),
            last_unit: RefCell::new(None),
            progress,
        };
        for (index, fact) in facts.into_iter().enumerate() {
            writer.fact(index, fact)?;
            if index % STRIDE == 0 {
                (writer.progress)(index);
            }
        }
        if !writer.refused.is_empty() {
            return Err(RecordError::Refused(writer.refused));
        }
        let (recorded, rules) = writer.settle()?;
        if recorded.added == 0 {
            return Ok(Some((recorded, rules)));
        }
        if keep {
            tx.commit().map_err(|source| explained_at_commit(&path, source))?;
        }
        Ok(Some((recorded, rules)))
    }

    /// What tells this fleet's journal from another's: the hash of its first entry, blank before there is one.
    ///
    /// # Errors
    /// What the file reports.
    pub fn fleet_name(&self) -> Result<String, BookError> {
        let first = self.conn.query_row("SELECT hash FROM journal WHERE seq = 1", [], |row| Ok(Hash(row.get(0)?)));
        let first = first.optional().map_err(|source| self.explained(source))?;
        Ok(first.map(|hash| hash.to_string()).unwrap_or_default())
    }

    /// The journal's last entry.
    ///
    /// # Errors
    /// What the file reports.
    pub fn head(&self) -> Result<Head, BookError> {
        head(&self.conn).map_err(|source| self.explained(source))
    }
}

pub(super) fn head(conn: &Connection) -> rusqlite::Result<Head> {
    let last = conn
        .prepare_cached("SELECT seq, hash FROM journal ORDER BY seq DESC LIMIT 1")?
        .query_row([], |row| Ok(Head { seq: row.get(0)?, hash: Hash(row.get(1)?) }))
        .optional()?;
    Ok(last.unwrap_or(Head { seq: 0, hash: Hash::ZERO }))
}

struct Writer<'a> {
    tx: &'a Transaction<'a>,
    path: &'a std::path::Path,
    recording: &'a Recording,
    packs_before: Vec<PackId>,
    rules: RuleBook,
    head: Head,
    touched: Touched,
    recorded: Recorded,
    refused: Vec<Refused>,
    nearest_given: Cell<u32>,
    last_unit: RefCell<Option<(UnitCode, UnitStanding)>>,
    progress: &'a mut dyn FnMut(usize),
}

impl Writer<'_> {
    fn fact(&mut self, index: usize, fact: Fact) -> Result<(), RecordError> {
        match self.changes(fact).and_then(|changes| changes.into_iter().try_for_each(|change| self.change(change))) {
            Ok(()) => Ok(()),
            Err(Obstacle::Refusal(refusal)) => {
                self.refused.push(Refused { index, refusal });
                Ok(())
            }
            Err(Obstacle::Book(error)) => Err(error.into()),
        }
    }

    /// A fact as the changes that state it: a test with its verdict, a check for each part that it is about.
    fn changes(&self, fact: Fact) -> Result<Vec<Change>, Obstacle> {
        match fact {
            Fact::Test(test) => {
                let unjudged = Change::GasTest { test, verdict: Verdict::Inconclusive, because: Vec::new() };
                if self.gate().admit(&unjudged)? == Admission::Known {
                    return Ok(vec![unjudged]);
                }
                let Change::GasTest { test, .. } = unjudged else { return Ok(Vec::new()) };
                let gate = self.gate();
                let pack = self.rules.pack(gate.unit_standing(&test.unit)?.pack);
                let judgement = judge::judge(self.tx, pack, &test).map_err(|source| self.obstacle(source))?;
                Ok(vec![Change::GasTest { verdict: judgement.verdict, test, because: judge::sentences(&judgement) }])
            }
            Fact::Change(Change::Check(check)) if check.part.is_none() => {
                let parts = self.gate().parts_under(&check.unit, &check.rule)?;
                if parts.is_empty() {
                    return Ok(vec![Change::Check(check)]);
                }
                Ok(parts.into_iter().map(|part| Change::Check(Check { part: Some(part), ..check.clone() })).collect())
            }
            Fact::Change(change) => {
                let opened = self.opens_the_system(&change)?;
                Ok(std::iter::once(change).chain(opened).collect())
            }
        }
    }

    /// Fitting a hose or regulator opens the gas system of its unit; nobody has to remember to say so.
    fn opens_the_system(&self, change: &Change) -> Result<Option<Change>, Obstacle> {
        let Change::PartFitted { part, unit, on, .. } = change else { return Ok(None) };
        let kind = self.gate().part_kind(part)?;
        let event = match kind {
            PartKind::Regulator => EventKind::RegulatorReplaced,
            PartKind::Hose => EventKind::HoseReplaced,
            _ => return Ok(None),
        };
        let note = format!("{part} fitted").parse().unwrap_or_default();
        Ok(Some(Change::Event(Event { unit: unit.clone(), on: *on, event, note })))
    }

    fn change(&mut self, change: Change) -> Result<(), Obstacle> {
        if self.gate().admit(&change)? == Admission::Known {
            self.recorded.known += 1;
            return Ok(());
        }
        self.special(&change)?;
        if !matches!(change, Change::Part(_) | Change::Mark(_)) {
            self.last_unit.replace(None);
        }
        self.note_touched(&change);
        let seq = self.append(&change)?;
        if matches!(change, Change::Void { .. }) {
            let mut progress = |done| (self.progress)((seq + done) as usize);
            replay::project_again(self.tx, &mut progress).map_err(|source| self.obstacle(source))?;
            self.rules = house_rules(self.tx, self.path).map_err(Obstacle::Book)?;
            self.touched.everything = true;
        } else {
            apply::apply(self.tx, seq, &change).map_err(|source| self.obstacle(source))?;
        }
        self.recorded.added += 1;
        if self.recorded.entries.len() < MOST_RETURNED {
            self.recorded.entries.push((seq, change));
        }
        Ok(())
    }

    /// Changes that the gate's tables cannot judge: rules, and voids.
    fn special(&mut self, change: &Change) -> Result<(), Obstacle> {
        match change {
            Change::HouseRules { pack, toml } => {
                let refused = |message: String| Obstacle::Refusal(Refusal::Rules { message });
                let house = parse_house("house rules", toml).map_err(|error| refused(error.to_string()))?;
                let others = self
                    .tx
                    .prepare_cached("SELECT toml FROM house_rules WHERE pack <> ?")
                    .and_then(|mut others| {
                        others
                            .query_map([pack.to_string()], |row| row.get::<_, String>(0))?
                            .collect::<Result<Vec<_>, _>>()
                    })
                    .map_err(|source| self.obstacle(source))?;
                let mut all = vec![house];
                for other in others {
                    all.push(parse_house("house rules", &other).map_err(|error| refused(error.to_string()))?);
                }
                self.rules = RuleBook::new(&all).map_err(|error| refused(error.to_string()))?;
                self.touched.everything = true;
                Ok(())
            }
            Change::Void { seq, because } => {
                if because.is_blank() {
                    return Err(Refusal::NoReason { record: format!("voiding entry {seq}") }.into());
                }
                let mut progress = |seq| (self.progress)(seq as usize);
                void::may_void(self.tx, self.path, self.recording.today, *seq, &mut progress)
            }
            _ => Ok(()),
        }
    }

    fn append(&mut self, change: &Change) -> Result<u64, Obstacle> {
        let body = serde_json::to_string(change)
            .map_err(|error| self.obstacle(rusqlite::Error::ToSqlConversionFailure(Box::new(error))))?;
        let seq = self.head.seq + 1;
        let entry = Entry::seal(seq, self.recording.at.clone(), &self.recording.author, body, self.head.hash);
        self.tx
            .prepare_cached("INSERT INTO journal VALUES (?, ?, ?, ?, ?, ?)")
            .and_then(|mut insert| {
                insert.execute(params![
                    seq.cast_signed(),
                    entry.recorded_at.as_str(),
                    entry.author,
                    entry.body,
                    entry.prev_hash.0,
                    entry.hash.0
                ])
            })
            .map_err(|source| self.obstacle(source))?;
        self.head = Head { seq, hash: entry.hash };
        Ok(seq)
    }

    fn note_touched(&mut self, change: &Change) {
        let touched = &mut self.touched;
        match change {
            Change::Unit(Unit { unit, .. })
            | Change::GasTest { test: GasTest { unit, .. }, .. }
            | Change::Check(Check { unit, part: None, .. })
            | Change::Event(Event { unit, .. })
            | Change::UnitMoved { unit, .. }
            | Change::UnitRetired { unit, .. } => {
                touched.units.insert(unit.clone());
            }
            Change::Part(Part { part, .. })
            | Change::Mark(Mark { part, .. })
            | Change::Check(Check { part: Some(part), .. })
            | Change::PartFitted { part, .. }
            | Change::PartPulled { part, .. }
            | Change::PartScrapped { part, .. } => {
                touched.part(part);
            }
            Change::Person(person) => {
                touched.people.insert(person.person.clone());
            }
            Change::Gauge(Gauge { gauge, .. }) | Change::GaugeCheck(GaugeCheck { gauge, .. }) => {
                touched.gauges.insert(gauge.clone());
            }
            Change::Depot(depot) => {
                // Units of a depot that changes its pack fall under other rules.
                let sql = "SELECT rules FROM depots WHERE depot = ?";
                let pack = self.tx.query_row(sql, [depot.depot.as_str()], |row| row.get::<_, String>(0));
                touched.everything |= pack.is_ok_and(|pack| pack != depot.rules.to_string());
            }
            Change::Appliance(_)
            | Change::Calendar(_)
            | Change::Hold(_)
            | Change::HoldLifted { .. }
            | Change::Booking(_)
            | Change::BookingCancelled { .. }
            | Change::VisitClosed { .. }
            | Change::VisitsKept { .. }
            | Change::HouseRules { .. }
            | Change::Void { .. } => {}
        }
    }

    fn settle(mut self) -> Result<(Recorded, RuleBook), BookError> {
        let explain = |source| explained(self.path, source);
        if settle::packs_in_use(self.tx).map_err(explain)? != self.packs_before {
            self.touched.everything = true;
        }
        settle::touched(self.tx, &self.rules, std::mem::take(&mut self.touched)).map_err(explain)?;
        Ok((self.recorded, self.rules))
    }

    fn gate(&self) -> Gate<'_> {
        Gate {
            conn: self.tx,
            path: self.path,
            rules: &self.rules,
            today: self.recording.today,
            nearest_given: &self.nearest_given,
            last_unit: &self.last_unit,
        }
    }

    fn obstacle(&self, source: rusqlite::Error) -> Obstacle {
        Obstacle::Book(explained(self.path, source))
    }
}
