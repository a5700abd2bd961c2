//! Promised visits: admitted, and read back as far as they are still wanted.
//!
//! Owns: when a promise is overtaken: once the work's last day is later than it was when promised, it has been done.
//! Refuses: promising, which is a change like any other.

use super::Book;
use super::columns::{parsed, parsed_if_any};
use super::error::BookError;
use super::gate::{Admission, Admitted, Gate, not_before};
use crate::due::PlannedDays;
use crate::model::{Dated, Day, KeptVisit, KeptWork, PersonCode, UnitCode};
use rusqlite::Row;

const COLUMNS: &str = "k.unit, k.on_day, k.set_up_by, k.rule, nullif(k.part, ''), k.by_person, k.due_on";

/// Promises whose work is not done yet.
const WANTED: &str = "kept_work k JOIN due d
    ON d.subject = CASE k.part WHEN '' THEN 'unit:' || k.unit ELSE 'part:' || k.part END AND d.rule = k.rule
    WHERE d.unit = k.unit AND (d.due_on IS NULL OR d.due_on <= k.due_on)";

/// One piece of promised work as read: its unit, day, who sets up.
type Line = (UnitCode, Day, PersonCode, KeptWork);

fn line(row: &Row<'_>) -> rusqlite::Result<Line> {
    let work = KeptWork {
        rule: parsed(row, 3)?,
        part: parsed_if_any(row, 4)?,
        by: parsed(row, 5)?,
        due_on: parsed_if_any(row, 6)?,
    };
    Ok((parsed(row, 0)?, parsed(row, 1)?, parsed(row, 2)?, work))
}

fn visits(lines: Vec<Line>) -> Vec<(UnitCode, KeptVisit)> {
    let mut visits: Vec<(UnitCode, KeptVisit)> = Vec::new();
    for (unit, on, by, work) in lines {
        match visits.last_mut() {
            Some((of, visit)) if *of == unit && visit.on == on => visit.work.push(work),
            _ => visits.push((unit, KeptVisit { on, by, work: vec![work] })),
        }
    }
    visits
}

impl Book {
    /// Promised visits whose work is still wanted, by unit and day, past days included: what was not done then is
    /// still to be done.
    ///
    /// # Errors
    /// What the file reports.
    pub fn kept_visits(&self, unit: Option<&UnitCode>) -> Result<Vec<(UnitCode, KeptVisit)>, BookError> {
        let sql = format!(
            "SELECT {COLUMNS} FROM {WANTED} AND (?1 IS NULL OR k.unit = ?1) ORDER BY k.unit, k.on_day, k.part, k.rule"
        );
        self.all(&sql, [unit.map(UnitCode::as_str)], line).map(visits)
    }

    /// The promised day of each item.
    ///
    /// # Errors
    /// What the file reports.
    pub fn planned_days(&self) -> Result<PlannedDays, BookError> {
        let lines = self.all(&format!("SELECT {COLUMNS} FROM {WANTED}"), [], line)?;
        Ok(lines.into_iter().map(|(unit, on, _, work)| ((unit, work.part, work.rule), on)).collect())
    }
}

impl Gate<'_> {
    pub(super) fn visits_kept(&self, unit: &UnitCode, given: &[KeptVisit]) -> Admitted {
        self.unit_standing(unit)?;
        let mut statement = self.prepare(&format!(
            "SELECT {COLUMNS} FROM kept_work k WHERE k.unit = ? ORDER BY k.on_day, k.part, k.rule"
        ))?;
        let lines = statement.query_map([unit.as_str()], line).and_then(Iterator::collect);
        let recorded: Vec<KeptVisit> = visits(self.done(lines)?).into_iter().map(|(_, visit)| visit).collect();
        if recorded == in_order(given) {
            return Ok(Admission::Known);
        }
        for visit in given {
            let what = format!("unit {unit}: visit planned for {}", visit.on);
            not_before(what, Dated::Day(visit.on), "today", Dated::Day(self.today))?;
        }
        Ok(Admission::New)
    }
}

fn in_order(visits: &[KeptVisit]) -> Vec<KeptVisit> {
    let mut visits = visits.to_vec();
    visits.sort_by_key(|visit| visit.on);
    for visit in &mut visits {
        visit.work.sort_by(|a, b| (&a.part, &a.rule).cmp(&(&b.part, &b.rule)));
    }
    visits
}
