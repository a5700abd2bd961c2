//! What is due, read from the kept due rows by index range.
//!
//! Owns: filters, order and counts. Refuses: computing a date; a row is read as it was written.

use super::columns::{parsed, parsed_if_any};
use super::{Book, BookError};
use crate::due::{Item, State};
use crate::model::{Day, DepotCode, PartCode, UnitCode};
use crate::rules::ItemKind;
use rusqlite::types::Value;
use rusqlite::{Result, Row};

/// Which items are asked for.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct DueFilter {
    /// Last day in date on or before this; none for all.
    pub until: Option<Day>,
    /// Of this depot.
    pub depot: Option<DepotCode>,
    /// Of this unit.
    pub unit: Option<UnitCode>,
    /// About this part, gauge or person.
    pub part: Option<PartCode>,
    /// About such things.
    pub kind: Option<ItemKind>,
    /// In this state on the day of asking.
    pub state: Option<State>,
}

/// How many items stand in each state.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// A fact is missing.
    pub undated: u64,
    /// Past the last day.
    pub overdue: u64,
    /// Inside the notice period.
    pub due: u64,
    /// Neither.
    pub in_date: u64,
}

impl Counts {
    /// Counts one more item.
    pub fn add(&mut self, state: State) {
        match state {
            State::Undated => self.undated += 1,
            State::Overdue => self.overdue += 1,
            State::Due => self.due += 1,
            State::InDate => self.in_date += 1,
        }
    }

    /// True where something may not wait.
    #[must_use]
    pub fn late(&self) -> bool {
        self.undated + self.overdue > 0
    }
}

const COLUMNS: &str =
    "depot, unit, part, kind, position, rule, what, due_on, notice_from, authority, cite, late, because, basis";

fn item(row: &Row<'_>) -> Result<Item> {
    Ok(Item {
        depot: parsed_if_any(row, 0)?,
        unit: parsed_if_any(row, 1)?,
        part: parsed_if_any(row, 2)?,
        kind: parsed(row, 3)?,
        position: row.get(4)?,
        rule: parsed(row, 5)?,
        what: row.get(6)?,
        due_on: parsed_if_any(row, 7)?,
        notice_from: parsed_if_any(row, 8)?,
        authority: parsed(row, 9)?,
        cite: row.get(10)?,
        late: parsed(row, 11)?,
        because: row.get(12)?,
        basis: parsed(row, 13)?,
    })
}

impl DueFilter {
    fn clause(&self, today: Day) -> (String, Vec<Value>) {
        let mut clauses: Vec<String> = Vec::new();
        let mut values: Vec<Value> = Vec::new();
        // `{}` stands for the place of the value, which may be named more than once.
        let mut add = |clause: &str, value: String| {
            values.push(Value::Text(value));
            clauses.push(clause.replace("{}", &format!("?{}", values.len())));
        };
        if let Some(until) = self.until {
            add("(due_on IS NULL OR due_on <= {})", until.to_string());
        }
        if let Some(depot) = &self.depot {
            add("depot = {}", depot.to_string());
        }
        if let Some(unit) = &self.unit {
            add(
                "subject IN (SELECT 'part:' || part FROM parts WHERE unit = {} UNION ALL SELECT 'unit:' || {})",
                unit.to_string(),
            );
        }
        if let Some(part) = &self.part {
            add("part = {}", part.to_string());
        }
        if let Some(kind) = self.kind {
            add("kind = {}", kind.to_string());
        }
        match self.state {
            None => {}
            Some(State::Undated) => add("due_on IS NULL AND {} IS NOT NULL", today.to_string()),
            Some(State::Overdue) => add("due_on < {}", today.to_string()),
            Some(State::Due) => add("due_on >= {} AND notice_from <= {}", today.to_string()),
            Some(State::InDate) => add("due_on >= {} AND notice_from > {}", today.to_string()),
        }
        let text = if clauses.is_empty() { String::new() } else { format!(" WHERE {}", clauses.join(" AND ")) };
        (text, values)
    }
}

impl Book {
    /// Gives each item that `filter` asks for to `give`, undated first, then by last day, unit, part and rule.
    ///
    /// # Errors
    /// What the file reports, or what `give` does.
    pub fn due<E: From<BookError>>(
        &self,
        filter: &DueFilter,
        today: Day,
        mut give: impl FnMut(Item) -> std::result::Result<(), E>,
    ) -> std::result::Result<(), E> {
        let explain = |source| E::from(self.explained(source));
        let (clause, values) = filter.clause(today);
        let sql = format!("SELECT {COLUMNS} FROM due{clause} ORDER BY due_on, unit, part, rule");
        let mut statement = self.conn.prepare_cached(&sql).map_err(explain)?;
        let mut rows = statement.query(rusqlite::params_from_iter(values)).map_err(explain)?;
        while let Some(row) = rows.next().map_err(explain)? {
            give(item(row).map_err(explain)?)?;
        }
        Ok(())
    }

    /// All items that `filter` asks for, in order.
    ///
    /// # Errors
    /// What the file reports.
    pub fn due_items(&self, filter: &DueFilter, today: Day) -> std::result::Result<Vec<Item>, BookError> {
        let mut items = Vec::new();
        self.due(filter, today, |item| {
            items.push(item);
            Ok::<(), BookError>(())
        })?;
        Ok(items)
    }

    /// How many of the items that `filter` asks for stand in each state.
    ///
    /// # Errors
    /// What the file reports.
    pub fn due_counts(&self, filter: &DueFilter, today: Day) -> std::result::Result<Counts, BookError> {
        let (clause, mut values) = filter.clause(today);
        let day = values.len() + 1;
        let sql = format!(
            "SELECT count(*) FILTER (WHERE due_on IS NULL), count(*) FILTER (WHERE due_on < ?{day}),
             count(*) FILTER (WHERE due_on >= ?{day} AND notice_from <= ?{day}),
             count(*) FILTER (WHERE due_on >= ?{day} AND notice_from > ?{day}) FROM due{clause}"
        );
        values.push(Value::Text(today.to_string()));
        self.conn
            .prepare_cached(&sql)
            .and_then(|mut statement| {
                statement.query_row(rusqlite::params_from_iter(values), |row| {
                    Ok(Counts { undated: row.get(0)?, overdue: row.get(1)?, due: row.get(2)?, in_date: row.get(3)? })
                })
            })
            .map_err(|source| self.explained(source))
    }
}
