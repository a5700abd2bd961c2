//! A fleet's due items, hires and people as a planning question, and the answer as visits.
//!
//! Owns: turning days into offsets, and which items want a visit. Refuses: searching, which the rest of `plan` does.

use super::instance::{
    BookingRecord, DepotRecord, INSTANCE_FORMAT, Instance, ItemRecord, Records, TechnicianRecord, UnitRecord,
};
use super::objective::objective;
use super::visits::{Plan, UnplacedReason};
use super::{Effort, InstanceError, solve};
use crate::due::{Item, Late};
use crate::model::{Booking, CalendarLine, Day, DayOrWeekday, DepotCode, Person, PersonCode, Skill, Span, UnitCode};
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
}

/// Minutes that every visit costs once, whatever is done: fetching the unit, opening and closing it (common practice).
const SET_UP_MINUTES: i32 = 30;

/// One unit in the workshop on one day.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedVisit {
    /// Depot.
    pub depot: DepotCode,
    /// Unit.
    pub unit: UnitCode,
    /// When.
    pub on: Day,
    /// Who sets up.
    pub by: PersonCode,
    /// What is done, by whom.
    pub work: Vec<(Item, PersonCode)>,
    /// Minutes, set-up included.
    pub minutes: u32,
}

/// Work that has no day, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Unplanned {
    /// What.
    pub item: Item,
    /// Why.
    pub reason: UnplacedReason,
}

/// A plan in the fleet's own terms.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FleetPlan {
    /// Visits by depot, day and unit.
    pub visits: Vec<PlannedVisit>,
    /// Work that has no day.
    pub unplanned: Vec<Unplanned>,
    /// Hires that cannot go ahead in date.
    pub lost_hires: Vec<String>,
    /// Days overdue, weighted by what being late means.
    pub overdue: i64,
}

impl Fleet {
    /// Plans the fleet: against the buffer where that can be had, against the last day itself where not.
    ///
    /// # Errors
    /// [`InstanceError`] naming the record that cannot be planned with.
    pub fn plan(&self, threads: NonZeroUsize) -> Result<FleetPlan, InstanceError> {
        let (records, ids) = self.records();
        let mut instance = Instance::from_records(&records)?;
        self.day_by_day(&mut instance);
        let effort = Effort { buffer_days: i32::try_from(self.buffer).unwrap_or(0), ..Effort::usual(&instance) };
        let plan = solve(&instance, effort, threads);
        let overdue = objective(&instance, &plan).overdue;
        Ok(self.in_own_terms(&plan, &ids, overdue))
    }

    fn horizon(&self) -> i32 {
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
            let id = id_of(item);
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
            pins: None,
            baseline: None,
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

    fn in_own_terms(&self, plan: &Plan, ids: &BTreeMap<String, &Item>, overdue: i64) -> FleetPlan {
        let depots: BTreeMap<&str, &DepotCode> =
            self.units.iter().map(|(unit, depot)| (unit.as_str(), depot)).collect();
        let minutes: BTreeMap<String, u32> =
            self.items.iter().map(|(item, work)| (id_of(item), work.minutes)).collect();
        let person = |id: &str| id.split_once('@').and_then(|(person, _)| person.parse::<PersonCode>().ok());
        let visit = |visit: &super::visits::Visit| {
            let work: Vec<(Item, PersonCode)> = visit
                .work
                .iter()
                .filter_map(|work| Some(((*ids.get(&work.item)?).clone(), person(&work.tech)?)))
                .collect();
            let minutes: u32 = visit.work.iter().filter_map(|work| minutes.get(&work.item)).sum();
            Some(PlannedVisit {
                depot: (*depots.get(visit.unit.as_str())?).clone(),
                unit: visit.unit.parse().ok()?,
                on: self.today.plus_days(i64::from(visit.day)),
                by: person(&visit.setup_tech)?,
                work,
                minutes: minutes + SET_UP_MINUTES.unsigned_abs(),
            })
        };
        FleetPlan {
            visits: plan.visits.iter().filter_map(visit).collect(),
            unplanned: plan
                .unplaced
                .iter()
                .filter_map(|one| Some(Unplanned { item: (*ids.get(&one.item)?).clone(), reason: one.reason }))
                .collect(),
            lost_hires: plan.lost_bookings.clone(),
            overdue,
        }
    }
}

fn id_of(item: &Item) -> String {
    let part = item.part.as_ref().map_or("", |part| part.as_str());
    format!("{part}/{}/{}", item.rule, item.unit.as_ref().map_or("", |unit| unit.as_str()))
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
