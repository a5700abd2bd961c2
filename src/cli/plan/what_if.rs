//! What would become of the plan if something were otherwise.
//!
//! Owns: the changed question and the comparison. Refuses: recording any of it.

use super::super::complaint::{Answer, Complaint, Status};
use super::super::console::{Console, Format};
use super::super::session::{known_person, known_unit};
use super::planned;
use crate::book::Book;
use crate::model::{Booking, BookingCode, CalendarLine, Day, DayError, DayOrWeekday, DepotCode, PersonCode, UnitCode};
use crate::plan::fleet::Fleet;
use crate::plan::fleet_plan::{FleetPlan, Sum};
use crate::show::table::{fixed, table};
use serde::Serialize;
use std::collections::BTreeSet;
use std::str::FromStr;

/// What is otherwise.
#[derive(Debug, clap::Args)]
pub(super) struct WhatIf {
    /// What if this person were away (--from and --to: only on these days)
    #[arg(long, value_name = "PERSON")]
    without: Vec<PersonCode>,
    /// With --without: first day away [default: today]
    #[arg(long, value_name = "DATE", requires = "without")]
    from: Option<Day>,
    /// With --without: last day away [default: the end of the plan]
    #[arg(long, value_name = "DATE", requires = "without")]
    to: Option<Day>,
    /// What if this person worked on one more day, as MARTA:2026-03-07:240 (minutes)
    #[arg(long, value_name = "PERSON:DATE:MINUTES")]
    add_day: Vec<ExtraDay>,
    /// What if there were one more hire, as: --as-if booking R-014 2026-03-02 2026-03-09
    #[arg(long, num_args = 4, value_names = ["booking", "UNIT", "OUT", "BACK"], action = clap::ArgAction::Append)]
    as_if: Vec<String>,
}

/// One more day of work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExtraDay {
    person: PersonCode,
    on: Day,
    minutes: u32,
}

/// Why a text is no such day.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ExtraDayError {
    /// Not three fields.
    #[error("give PERSON:DATE:MINUTES, as MARTA:2026-03-07:240")]
    Form,
    /// The date cannot be read.
    #[error("the day {0}")]
    Day(#[from] DayError),
    /// The minutes are no number from 1 to 1440.
    #[error("minutes are a number from 1 to 1440")]
    Minutes,
}

impl FromStr for ExtraDay {
    type Err = ExtraDayError;
    fn from_str(text: &str) -> Result<Self, ExtraDayError> {
        let fields: Vec<&str> = text.split(':').collect();
        let [person, on, minutes] = fields.as_slice() else { return Err(ExtraDayError::Form) };
        let minutes = minutes.parse().ok().filter(|minutes| (1..=1440).contains(minutes));
        Ok(Self {
            person: person.parse().map_err(|_| ExtraDayError::Form)?,
            on: on.parse()?,
            minutes: minutes.ok_or(ExtraDayError::Minutes)?,
        })
    }
}

#[derive(Serialize)]
struct Compared {
    as_is: Figures,
    what_if: Figures,
}

#[derive(Serialize)]
struct Figures {
    visits: usize,
    without_a_day: usize,
    overdue_days: i64,
    lost_hire_days: i64,
    moved: i64,
}

impl WhatIf {
    pub(super) fn is_empty(&self) -> bool {
        self.without.is_empty() && self.add_day.is_empty() && self.as_if.is_empty()
    }

    /// Plans again with the change and sets the two plans side by side. What can stay where it is stays.
    pub(super) fn compare(&self, book: &Book, fleet: &Fleet, plan: &FleetPlan, console: &mut Console<'_>) -> Answer {
        let format = console.format_among(&[Format::Table, Format::Json])?;
        let mut other = Fleet { before: plan.as_kept(), ..fleet.clone() };
        self.send_away(book, &mut other)?;
        self.add_days(book, &mut other)?;
        self.add_hires(book, &mut other)?;
        let then = planned(&other)?;
        // What a plan comes to counts moves against promises; here they are counted between the two plans.
        let compared = Compared { as_is: Figures::of(Sum { moved: 0, ..plan.sum }), what_if: Figures::of(then.sum) };
        if format == Format::Json {
            return console.json(&compared);
        }
        let columns = [
            fixed("PLAN"),
            fixed("VISITS"),
            fixed("WITHOUT A DAY"),
            fixed("OVERDUE DAYS"),
            fixed("LOST HIRE DAYS"),
            fixed("MOVED"),
        ];
        let rows = [compared.as_is.row("as it is"), compared.what_if.row("what if")];
        console.table(&table(&columns, &rows, console.width))?;
        for one in then.unplanned.iter().filter(|one| !plan.unplanned.contains(one)) {
            let unit = one.item.unit.as_ref().map(ToString::to_string).unwrap_or_default();
            writeln!(console.out, "then without a day: {unit}: {}", one.item.what)?;
        }
        for hire in then.lost_hires.iter().filter(|hire| !plan.lost_hires.contains(hire)) {
            writeln!(console.out, "then hire {hire} cannot go out in date")?;
        }
        writeln!(console.talk, "nothing was changed by asking")?;
        Ok(Status::Done)
    }

    fn send_away(&self, book: &Book, fleet: &mut Fleet) -> Result<(), Complaint> {
        for person in &self.without {
            known_person(book, person)?;
            let from = self.from.unwrap_or(fleet.today).max(fleet.today);
            let to = self.to.unwrap_or(fleet.until()).min(fleet.until());
            if self.to.is_some_and(|to| self.from.is_some_and(|from| to < from)) {
                return Err(Complaint::refused(
                    "--to is before --from",
                    "pigtail plan --without PERSON --from DATE --to DATE",
                ));
            }
            for depot in depots_of(fleet, person) {
                let mut on = from;
                while on <= to {
                    fleet.calendar.push(line(&depot, Some(person), on, 0));
                    on = on.plus_days(1);
                }
            }
        }
        Ok(())
    }

    fn add_days(&self, book: &Book, fleet: &mut Fleet) -> Result<(), Complaint> {
        for extra in &self.add_day {
            known_person(book, &extra.person)?;
            let Some(depot) = depots_of(fleet, &extra.person).into_iter().next() else {
                return Err(Complaint::refused(
                    format!("person {} has no working days at any depot planned", extra.person),
                    format!("pigtail depot hours DEPOT --person {} --on mon --minutes N", extra.person),
                ));
            };
            fleet.calendar.push(line(&depot, None, extra.on, 1440));
            fleet.calendar.push(line(&depot, Some(&extra.person), extra.on, extra.minutes));
        }
        Ok(())
    }

    fn add_hires(&self, book: &Book, fleet: &mut Fleet) -> Result<(), Complaint> {
        const FORM: &str = "pigtail plan --as-if booking UNIT OUT BACK, days as YYYY-MM-DD";
        for (index, words) in self.as_if.chunks(4).enumerate() {
            let [what, unit, out, back] = words else { continue };
            if what != "booking" {
                return Err(Complaint::refused(format!("`{what}` is not something that can be supposed"), FORM));
            }
            let unit: UnitCode = unit.parse().map_err(|error| Complaint::refused(error, FORM))?;
            known_unit(book, &unit)?;
            let day = |text: &String| text.parse::<Day>().map_err(|error| Complaint::refused(error, FORM));
            let (out_on, back_on) = (day(out)?, day(back)?);
            if back_on < out_on {
                return Err(Complaint::refused(format!("back {back_on} is before out {out_on}"), FORM));
            }
            let booking: BookingCode =
                format!("AS-IF-{}", index + 1).parse().map_err(|error| Complaint::refused(error, FORM))?;
            fleet.bookings.push(Booking { booking, unit, out_on, back_on });
        }
        Ok(())
    }
}

impl Figures {
    fn of(sum: Sum) -> Self {
        Self {
            visits: sum.visits,
            without_a_day: sum.unplanned,
            overdue_days: sum.overdue_days,
            lost_hire_days: sum.lost_hire_days,
            moved: sum.moved,
        }
    }

    fn row(&self, name: &str) -> Vec<String> {
        vec![
            name.to_owned(),
            self.visits.to_string(),
            self.without_a_day.to_string(),
            self.overdue_days.to_string(),
            self.lost_hire_days.to_string(),
            self.moved.to_string(),
        ]
    }
}

fn line(depot: &DepotCode, person: Option<&PersonCode>, on: Day, minutes: u32) -> CalendarLine {
    CalendarLine { depot: depot.clone(), person: person.cloned(), when: DayOrWeekday::Day(on), minutes }
}

/// Planned depots at which a person works.
fn depots_of(fleet: &Fleet, person: &PersonCode) -> BTreeSet<DepotCode> {
    let planned: BTreeSet<&DepotCode> = fleet.units.iter().map(|(_, depot)| depot).collect();
    let theirs = fleet.calendar.iter().filter(|line| line.person.as_ref() == Some(person));
    theirs.filter(|line| planned.contains(&line.depot)).map(|line| line.depot.clone()).collect()
}
