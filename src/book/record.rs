//! The one write path: facts in, journal entries, tables and due rows out, in one transaction or not at all.
//!
//! Owns: admission in order, applying, settling, and that entries are sealed beside it. Refuses: half of anything.

use super::append::{Appending, Sealer};
use super::error::{BookError, RecordError};
use super::file::{explained, explained_at_commit, house_rules};
use super::gate::{Admission, Gate, Obstacle, UnitStanding};
use super::overlap::overlapped;
use super::refusal::{Refusal, Refused};
use super::settle::{self, Touched};
use super::{Book, append, apply, judge, replay, void};
use crate::journal::{Author, Change, Fact, Instant};
use crate::model::{
    Check, Day, Event, EventKind, GasTest, Gauge, GaugeCheck, Mark, PackId, Part, PartKind, Unit, UnitCode, Verdict,
};
use crate::rules::{RuleBook, parse_house};
use rusqlite::{Transaction, TransactionBehavior};
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
        let explain = |source| explained(&path, source);
        let tx = self.conn.transaction_with_behavior(TransactionBehavior::Immediate).map_err(explain)?;
        // Another process may have adopted house rules since this file was opened.
        let rules = house_rules(&tx, &path)?;
        let head = append::head(&tx).map_err(explain)?;
        // A large transaction keeps its pages at hand instead of writing them out and reading them back.
        tx.pragma_update(None, "cache_size", WRITING_CACHE_KIB).map_err(explain)?;
        let mut writer = Writer {
            tx: &tx,
            path: &path,
            recording,
            packs_before: settle::packs_in_use(&tx).map_err(explain)?,
            rules,
            seq: head.seq,
            touched: Touched::default(),
            recorded: Recorded::default(),
            refused: Vec::new(),
            nearest_given: Cell::new(0),
            last_unit: RefCell::new(None),
            progress,
        };
        let mut sealer = Sealer::onto(head, recording);
        let mut appending = Appending::to(&tx).map_err(explain)?;
        let mut facts = facts.into_iter().enumerate().peekable();
        while facts.peek().is_some() {
            let entered = std::iter::from_fn(|| facts.next_if(|(_, fact)| !is_void(fact))).map(|(index, fact)| {
                if index % STRIDE == 0 {
                    (writer.progress)(index);
                }
                writer.fact(index, fact)
            });
            overlapped(
                entered,
                |changes| changes.iter().map(|change| sealer.seal(change)).collect::<Vec<_>>(),
                |sealed| sealed.into_iter().try_for_each(|entry| appending.append(entry)).map_err(explain),
            )?;
            // A void is judged by the journal before it, and all of that is written now.
            let Some((index, void)) = facts.next() else { break };
            for change in writer.fact(index, void)? {
                appending.append(sealer.seal(&change)).map_err(explain)?;
                writer.project_again()?;
            }
        }
        drop(appending);
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
}

struct Writer<'a> {
    tx: &'a Transaction<'a>,
    path: &'a std::path::Path,
    recording: &'a Recording,
    packs_before: Vec<PackId>,
    rules: RuleBook,
    /// Number of the last change that entered.
    seq: u64,
    touched: Touched,
    recorded: Recorded,
    refused: Vec<Refused>,
    nearest_given: Cell<u32>,
    last_unit: RefCell<Option<(UnitCode, UnitStanding)>>,
    progress: &'a mut dyn FnMut(usize),
}

impl Writer<'_> {
    /// Takes a fact in; gives back what is to be sealed of it.
    fn fact(&mut self, index: usize, fact: Fact) -> Result<Vec<Change>, BookError> {
        let entered = self.changes(fact).and_then(|changes| {
            changes.into_iter().filter_map(|change| self.change(change).transpose()).collect::<Result<_, _>>()
        });
        match entered {
            Ok(changes) => Ok(changes),
            Err(Obstacle::Refusal(refusal)) => {
                self.refused.push(Refused { index, refusal });
                Ok(Vec::new())
            }
            Err(Obstacle::Book(error)) => Err(error),
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
                let mut changes = vec![change];
                changes.extend(opened);
                Ok(changes)
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

    /// Admits a change and applies it; none where it is known already.
    fn change(&mut self, change: Change) -> Result<Option<Change>, Obstacle> {
        if self.gate().admit(&change)? == Admission::Known {
            self.recorded.known += 1;
            return Ok(None);
        }
        self.special(&change)?;
        if !matches!(change, Change::Part(_) | Change::Mark(_)) {
            self.last_unit.replace(None);
        }
        self.note_touched(&change);
        self.seq += 1;
        if !matches!(change, Change::Void { .. }) {
            apply::apply(self.tx, self.seq, &change).map_err(|source| self.obstacle(source))?;
        }
        self.recorded.added += 1;
        if self.recorded.entries.len() < MOST_RETURNED {
            self.recorded.entries.push((self.seq, change.clone()));
        }
        Ok(Some(change))
    }

    /// Reads the journal again after a void.
    fn project_again(&mut self) -> Result<(), BookError> {
        let seq = self.seq;
        let mut progress = |done| (self.progress)((seq + done) as usize);
        replay::project_again(self.tx, &mut progress).map_err(|source| explained(self.path, source))?;
        self.rules = house_rules(self.tx, self.path)?;
        self.touched.everything = true;
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

fn is_void(fact: &Fact) -> bool {
    matches!(fact, Fact::Change(Change::Void { .. }))
}
