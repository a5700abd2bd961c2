//! A fleet's due items, hires and people as a planning question.
//!
//! Owns: turning days into offsets, which items want a visit, and which promises bind. Refuses: searching, which the
//! rest of `plan` does, and the answer's form (`fleet_plan`).

use super::check::{Violation, check};
use super::fleet_plan::{Explained, FleetPlan};
use super::instance::{
    BookingRecord, DepotRecord, INSTANCE_FORMAT, Instance, ItemRecord, PinRecord, Records, TechnicianRecord, UnitRecord,
};
use super::visits::Plan;
use super::{Effort, InstanceError, explain, solve};
use crate::due::{Item, Late, PlannedDays};
use crate::model::{
    Booking, CalendarLine, Day, DayOrWeekday, DepotCode, KeptVisit, KeptWork, PartCode, Person, PersonCode, RuleId,
    Skill, Span, UnitCode,
};
use chrono::Datelike;
use std::collections::{BTreeMap, BTreeSet};
use std::num::NonZeroUsize;

/// What a rule's work takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Work {
    /// Minutes.
    pub minutes: u32,
    /// Skills one person must hold for it.
    pub skills: Vec<Skill>,
    /// How long before the last day it is sensible.
    pub earliest: Span,
}

/// Everything a plan is made from.
#[derive(Debug, Clone)]
pub struct Fleet {
    /// First day planned.
    pub today: Day,
    /// How many weeks.
    pub weeks: u32,
    /// Days by which work is wanted before its last day, where that can be had.
    pub buffer: u32,
    /// Units with their depots, in any order.
    pub units: Vec<(UnitCode, DepotCode)>,
    /// Items of those units with what their work takes.
    pub items: Vec<(Item, Work)>,
    /// Hires.
    pub bookings: Vec<Booking>,
    /// People.
    pub people: Vec<Person>,
    /// Who works when; people without a line do not work.
    pub calendar: Vec<CalendarLine>,
    /// Promised visits: all stay where they are if that costs nothing graver than a visit.
    pub kept: Vec<(UnitCode, KeptVisit)>,
    /// Days from today within which a promise is not moved at all, unless it cannot be kept.
    pub pinned: u32,
    /// Where another plan had the work; before the promises, where both speak.
    pub before: Vec<(UnitCode, KeptVisit)>,
}

/// Why a fleet has no plan.
#[derive(Debug, thiserror::Error)]
pub enum FleetError {
    /// A record cannot be planned with.
    #[error(transparent)]
    Question(#[from] InstanceError),
    /// The planner broke a rule of its own.
    #[error("the plan found breaks a rule: {0}")]
    Unsound(Violation),
}

/// What names a piece of work: its unit, the part (none: the whole unit) and the rule.
pub type WorkName<'a> = (&'a UnitCode, Option<&'a PartCode>, &'a RuleId);

/// A planning question in the planner's terms and its answer.
pub(super) struct Solved<'f> {
    pub(super) instance: Instance,
    pub(super) plan: Plan,
    /// The item that each id stands for.
    pub(super) items: BTreeMap<String, &'f Item>,
}

/// Minutes that every visit costs once, whatever is done: fetching the unit, opening and closing it (common practice).
pub(super) const SET_UP_MINUTES: i32 = 30;

impl Fleet {
    /// Plans the fleet: against the buffer where that can be had, against the last day itself where not.
    ///
    /// # Errors
    /// [`FleetError`] naming the record that cannot be planned with.
    pub fn plan(&self, threads: NonZeroUsize) -> Result<FleetPlan, FleetError> {
        Ok(FleetPlan::of(self, &self.solved(threads)?))
    }

    /// Plans the fleet and says for every item of `unit` why it is not done later.
    ///
    /// # Errors
    /// As [`Self::plan`].
    pub fn why(&self, unit: &UnitCode, threads: NonZeroUsize) -> Result<Vec<Explained>, FleetError> {
        let solved = self.solved(threads)?;
        let explanations = explain(&solved.instance, &solved.plan, self.buffer_days());
        Ok(explanations.into_iter().filter_map(|one| Explained::of(self, &solved, unit, one)).collect())
    }

    fn solved(&self, threads: NonZeroUsize) -> Result<Solved<'_>, FleetError> {
        let (records, items) = self.records();
        let mut instance = Instance::from_records(&records)?;
        self.day_by_day(&mut instance);
        let effort = Effort { buffer_days: self.buffer_days(), ..Effort::usual(&instance) };
        let plan = solve(&instance, effort, threads);
        // A plan that sends somebody where they cannot be is worse than none; the second reading of the rules looks at each.
        match check(&instance, &plan).into_iter().next() {
            Some(violation) => Err(FleetError::Unsound(violation)),
            None => Ok(Solved { instance, plan, items }),
        }
    }

    /// The last day planned.
    #[must_use]
    pub fn until(&self) -> Day {
        self.day(self.horizon() - 1)
    }

    fn buffer_days(&self) -> i32 {
        i32::try_from(self.buffer).unwrap_or(0)
    }

    pub(super) fn day(&self, offset: i32) -> Day {
        self.today.plus_days(i64::from(offset))
    }

    /// The promised day of each piece of work.
    #[must_use]
    pub fn promised(&self) -> PlannedDays {
        let works = self.kept.iter().flat_map(|(unit, visit)| visit.work.iter().map(move |work| (unit, visit, work)));
        works.map(|(unit, visit, work)| ((unit.clone(), work.part.clone(), work.rule.clone()), visit.on)).collect()
    }

    pub(super) fn horizon(&self) -> i32 {
        i32::try_from(self.weeks.saturating_mul(7)).unwrap_or(i32::MAX).clamp(7, 3654)
    }

    fn offset(&self, day: Day) -> i32 {
        let days = self.today.days_until(day).clamp(-36_500, 36_500);
        i32::try_from(days).unwrap_or(0)
    }

    /// The records, and the item each id stands for.
    fn records(&self) -> (Records, BTreeMap<String, &Item>) {
        let horizon = self.horizon();
        let depots: BTreeSet<&DepotCode> = self.units.iter().map(|(_, depot)| depot).collect();
        let mut ids = BTreeMap::new();
        let mut items = Vec::new();
        for (item, work) in &self.items {
            let Some(unit) = &item.unit else { continue };
            let due = item.due_on.map_or(-1, |due_on| self.offset(due_on));
            if due >= horizon {
                continue;
            }
            let id = id((unit, item.part.as_ref(), &item.rule));
            let earliest = item.due_on.map_or(0, |due_on| self.offset(work.earliest.before(due_on)));
            items.push(ItemRecord {
                id: id.clone(),
                unit: unit.to_string(),
                due,
                earliest,
                floor: 0,
                minutes: i32::try_from(work.minutes).unwrap_or(0),
                skills: work.skills.iter().map(ToString::to_string).collect(),
                class_weight: weight(item.late),
                waste_per_day: 1,
            });
            ids.insert(id, item);
        }
        let (pins, baseline) = (self.pins(&ids), self.baseline(&ids));
        let records = Records {
            format: INSTANCE_FORMAT.to_owned(),
            horizon,
            setup_min: SET_UP_MINUTES,
            setup_skill: Skill::Gas.to_string(),
            depots: depots
                .iter()
                .map(|depot| DepotRecord { id: depot.to_string(), closed: self.closed(depot, horizon) })
                .collect(),
            technicians: self.technicians(&depots),
            units: self
                .units
                .iter()
                .map(|(unit, depot)| UnitRecord { id: unit.to_string(), depot: depot.to_string() })
                .collect(),
            items,
            bookings: self.hires(),
            pins: (!pins.is_empty()).then_some(pins),
            baseline: (!baseline.is_empty()).then_some(baseline),
        };
        (records, ids)
    }

    /// Hires of planned units that are not over, those of one unit that overlap taken as one.
    fn hires(&self) -> Vec<BookingRecord> {
        let planned: BTreeSet<&UnitCode> = self.units.iter().map(|(unit, _)| unit).collect();
        let mut bookings: Vec<&Booking> = self
            .bookings
            .iter()
            .filter(|booking| planned.contains(&booking.unit) && booking.back_on > self.today)
            .collect();
        bookings.sort_by_key(|booking| (&booking.unit, booking.out_on, booking.back_on));
        let mut hires: Vec<BookingRecord> = Vec::new();
        for booking in bookings {
            let (out, back) = (self.offset(booking.out_on), self.offset(booking.back_on));
            match hires.last_mut() {
                Some(last) if last.unit == booking.unit.as_str() && out < last.back => last.back = last.back.max(back),
                _ if out == back => {}
                _ => hires.push(BookingRecord {
                    id: booking.booking.to_string(),
                    unit: booking.unit.to_string(),
                    out,
                    back,
                }),
            }
        }
        hires
    }

    fn technicians(&self, depots: &BTreeSet<&DepotCode>) -> Vec<TechnicianRecord> {
        let mut technicians = Vec::new();
        for depot in depots {
            for person in &self.people {
                let works =
                    |line: &&CalendarLine| line.depot == **depot && line.person.as_ref() == Some(&person.person);
                if self.calendar.iter().any(|line| works(&line)) {
                    technicians.push(TechnicianRecord {
                        id: technician_id(&person.person, depot),
                        depot: depot.to_string(),
                        skills: person.skills.iter().map(ToString::to_string).collect(),
                        minutes: [0; 7],
                        off: Vec::new(),
                    });
                }
            }
        }
        technicians
    }

    /// Puts in what the written form cannot say: minutes that differ on single days.
    fn day_by_day(&self, instance: &mut Instance) {
        let horizon = self.horizon();
        for technician in &mut instance.technicians {
            let Some((person, depot)) = technician.id.split_once('@') else { continue };
            for offset in 0..horizon {
                let Ok(place) = usize::try_from(offset) else { continue };
                let open = instance.depots[technician.depot].closed.get(place).is_some_and(|closed| !closed);
                let minutes = self.minutes(depot, Some(person), self.today.plus_days(i64::from(offset))).unwrap_or(0);
                if let Some(day) = technician.minutes.get_mut(place) {
                    *day = if open { minutes } else { 0 };
                }
            }
        }
    }

    fn closed(&self, depot: &DepotCode, horizon: i32) -> Vec<i32> {
        let shut =
            |offset: &i32| self.minutes(depot.as_str(), None, self.today.plus_days(i64::from(*offset))) == Some(0);
        (0..horizon).filter(shut).collect()
    }

    /// Minutes that a person works at the planned depots on the planned days from `from` through `through`.
    #[must_use]
    pub fn offered(&self, person: &PersonCode, from: Day, through: Day) -> u32 {
        let depots: BTreeSet<&DepotCode> = self.units.iter().map(|(_, depot)| depot).collect();
        let days = (0..self.horizon()).map(|offset| self.day(offset)).filter(|day| (from..=through).contains(day));
        let open = |depot: &DepotCode, day: Day| self.minutes(depot.as_str(), None, day) != Some(0);
        let minutes = days.flat_map(|day| {
            let open = depots.iter().filter(move |depot| open(depot, day));
            open.filter_map(move |depot| self.minutes(depot.as_str(), Some(person.as_str()), day))
        });
        minutes.map(i32::unsigned_abs).sum()
    }

    /// Minutes stated for a day: a line for the day itself before one for its weekday.
    fn minutes(&self, depot: &str, person: Option<&str>, day: Day) -> Option<i32> {
        let lines = self
            .calendar
            .iter()
            .filter(|line| line.depot.as_str() == depot && line.person.as_ref().map(PersonCode::as_str) == person);
        let (mut by_day, mut by_weekday) = (None, None);
        for line in lines {
            match line.when {
                DayOrWeekday::Day(on) if on == day => by_day = Some(line.minutes),
                DayOrWeekday::Weekday(weekday) if weekday == day.date().weekday() => by_weekday = Some(line.minutes),
                _ => {}
            }
        }
        by_day.or(by_weekday).and_then(|minutes| i32::try_from(minutes.min(1440)).ok())
    }

    /// Promises that bind: near ones whose work is still what it was.
    fn pins(&self, items: &BTreeMap<String, &Item>) -> Vec<PinRecord> {
        let near = self.today..self.today.plus_days(i64::from(self.pinned));
        let mut pins = Vec::new();
        for (unit, visit) in self.kept.iter().filter(|(_, visit)| near.contains(&visit.on)) {
            let as_promised = |work: &&KeptWork| {
                items.get(&id((unit, work.part.as_ref(), &work.rule))).is_some_and(|item| item.due_on == work.due_on)
            };
            let bound: Vec<String> =
                visit.work.iter().filter(as_promised).map(|work| id((unit, work.part.as_ref(), &work.rule))).collect();
            if !bound.is_empty() {
                pins.push(PinRecord { unit: unit.to_string(), day: self.offset(visit.on), items: bound });
            }
        }
        pins
    }

    /// Days that work is better left on.
    fn baseline(&self, items: &BTreeMap<String, &Item>) -> BTreeMap<String, Option<i32>> {
        let mut days = BTreeMap::new();
        for (unit, visit) in self.kept.iter().chain(&self.before).filter(|(_, visit)| visit.on >= self.today) {
            for work in &visit.work {
                let id = id((unit, work.part.as_ref(), &work.rule));
                if items.contains_key(&id) {
                    days.insert(id, Some(self.offset(visit.on)));
                }
            }
        }
        days
    }
}

/// The planner's id of a piece of work.
fn id((unit, part, rule): WorkName<'_>) -> String {
    format!("{}/{rule}/{unit}", part.map_or("", PartCode::as_str))
}

fn technician_id(person: &PersonCode, depot: &DepotCode) -> String {
    format!("{person}@{depot}")
}

/// How much worse a day late is, by what being late means (the founder's choice, not a fact of the trade).
fn weight(late: Late) -> i64 {
    match late {
        Late::NotToBeRefilled => 30,
        Late::OffRent => 10,
        Late::Advise => 1,
    }
}
