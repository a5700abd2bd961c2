//! Striking an entry: whether everything else in the journal could still stand.
//!
//! Owns: the trial, which reads the journal again without the entry, and the list of what rests on it. Refuses: looking
//! away; a gas test that passed only because of a gauge check rests on that check.

use super::error::BookError;
use super::file::{explained, house_rules};
use super::gate::{Gate, Obstacle};
use super::refusal::Refusal;
use super::replay::{ENTRY, STRIDE, Strikes, change_of, entry};
use super::{Book, apply, judge};
use crate::journal::Change;
use crate::model::Day;
use crate::rules::RuleBook;
use rusqlite::{Connection, OptionalExtension};
use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Whether entry `seq` may be struck: it stands, and no other entry rests on it. Where it is itself a void, what it
/// struck stands again, and must be able to. `progress` is told which entry the trial is at.
pub(super) fn may_void(
    conn: &Connection,
    path: &Path,
    today: Day,
    seq: u64,
    progress: &mut dyn FnMut(u64),
) -> Result<(), Obstacle> {
    let explain = |source| Obstacle::Book(explained(path, source));
    let why = |why| Err(Obstacle::Refusal(Refusal::NotVoidable { seq, why }));
    let found = conn.query_row(&format!("{ENTRY} WHERE seq = ?"), [seq.cast_signed()], entry);
    if found.optional().map_err(explain)?.is_none() {
        return why("is not in the journal");
    }
    let strikes = Strikes::up_to(conn, None).map_err(explain)?;
    if strikes.struck().contains(&seq) {
        return why("is struck out already");
    }
    let trial = Trial { conn, path, today };
    let after = trial.objections(&strikes.and(seq).struck(), progress)?;
    if after.is_empty() {
        return Ok(());
    }
    // What could not stand even as things are (the shipped rules may know better by now) does not rest on this entry.
    let before = trial.objections(&strikes.struck(), progress)?;
    let dependents: Vec<(u64, String)> =
        after.into_iter().filter(|(resting, why)| before.get(resting) != Some(why)).collect();
    if dependents.is_empty() { Ok(()) } else { Err(Refusal::RestedOn { seq, dependents }.into()) }
}

/// The journal read again under the present gate.
struct Trial<'a> {
    conn: &'a Connection,
    path: &'a Path,
    today: Day,
}

impl Trial<'_> {
    /// The entries that could not be recorded again if these were struck, and why not.
    fn objections(
        &self,
        struck: &BTreeSet<u64>,
        progress: &mut dyn FnMut(u64),
    ) -> Result<BTreeMap<u64, String>, Obstacle> {
        let explain = |source| Obstacle::Book(explained(self.path, source));
        let trial = Book::in_memory().map_err(Obstacle::Book)?;
        // What is objected to is applied all the same, so that each objection is about one entry only.
        trial.conn.pragma_update(None, "foreign_keys", false).map_err(explain)?;
        let tx = trial.conn.unchecked_transaction().map_err(explain)?;
        let mut rules = trial.rules.clone();
        let mut objections = BTreeMap::new();
        let mut statement = self.conn.prepare(&format!("{ENTRY} ORDER BY seq")).map_err(explain)?;
        let mut rows = statement.query([]).map_err(explain)?;
        while let Some(row) = rows.next().map_err(explain)? {
            let entry = entry(row).map_err(explain)?;
            if entry.seq.is_multiple_of(STRIDE) {
                progress(entry.seq);
            }
            if struck.contains(&entry.seq) {
                continue;
            }
            let change = change_of(&entry).map_err(explain)?;
            if let Some(why) = self.objection(&tx, &rules, &change)? {
                objections.insert(entry.seq, why);
            }
            let applied = apply::apply(&tx, entry.seq, &change);
            if let Change::HouseRules { .. } = change {
                match house_rules(&tx, self.path) {
                    Ok(in_force) => rules = in_force,
                    Err(error) => {
                        objections.insert(entry.seq, error.to_string());
                    }
                }
            }
            if let Err(error) = applied {
                objections.entry(entry.seq).or_insert_with(|| error.to_string());
            }
        }
        Ok(objections)
    }

    fn objection(&self, conn: &Connection, rules: &RuleBook, change: &Change) -> Result<Option<String>, Obstacle> {
        let (nearest_given, last_unit) = (Cell::new(u32::MAX / 2), RefCell::new(None));
        let gate = Gate {
            conn,
            path: self.path,
            rules,
            today: self.today,
            nearest_given: &nearest_given,
            last_unit: &last_unit,
        };
        match gate.admit(change) {
            Ok(_) => {}
            Err(Obstacle::Refusal(refusal)) => return Ok(Some(refusal.to_string())),
            Err(Obstacle::Book(error @ BookError::Damaged { .. })) => return Ok(Some(error.to_string())),
            Err(book) => return Err(book),
        }
        let Change::GasTest { test, verdict, .. } = change else { return Ok(None) };
        let pack = rules.pack(gate.unit_standing(&test.unit)?.pack);
        let judged = judge::judge(conn, pack, test).map_err(|source| Obstacle::Book(explained(self.path, source)))?;
        Ok((judged.verdict != *verdict).then(|| {
            format!("gas test of unit {} on {} was a {verdict} and would be a {}", test.unit, test.on, judged.verdict)
        }))
    }
}
