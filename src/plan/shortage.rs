//! Proof that a depot has too few minutes to be on time.
//!
//! Owns: the relaxation (work may be split at will among qualified people and days), the cut that proves a shortage
//! and its reduction to a small witness. Refuses: calling the absence of a shortage a proof, because real work cannot
//! be split. On time means: by its due day, at home, no hire lost; a job with no such day at all is left out, as it
//! needs no proof.

use std::collections::HashMap;

use super::flow::Network;
use super::instance::{Instance, SkillSet};
use super::model::{DepotModel, UnitModel};

/// Work that cannot all be done on time, whoever does it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shortage {
    /// Depot id.
    pub depot: String,
    /// Minutes that cannot be done on time in the whole depot, at least.
    pub minutes_short: i64,
    /// Some of the work, which alone needs more minutes than its days offer.
    pub jobs: Vec<ShortJob>,
    /// Every technician-day on which any of that work could be done on time, by day.
    pub technician_days: Vec<TechnicianDay>,
    /// Minutes of `jobs` together; more than `minutes_offered`.
    pub minutes_needed: i64,
    /// Minutes of `technician_days` together.
    pub minutes_offered: i64,
}

/// A piece of work in a shortage.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ShortJob {
    /// An item, by id.
    Item(String),
    /// A set-up that this unit needs in addition to its other set-ups.
    SetUp(String),
}

/// One technician's day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TechnicianDay {
    /// Technician id.
    pub technician: String,
    /// Day of the horizon.
    pub day: i32,
    /// Minutes of the full day.
    pub minutes: i32,
}

/// Looks for a shortage at depot `depot` (an index). None means that none was found, not that the
/// depot can be on time.
pub fn shortage(instance: &Instance, depot: usize) -> Option<Shortage> {
    find_cut(&DepotModel::new(instance, depot, 0)).map(|cut| cut.describe(instance, depot))
}

/// A shortage in the depot's own indices.
pub(super) struct Cut<'a> {
    model: &'a DepotModel,
    /// Units with work among everything that is short, ascending.
    pub units: Vec<usize>,
    pub minutes_short: i64,
    tasks: Vec<Task>,
    /// Slots `day * people + person`.
    slots: Vec<usize>,
}

/// Minutes to be done on any of some days by anybody with the skills.
struct Task {
    unit: usize,
    /// None for a set-up.
    job: Option<usize>,
    skills: SkillSet,
    minutes: i32,
    days: Vec<i32>,
}

/// Looks for a shortage.
pub(super) fn find_cut(model: &DepotModel) -> Option<Cut<'_>> {
    let tasks = tasks(model);
    let width = model.people.len();
    let slots = model.full.len();
    let mut hubs: HashMap<(SkillSet, i32), usize> = HashMap::new();
    let mut hub_keys = Vec::new();
    for task in &tasks {
        for &day in &task.days {
            hubs.entry((task.skills, day)).or_insert_with(|| {
                hub_keys.push((task.skills, day));
                hub_keys.len() - 1
            });
        }
    }
    let (source, sink) = (0, 1);
    let slot_node = |slot: usize| 2 + slot;
    let hub_node = |hub: usize| 2 + slots + hub;
    let task_node = |task: usize| 2 + slots + hub_keys.len() + task;
    let mut network = Network::new(task_node(tasks.len()));
    for (slot, &minutes) in model.full.iter().enumerate() {
        if minutes > 0 {
            network.connect(slot_node(slot), sink, minutes);
        }
    }
    for (hub, &(skills, day)) in hub_keys.iter().enumerate() {
        for slot in qualified_slots(model, skills, day) {
            network.connect(hub_node(hub), slot_node(slot), i32::MAX / 2);
        }
    }
    let mut needed = 0;
    for (index, task) in tasks.iter().enumerate() {
        needed += i64::from(task.minutes);
        network.connect(source, task_node(index), task.minutes);
        for &day in task.days.iter().rev() {
            network.connect(task_node(index), hub_node(hubs[&(task.skills, day)]), task.minutes);
        }
    }
    let minutes_short = needed - network.send(source, sink);
    if minutes_short <= 0 {
        return None;
    }
    let reachable = network.reachable(source);
    let mut members: Vec<Task> = Vec::new();
    for (index, task) in tasks.into_iter().enumerate() {
        if reachable[task_node(index)] {
            members.push(task);
        }
    }
    let mut units: Vec<usize> = members.iter().map(|task| task.unit).collect();
    units.dedup();
    let tasks = reduce(model, members, minutes_short);
    let mut slots: Vec<usize> = tasks
        .iter()
        .flat_map(|task| task.days.iter().flat_map(|&day| qualified_slots(model, task.skills, day)))
        .collect();
    slots.sort_unstable_by_key(|&slot| (slot / width, model.people[slot % width].technician));
    slots.dedup();
    Some(Cut { model, units, minutes_short, tasks, slots })
}

impl Cut<'_> {
    /// The shortage with ids in place of indices.
    pub fn describe(&self, instance: &Instance, depot: usize) -> Shortage {
        let width = self.model.people.len();
        let mut jobs: Vec<ShortJob> = Vec::new();
        for task in &self.tasks {
            let unit = &self.model.units[task.unit];
            match task.job {
                Some(job) => {
                    let items = unit.jobs[job].items.iter();
                    jobs.extend(items.map(|&item| ShortJob::Item(instance.items[item].id.clone())));
                }
                None => jobs.push(ShortJob::SetUp(instance.units[unit.unit].id.clone())),
            }
        }
        let technician_days: Vec<TechnicianDay> = self
            .slots
            .iter()
            .map(|&slot| TechnicianDay {
                technician: instance.technicians[self.model.people[slot % width].technician].id.clone(),
                day: (slot / width) as i32,
                minutes: self.model.full[slot],
            })
            .collect();
        Shortage {
            depot: instance.depots[depot].id.clone(),
            minutes_short: self.minutes_short,
            minutes_needed: self.tasks.iter().map(|task| i64::from(task.minutes)).sum(),
            minutes_offered: technician_days.iter().map(|day| i64::from(day.minutes)).sum(),
            jobs,
            technician_days,
        }
    }
}

/// Slots of people who hold the skills and work that day.
fn qualified_slots(model: &DepotModel, skills: SkillSet, day: i32) -> impl Iterator<Item = usize> {
    let width = model.people.len();
    (0..width)
        .map(move |person| (person, day as usize * width + person))
        .filter(move |&(person, slot)| model.people[person].skills.covers(skills) && model.full[slot] > 0)
        .map(|(_, slot)| slot)
}

fn tasks(model: &DepotModel) -> Vec<Task> {
    let mut tasks = Vec::new();
    for (index, unit) in model.units.iter().enumerate() {
        let first = tasks.len();
        for (job, wanted) in unit.jobs.iter().enumerate() {
            let days = on_time_days(model, unit, job);
            if !days.is_empty() {
                let (skills, minutes) = (wanted.skills, wanted.minutes);
                tasks.push(Task { unit: index, job: Some(job), skills, minutes, days });
            }
        }
        let setups = setups(model, index, &tasks[first..]);
        tasks.extend(setups);
    }
    tasks
}

/// Visits that cannot be one: a greedy choice of jobs whose windows do not overlap.
fn setups(model: &DepotModel, unit: usize, tasks: &[Task]) -> Vec<Task> {
    let mut windows: Vec<&Task> = tasks.iter().collect();
    windows.sort_by_key(|task| (task.days.last().copied(), task.job));
    let mut setups = Vec::new();
    let mut until = None;
    for task in windows {
        if until.is_none_or(|until| task.days.first().is_some_and(|&first| first > until)) {
            until = task.days.last().copied();
            setups.push(Task {
                unit,
                job: None,
                skills: model.setup_skill,
                minutes: model.setup_minutes,
                days: task.days.clone(),
            });
        }
    }
    setups
}

/// A hire that waits for the job covers every day up to its due day from when it begins, so being at home is enough.
fn on_time_days(model: &DepotModel, unit: &UnitModel, job: usize) -> Vec<i32> {
    let job = &unit.jobs[job];
    (job.floor.max(0)..=job.due.min(model.horizon - 1))
        .filter(|&day| {
            model.kinds[job.kind].workable[day as usize]
                && job.pin.is_none_or(|pin| pin == day)
                && unit.hires.iter().all(|hire| !hire.covers(day))
        })
        .collect()
}

/// Drops tasks one at a time, widest window first, while what is left is still short of minutes.
fn reduce(model: &DepotModel, mut tasks: Vec<Task>, mut short: i64) -> Vec<Task> {
    tasks.sort_by_key(|task| (std::cmp::Reverse(task.days.len()), task.unit, task.job));
    let mut hub_uses: HashMap<(SkillSet, i32), u32> = HashMap::new();
    let mut slot_uses = vec![0u32; model.full.len()];
    for task in &tasks {
        for &day in &task.days {
            let uses = hub_uses.entry((task.skills, day)).or_insert(0);
            *uses += 1;
            if *uses == 1 {
                qualified_slots(model, task.skills, day).for_each(|slot| slot_uses[slot] += 1);
            }
        }
    }
    loop {
        let before = tasks.len();
        tasks.retain(|task| {
            let mut freed = Vec::new();
            for &day in &task.days {
                if hub_uses.get(&(task.skills, day)) == Some(&1) {
                    for slot in qualified_slots(model, task.skills, day) {
                        slot_uses[slot] -= 1;
                        freed.push(slot);
                    }
                }
            }
            let released: i64 =
                freed.iter().filter(|&&slot| slot_uses[slot] == 0).map(|&slot| i64::from(model.full[slot])).sum();
            let left = short - i64::from(task.minutes) + released;
            if left <= 0 {
                freed.into_iter().for_each(|slot| slot_uses[slot] += 1);
                return true;
            }
            for &day in &task.days {
                if let Some(uses) = hub_uses.get_mut(&(task.skills, day)) {
                    *uses -= 1;
                }
            }
            short = left;
            false
        });
        if tasks.len() == before {
            tasks.sort_by_key(|task| (task.unit, task.job));
            return tasks;
        }
    }
}
