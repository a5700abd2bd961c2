//! Due rows brought up to date with the facts.
//!
//! Owns: which things are touched, and writing their due rows. Refuses: gathering their facts (`gather`), deciding dates
//! (`due`).

use super::columns::{parsed, text_of};
use super::gather::{self, Facts, Gathering};
use super::overlap::overlapped;
use crate::due::{Item, assess};
use crate::model::{DepotCode, GaugeCode, Named, PackId, PartCode, PersonCode, RuleId, UnitCode};
use crate::rules::RuleBook;
use rusqlite::{CachedStatement, Connection, OptionalExtension, Result, params};
use std::collections::{BTreeMap, BTreeSet};

/// Things whose facts changed in a transaction.
#[derive(Debug, Default)]
pub(super) struct Touched {
    pub units: BTreeSet<UnitCode>,
    pub parts: BTreeSet<PartCode>,
    pub gauges: BTreeSet<GaugeCode>,
    pub people: BTreeSet<PersonCode>,
    /// Rules or the set of packs in use changed, or so much was touched that single things need not be told apart.
    pub everything: bool,
}

/// More parts than this are not told apart while a transaction runs; whether all rows are recomputed is then settled.
const MOST_TOLD_APART: usize = 50_000;

impl Touched {
    /// A part's facts changed.
    pub(super) fn part(&mut self, part: &PartCode) {
        if self.everything {
            return;
        }
        self.parts.insert(part.clone());
        if self.parts.len() > MOST_TOLD_APART {
            *self = Self { everything: true, ..Self::default() };
        }
    }
}

/// Above this share of all things it is cheaper to recompute every row in one pass.
const MOST: u64 = 4;

/// Brings the due rows of what was touched up to date.
pub(super) fn touched(conn: &Connection, rules: &RuleBook, mut touched: Touched) -> Result<()> {
    let count = (touched.parts.len() + touched.units.len()) as u64;
    if touched.everything || (count > 1000 && count * MOST > things(conn)?) {
        return everything(conn, rules);
    }
    for gauge in &touched.gauges {
        let mut units = conn.prepare_cached("SELECT DISTINCT unit FROM gas_tests WHERE gauge = ?")?;
        let mut rows = units.query([gauge.as_str()])?;
        while let Some(row) = rows.next()? {
            touched.units.insert(parsed(row, 0)?);
        }
    }
    for unit in &touched.units {
        let mut parts = conn.prepare_cached("SELECT part FROM parts WHERE unit = ?")?;
        let mut rows = parts.query([unit.as_str()])?;
        while let Some(row) = rows.next()? {
            touched.parts.insert(parsed(row, 0)?);
        }
    }
    let (packs, gathering) = (packs_in_use(conn)?, Gathering::from(conn)?);
    let mut insert = conn.prepare_cached(KEEP)?;
    let mut keep = |facts: Option<Facts>| {
        facts.map_or(Ok(()), |facts| write(&mut insert, &facts.key, &items(rules, &packs, &facts)))
    };
    for unit in &touched.units {
        forget(conn, "unit", unit.as_str())?;
        let mut statement = conn.prepare_cached(&format!("{} WHERE u.unit = ?", gather::UNIT))?;
        keep(statement.query_row([unit.as_str()], |row| gathering.unit(row)).optional()?.flatten())?;
    }
    for part in &touched.parts {
        forget(conn, "part", part.as_str())?;
        let mut statement = conn.prepare_cached(&format!("{} WHERE p.part = ?", gather::PART))?;
        keep(statement.query_row([part.as_str()], |row| gathering.part(row)).optional()?.flatten())?;
    }
    for gauge in &touched.gauges {
        forget(conn, "gauge", gauge.as_str())?;
        keep(gathering.gauge(gauge)?)?;
    }
    for person in &touched.people {
        forget(conn, "person", person.as_str())?;
        keep(gathering.person(person)?)?;
    }
    Ok(())
}

/// Recomputes every due row under `rules` and notes under which rules that was.
pub(super) fn everything(conn: &Connection, rules: &RuleBook) -> Result<()> {
    let (packs, gathering) = (packs_in_use(conn)?, Gathering::from(conn)?);
    // The index is built once at the end: sorted, instead of row by row at random.
    conn.execute_batch("DELETE FROM due; DROP INDEX due_in_order;")?;
    {
        let gauges = codes::<GaugeCode>(conn, "SELECT gauge FROM gauges ORDER BY gauge")?;
        let mut parts = conn.prepare(&format!("{} ORDER BY p.part", gather::PART))?;
        let people = codes::<PersonCode>(conn, "SELECT person FROM people ORDER BY person")?;
        let mut units = conn.prepare(&format!("{} ORDER BY u.unit", gather::UNIT))?;
        // In the order of the key they are kept by, so that each row goes to the end of the table.
        let things = (gauges.iter().map(|gauge| gathering.gauge(gauge)))
            .chain(parts.query_and_then([], |row| gathering.part(row))?)
            .chain(people.iter().map(|person| gathering.person(person)))
            .chain(units.query_and_then([], |row| gathering.unit(row))?)
            .filter_map(Result::transpose);
        let assessed = |facts: Facts| {
            let items = items(rules, &packs, &facts);
            (facts.key, items)
        };
        let mut insert = conn.prepare_cached(KEEP)?;
        overlapped(things, assessed, |(key, items)| write(&mut insert, &key, &items))?;
    }
    conn.execute_batch("CREATE INDEX due_in_order ON due (due_on, unit, part, rule)")?;
    conn.execute("UPDATE projection SET rules_fingerprint = ?", [rules.fingerprint()])?;
    Ok(())
}

fn things(conn: &Connection) -> Result<u64> {
    conn.query_row("SELECT (SELECT count(*) FROM parts) + (SELECT count(*) FROM units)", [], |row| row.get(0))
}

fn codes<T>(conn: &Connection, sql: &str) -> Result<Vec<T>>
where
    T: std::str::FromStr,
    T::Err: std::error::Error + Send + Sync + 'static,
{
    conn.prepare_cached(sql)?.query_map([], |row| parsed(row, 0))?.collect()
}

/// Packs that some depot goes by; things that belong to no depot are held to all of them.
pub(super) fn packs_in_use(conn: &Connection) -> Result<Vec<PackId>> {
    let packs: Vec<PackId> = codes(conn, "SELECT DISTINCT rules FROM depots ORDER BY rules")?;
    Ok(if packs.is_empty() { vec![PackId::default()] } else { packs })
}

fn forget(conn: &Connection, class: &str, code: &str) -> Result<()> {
    conn.prepare_cached("DELETE FROM due WHERE subject = ?")?.execute([gather::key(class, code)])?;
    Ok(())
}

/// The due items of a thing. Where several packs speak, the earliest date of each rule stands.
fn items(rules: &RuleBook, packs: &[PackId], facts: &Facts) -> Vec<Item> {
    let subject = facts.subject();
    let packs = facts.pack.as_ref().map_or(packs, std::slice::from_ref);
    if let [pack] = packs {
        let mut items = Vec::new();
        assess(rules.pack(*pack), &subject, |item| items.push(item));
        return items;
    }
    let mut earliest: BTreeMap<RuleId, Item> = BTreeMap::new();
    for pack in packs {
        assess(rules.pack(*pack), &subject, |item| match earliest.get(&item.rule) {
            Some(kept) if kept.due_on <= item.due_on => {}
            _ => {
                earliest.insert(item.rule.clone(), item);
            }
        });
    }
    earliest.into_values().collect()
}

const KEEP: &str = "INSERT INTO due VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)";

fn write(keep: &mut CachedStatement<'_>, key: &str, items: &[Item]) -> Result<()> {
    for item in items {
        keep.execute(params![
            key,
            item.rule.as_str(),
            item.depot.as_ref().map(DepotCode::as_str),
            item.unit.as_ref().map(UnitCode::as_str),
            item.part.as_ref().map(PartCode::as_str),
            item.kind.name(),
            item.position,
            item.what,
            text_of(item.due_on.as_ref()),
            text_of(item.notice_from.as_ref()),
            item.authority.name(),
            item.cite,
            item.late.name(),
            item.because,
            item.basis.name()
        ])?;
    }
    Ok(())
}
