//! Due rows brought up to date with the facts.
//!
//! Owns: gathering what is known of each touched thing and writing its due rows. Refuses: deciding dates (`due`).

use super::columns::{parsed, parsed_if_any, text_of};
use super::rows;
use crate::due::{EventFact, Item, MarkFact, Outcome, Subject, assess};
use crate::model::{
    Dated, Day, DepotCode, Gauge, GaugeCheck, GaugeCode, Named, PackId, PartCode, PartKind, PersonCode, RuleId,
    UnitCode,
};
use crate::rules::{ItemKind, RuleBook, gauge_spec};
use rusqlite::{CachedStatement, Connection, OptionalExtension, Result, Row, params};
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
    let packs = packs_in_use(conn)?;
    let some = Happenings::of(conn)?;
    for unit in &touched.units {
        forget(conn, "unit", unit.as_str())?;
        let mut statement = conn.prepare_cached(&format!("{UNIT} WHERE u.unit = ?"))?;
        let found = statement.query_row([unit.as_str()], unit_row).optional()?;
        found.map_or(Ok(()), |unit| settle_unit(conn, rules, &unit))?;
    }
    for part in &touched.parts {
        forget(conn, "part", part.as_str())?;
        let mut statement = conn.prepare_cached(&format!("{PART} WHERE p.part = ?"))?;
        let found = statement.query_row([part.as_str()], part_row).optional()?;
        found.map_or(Ok(()), |part| settle_part(conn, rules, &packs, some, &part))?;
    }
    for gauge in &touched.gauges {
        forget(conn, "gauge", gauge.as_str())?;
        settle_gauge(conn, rules, &packs, gauge)?;
    }
    for person in &touched.people {
        forget(conn, "person", person.as_str())?;
        settle_person(conn, rules, &packs, person)?;
    }
    Ok(())
}

/// Which tables of happenings hold anything; those that do not are not asked for every single part.
#[derive(Debug, Clone, Copy)]
struct Happenings {
    marks: bool,
    checks: bool,
    events: bool,
}

impl Happenings {
    fn of(conn: &Connection) -> Result<Self> {
        let any = |table: &str| conn.query_row(&format!("SELECT EXISTS (SELECT 1 FROM {table})"), [], |row| row.get(0));
        Ok(Self { marks: any("marks")?, checks: any("checks")?, events: any("events")? })
    }
}

/// Recomputes every due row under `rules` and notes under which rules that was.
pub(super) fn everything(conn: &Connection, rules: &RuleBook) -> Result<()> {
    let packs = packs_in_use(conn)?;
    let some = Happenings::of(conn)?;
    // The index is built once at the end: sorted, instead of row by row at random.
    conn.execute_batch("DELETE FROM due; DROP INDEX due_in_order;")?;
    {
        let mut statement = conn.prepare(&format!("{UNIT} ORDER BY u.unit"))?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            settle_unit(conn, rules, &unit_row(row)?)?;
        }
        let mut statement = conn.prepare(&format!("{PART} ORDER BY p.part"))?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            settle_part(conn, rules, &packs, some, &part_row(row)?)?;
        }
        for gauge in codes::<GaugeCode>(conn, "SELECT gauge FROM gauges ORDER BY gauge")? {
            settle_gauge(conn, rules, &packs, &gauge)?;
        }
        for person in codes::<PersonCode>(conn, "SELECT person FROM people ORDER BY person")? {
            settle_person(conn, rules, &packs, &person)?;
        }
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
    conn.prepare_cached("DELETE FROM due WHERE subject = ?")?.execute([format!("{class}:{code}")])?;
    Ok(())
}

struct UnitFacts {
    unit: UnitCode,
    depot: DepotCode,
    pack: PackId,
    in_service_on: Option<Day>,
    retired: bool,
}

const UNIT: &str = "SELECT u.unit, u.depot, d.rules, u.in_service_on, u.retired_on IS NOT NULL
    FROM units u JOIN depots d USING (depot)";

fn unit_row(row: &Row<'_>) -> Result<UnitFacts> {
    Ok(UnitFacts {
        unit: parsed(row, 0)?,
        depot: parsed(row, 1)?,
        pack: parsed(row, 2)?,
        in_service_on: parsed_if_any(row, 3)?,
        retired: row.get(4)?,
    })
}

fn settle_unit(conn: &Connection, rules: &RuleBook, unit: &UnitFacts) -> Result<()> {
    if unit.retired {
        return Ok(());
    }
    let mut outcomes = gas_tests(conn, &unit.unit)?;
    outcomes.extend(checks(
        conn,
        "SELECT rule, on_day, seq, result = 'pass' FROM checks WHERE unit = ? AND part IS NULL",
        unit.unit.as_str(),
    )?);
    let events = events(conn, &unit.unit)?;
    let subject = Subject {
        depot: Some(&unit.depot),
        unit: Some(&unit.unit),
        part: None,
        kind: ItemKind::Unit,
        position: "",
        spec: "",
        made: None,
        fitted_on: None,
        in_service_on: unit.in_service_on,
        replace_by: None,
        credential_until: None,
        marks: &[],
        outcomes: &outcomes,
        events: &events,
    };
    keep(conn, rules, &[unit.pack], &subject, "unit", unit.unit.as_str())
}

struct PartFacts {
    part: PartCode,
    unit: Option<UnitCode>,
    depot: Option<DepotCode>,
    pack: Option<PackId>,
    gone: bool,
    kind: PartKind,
    position: String,
    spec: String,
    made: Option<Dated>,
    fitted_on: Option<Day>,
    in_service_on: Option<Day>,
    replace_by: Option<Dated>,
}

const PART: &str = "SELECT p.part, p.unit, u.depot, d.rules, p.scrapped_on IS NOT NULL OR u.retired_on IS NOT NULL,
    p.kind, p.position, p.spec, p.made, p.fitted_on, u.in_service_on, p.replace_by
    FROM parts p LEFT JOIN units u USING (unit) LEFT JOIN depots d USING (depot)";

fn part_row(row: &Row<'_>) -> Result<PartFacts> {
    Ok(PartFacts {
        part: parsed(row, 0)?,
        unit: parsed_if_any(row, 1)?,
        depot: parsed_if_any(row, 2)?,
        pack: parsed_if_any(row, 3)?,
        gone: row.get(4)?,
        kind: parsed(row, 5)?,
        position: row.get(6)?,
        spec: row.get(7)?,
        made: parsed_if_any(row, 8)?,
        fitted_on: parsed_if_any(row, 9)?,
        in_service_on: parsed_if_any(row, 10)?,
        replace_by: parsed_if_any(row, 11)?,
    })
}

fn settle_part(
    conn: &Connection,
    rules: &RuleBook,
    packs: &[PackId],
    some: Happenings,
    part: &PartFacts,
) -> Result<()> {
    if part.gone {
        return Ok(());
    }
    let marks = if some.marks && part.kind.takes_marks() { marks(conn, &part.part)? } else { Vec::new() };
    let outcomes = if some.checks {
        checks(conn, "SELECT rule, on_day, seq, result = 'pass' FROM checks WHERE part = ?", part.part.as_str())?
    } else {
        Vec::new()
    };
    let events = match part.unit.as_ref().filter(|_| some.events) {
        Some(unit) => events(conn, unit)?,
        None => Vec::new(),
    };
    let subject = Subject {
        depot: part.depot.as_ref(),
        unit: part.unit.as_ref(),
        part: Some(&part.part),
        kind: part.kind.into(),
        position: &part.position,
        spec: &part.spec,
        made: part.made,
        fitted_on: part.fitted_on,
        in_service_on: part.in_service_on,
        replace_by: part.replace_by,
        credential_until: None,
        marks: &marks,
        outcomes: &outcomes,
        events: &events,
    };
    let own = part.pack.map(|pack| [pack]);
    keep(conn, rules, own.as_ref().map_or(packs, |pack| pack.as_slice()), &subject, "part", part.part.as_str())
}

/// A subject that has neither unit nor depot.
fn bare<'a>(code: &'a PartCode, kind: ItemKind, outcomes: &'a [Outcome]) -> Subject<'a> {
    Subject {
        depot: None,
        unit: None,
        part: Some(code),
        kind,
        position: "",
        spec: "",
        made: None,
        fitted_on: None,
        in_service_on: None,
        replace_by: None,
        credential_until: None,
        marks: &[],
        outcomes,
        events: &[],
    }
}

fn settle_gauge(conn: &Connection, rules: &RuleBook, packs: &[PackId], code: &GaugeCode) -> Result<()> {
    let mut statement = conn.prepare_cached(&format!("{} WHERE gauge = ?", rows::GAUGE))?;
    let Some(gauge): Option<Gauge> = statement.query_row([code.as_str()], rows::gauge).optional()? else {
        return Ok(());
    };
    let mut statement = conn
        .prepare_cached("SELECT gauge, on_day, by_person, reading, reference, seq FROM gauge_checks WHERE gauge = ?")?;
    let outcomes = statement
        .query_map([code.as_str()], |row| {
            let check: GaugeCheck = rows::gauge_check(row)?;
            let passed = check.agrees(&gauge);
            Ok(Outcome { rule: RuleId::gauge_check(), on: check.on, seq: row.get(5)?, passed, doubted_on: None })
        })?
        .collect::<Result<Vec<_>>>()?;
    let Ok(listed) = code.as_str().parse() else { return Ok(()) };
    let subject = Subject { spec: gauge_spec(gauge.kind), ..bare(&listed, ItemKind::Gauge, &outcomes) };
    keep(conn, rules, packs, &subject, "gauge", code.as_str())
}

fn settle_person(conn: &Connection, rules: &RuleBook, packs: &[PackId], code: &PersonCode) -> Result<()> {
    let mut statement = conn.prepare_cached("SELECT skills, credential_until FROM people WHERE person = ?")?;
    let found = statement
        .query_row([code.as_str()], |row| Ok((row.get::<_, String>(0)?, parsed_if_any::<Day>(row, 1)?)))
        .optional()?;
    let Some((skills, credential_until)) = found.filter(|(skills, until)| !skills.is_empty() || until.is_some()) else {
        return Ok(());
    };
    let Ok(listed) = code.as_str().parse() else { return Ok(()) };
    let subject = Subject { credential_until, spec: &skills, ..bare(&listed, ItemKind::Person, &[]) };
    keep(conn, rules, packs, &subject, "person", code.as_str())
}

fn gas_tests(conn: &Connection, unit: &UnitCode) -> Result<Vec<Outcome>> {
    let mut statement = conn.prepare_cached(
        "SELECT on_day, seq, verdict = 'pass', gauge FROM gas_tests WHERE unit = ? AND verdict <> 'inconclusive'",
    )?;
    let mut rows = statement.query([unit.as_str()])?;
    let mut outcomes = Vec::new();
    while let Some(row) = rows.next()? {
        let mut outcome = Outcome {
            rule: RuleId::gas_test(),
            on: parsed(row, 0)?,
            seq: row.get(1)?,
            passed: row.get(2)?,
            doubted_on: None,
        };
        if let Some(gauge) = parsed_if_any::<GaugeCode>(row, 3)?.filter(|_| outcome.passed) {
            outcome.doubted_on = found_out(conn, &gauge, &outcome)?;
        }
        outcomes.push(outcome);
    }
    Ok(outcomes)
}

/// The day of a gauge's next check after a test, if it did not agree then.
fn found_out(conn: &Connection, code: &GaugeCode, test: &Outcome) -> Result<Option<Day>> {
    let mut statement = conn.prepare_cached(&format!(
        "{} WHERE gauge = ?1 AND (on_day > ?2 OR on_day = ?2 AND seq > ?3) ORDER BY on_day, seq LIMIT 1",
        rows::GAUGE_CHECK
    ))?;
    let key = params![code.as_str(), test.on.to_string(), test.seq.cast_signed()];
    let Some(next): Option<GaugeCheck> = statement.query_row(key, rows::gauge_check).optional()? else {
        return Ok(None);
    };
    let mut statement = conn.prepare_cached(&format!("{} WHERE gauge = ?", rows::GAUGE))?;
    let gauge: Gauge = statement.query_row([code.as_str()], rows::gauge)?;
    Ok((!next.agrees(&gauge)).then_some(next.on))
}

fn checks(conn: &Connection, sql: &str, code: &str) -> Result<Vec<Outcome>> {
    let mut statement = conn.prepare_cached(sql)?;
    statement
        .query_map([code], |row| {
            Ok(Outcome {
                rule: parsed(row, 0)?,
                on: parsed(row, 1)?,
                seq: row.get(2)?,
                passed: row.get(3)?,
                doubted_on: None,
            })
        })?
        .collect()
}

fn marks(conn: &Connection, part: &PartCode) -> Result<Vec<MarkFact>> {
    let mut statement = conn.prepare_cached("SELECT month, method, seq FROM marks WHERE part = ?")?;
    statement
        .query_map([part.as_str()], |row| {
            Ok(MarkFact { month: parsed(row, 0)?, method: parsed(row, 1)?, seq: row.get(2)? })
        })?
        .collect()
}

fn events(conn: &Connection, unit: &UnitCode) -> Result<Vec<EventFact>> {
    let mut statement = conn.prepare_cached("SELECT on_day, event, seq FROM events WHERE unit = ?")?;
    statement
        .query_map([unit.as_str()], |row| {
            Ok(EventFact { on: parsed(row, 0)?, event: parsed(row, 1)?, seq: row.get(2)? })
        })?
        .collect()
}

/// Writes a subject's items. Where several packs speak, the earliest date of each rule stands.
fn keep(
    conn: &Connection,
    rules: &RuleBook,
    packs: &[PackId],
    subject: &Subject<'_>,
    class: &str,
    code: &str,
) -> Result<()> {
    let key = format!("{class}:{code}");
    let mut insert = conn.prepare_cached(KEEP)?;
    if let [pack] = packs {
        let mut written = Ok(());
        assess(rules.pack(*pack), subject, |item| {
            if written.is_ok() {
                written = write(&mut insert, &key, &item);
            }
        });
        return written;
    }
    let mut earliest: BTreeMap<RuleId, Item> = BTreeMap::new();
    for pack in packs {
        assess(rules.pack(*pack), subject, |item| match earliest.get(&item.rule) {
            Some(kept) if kept.due_on <= item.due_on => {}
            _ => {
                earliest.insert(item.rule.clone(), item);
            }
        });
    }
    earliest.values().try_for_each(|item| write(&mut insert, &key, item))
}

const KEEP: &str = "INSERT INTO due VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)";

fn write(keep: &mut CachedStatement<'_>, subject: &str, item: &Item) -> Result<()> {
    keep.execute(params![
        subject,
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
    Ok(())
}
