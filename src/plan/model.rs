//! One depot as the search sees it: small indices, day tables, each unit's core days.
//!
//! Owns: everything that does not change during a search, and what one job costs on one day. Refuses: to know how much
//! of a technician's day is taken; that is [`super::board`].
//!
//! A *job* is what is done as one piece: an item, or, in a unit with more than [`JOBS_MAX`] items, several items alike
//! in skills, window and pin. A *core* day of a job is on time, sensible, at home, and leaves every hire possible.

use std::ops::Range;

use super::cost::Cost;
use super::instance::{Before, Booking, Instance, Item, SkillSet};

/// Most jobs planned at once: the subset program costs 3 to this power. More are planned in chunks.
pub(super) const JOBS_MAX: usize = 12;

/// A technician of the depot.
pub(super) struct Person {
    /// Index in the instance.
    pub technician: usize,
    pub skills: SkillSet,
    pub sets_up: bool,
    /// How sought after the scarcest skill held is: minutes asked for per million minutes offered.
    pub price: i64,
}

/// A piece of work on one unit.
#[derive(Clone)]
pub(super) struct Job {
    /// Indices in the instance.
    pub items: Vec<usize>,
    pub skills: SkillSet,
    pub minutes: i32,
    pub due: i32,
    pub earliest: i32,
    pub floor: i32,
    pub pin: Option<i32>,
    before: Before,
    pub mandatory: bool,
    class_weight: i64,
    waste_per_day: i64,
    /// Index into [`DepotModel::kinds`].
    pub kind: usize,
}

impl Job {
    /// What doing it on `day` costs, the visit not counted.
    pub fn cost_on(&self, day: i32) -> Cost {
        let late = (day - self.due.max(-1)).max(0);
        let early = (self.earliest.max(0) - day).max(0);
        Cost {
            overdue: self.class_weight * i64::from(late),
            premature: i64::from(early) * self.items.len() as i64,
            moved: self.moved(Before::On(day)),
            waste: self.waste_per_day * i64::from((self.due - day).max(0)),
            ..Cost::default()
        }
    }

    /// What never doing it costs, lost hires not counted.
    pub fn cost_undone(&self, horizon: i32) -> Cost {
        if !self.mandatory {
            return Cost::default();
        }
        Cost {
            overdue: self.class_weight * i64::from(horizon - self.due.max(-1)),
            moved: self.moved(Before::Unplanned),
            ..Cost::default()
        }
    }

    fn moved(&self, now: Before) -> i32 {
        if self.before == Before::Unknown || self.before == now { 0 } else { self.items.len() as i32 }
    }

    /// Whether doing it on `day` (the horizon: never) makes the hire impossible.
    pub fn blocks(&self, hire: &Hire, day: i32) -> bool {
        self.threatens(hire) && day >= hire.out
    }

    /// Whether it falls due inside or before the hire, so that the hire waits for it.
    pub fn threatens(&self, hire: &Hire) -> bool {
        hire.out >= 0 && self.due < hire.back - 1
    }
}

/// A hire of one unit.
pub(super) struct Hire {
    pub out: i32,
    pub back: i32,
}

impl Hire {
    /// Whether the unit is gone on `day` when the hire goes ahead.
    pub fn covers(&self, day: i32) -> bool {
        (self.out..self.back).contains(&day)
    }
}

/// A day on which some jobs of a chunk may be done; bit n stands for the chunk's job n.
#[derive(Clone, Copy)]
pub(super) struct Candidate {
    pub day: i32,
    pub jobs: u16,
}

/// A unit of the depot.
pub(super) struct UnitModel {
    /// Index in the instance.
    pub unit: usize,
    pub jobs: Vec<Job>,
    /// Consecutive ranges of `jobs`, each of at most [`JOBS_MAX`].
    pub chunks: Vec<Range<usize>>,
    pub hires: Vec<Hire>,
    /// Core days of each chunk, latest first.
    pub core: Vec<Vec<Candidate>>,
    /// The core days that keep the buffer; a job without any keeps all its core days. None without a buffer.
    pub buffered: Option<Vec<Vec<Candidate>>>,
    /// Fewest core days of any job.
    pub slack: usize,
    /// Whether an earlier plan says where some job was; then the latest day need not be the best.
    pub has_baseline: bool,
}

/// Days on which one kind of work can be done at all, by skills and minutes.
pub(super) struct WorkKind {
    skills: SkillSet,
    minutes: i32,
    /// Per day: open, somebody qualified works long enough, somebody can set up.
    pub workable: Vec<bool>,
}

/// A depot, ready to be planned.
pub(super) struct DepotModel {
    pub horizon: i32,
    pub setup_minutes: i32,
    pub setup_skill: SkillSet,
    /// Cheapest first, so that the sought-after stay free.
    pub people: Vec<Person>,
    /// Minutes of every person's full day: `day * people.len() + person`.
    pub full: Vec<i32>,
    pub kinds: Vec<WorkKind>,
    pub units: Vec<UnitModel>,
    buffer_days: i32,
}

impl DepotModel {
    /// Collects depot `depot` of the instance, to be planned `buffer_days` ahead of due where that costs nothing.
    pub fn new(instance: &Instance, depot: usize, buffer_days: i32) -> DepotModel {
        let mut people: Vec<Person> = instance.depots[depot]
            .technicians
            .iter()
            .map(|&technician| {
                let skills = instance.technicians[technician].skills;
                let sets_up = skills.covers(instance.setup_skill);
                Person { technician, skills, sets_up, price: 0 }
            })
            .collect();
        price(instance, depot, &mut people);
        people.sort_by_key(|person| (person.price, person.skills.len(), person.technician));
        let full = (0..instance.horizon as usize)
            .flat_map(|day| people.iter().map(move |person| instance.technicians[person.technician].minutes[day]))
            .collect();
        let mut model = DepotModel {
            horizon: instance.horizon,
            setup_minutes: instance.setup_minutes,
            setup_skill: instance.setup_skill,
            people,
            full,
            kinds: Vec::new(),
            units: Vec::new(),
            buffer_days: buffer_days.clamp(0, instance.horizon),
        };
        for &unit in &instance.depots[depot].units {
            let unit = model.unit(instance, unit, |item| instance.items[item].pin);
            model.units.push(unit);
        }
        model
    }

    /// Builds a unit, taking its pins from `pin_of` (by item index).
    pub fn unit(&mut self, instance: &Instance, unit: usize, pin_of: impl Fn(usize) -> Option<i32>) -> UnitModel {
        let record = &instance.units[unit];
        let wanted = record
            .items
            .iter()
            .copied()
            .filter(|&item| instance.items[item].is_mandatory(instance.horizon) || pin_of(item).is_some())
            .map(|item| self.job(instance, item, pin_of(item)))
            .collect();
        let jobs = self.join_alike(wanted);
        let hires = record
            .bookings
            .iter()
            .map(|&booking| {
                let Booking { out, back, .. } = instance.bookings[booking];
                Hire { out, back }
            })
            .collect();
        let mut built = UnitModel {
            unit,
            chunks: chunks(jobs.len()),
            has_baseline: jobs.iter().any(|job| job.before != Before::Unknown),
            jobs,
            hires,
            core: Vec::new(),
            buffered: None,
            slack: usize::MAX,
        };
        (built.core, built.slack) = self.core_days(&built, 0);
        if self.buffer_days > 0 {
            built.buffered = Some(self.core_days(&built, self.buffer_days).0);
        }
        built
    }

    /// The minutes row of one day.
    pub fn full_day(&self, day: i32) -> &[i32] {
        let width = self.people.len();
        &self.full[day as usize * width..][..width]
    }

    fn job(&mut self, instance: &Instance, index: usize, pin: Option<i32>) -> Job {
        let item = &instance.items[index];
        Job {
            items: vec![index],
            skills: item.skills,
            minutes: item.minutes,
            due: item.due,
            earliest: item.earliest,
            floor: item.floor,
            pin,
            before: item.before,
            mandatory: item.is_mandatory(instance.horizon),
            class_weight: item.class_weight,
            waste_per_day: item.waste_per_day,
            kind: self.kind(item.skills, item.minutes),
        }
    }

    fn kind(&mut self, skills: SkillSet, minutes: i32) -> usize {
        if let Some(found) = self.kinds.iter().position(|kind| kind.skills == skills && kind.minutes == minutes) {
            return found;
        }
        let workable = (0..self.horizon)
            .map(|day| {
                let row = self.full_day(day);
                let anybody = |able: &dyn Fn(&Person) -> bool, needed: i32| {
                    self.people.iter().zip(row).any(|(who, &free)| free >= needed && able(who))
                };
                anybody(&|who| who.skills.covers(skills), minutes) && anybody(&|who| who.sets_up, self.setup_minutes)
            })
            .collect();
        self.kinds.push(WorkKind { skills, minutes, workable });
        self.kinds.len() - 1
    }

    /// Joins jobs alike when a unit has more than can be planned at once, never beyond a quarter of
    /// the longest qualified day: a bigger piece would be hard to place.
    fn join_alike(&mut self, jobs: Vec<Job>) -> Vec<Job> {
        if jobs.len() <= JOBS_MAX {
            return jobs;
        }
        let mut joined: Vec<Job> = Vec::new();
        for job in jobs {
            let most = self.longest_day(job.skills) / 4;
            let alike = joined.iter().position(|other| {
                other.skills == job.skills
                    && (other.due, other.earliest, other.floor) == (job.due, job.earliest, job.floor)
                    && (other.pin, other.before) == (job.pin, job.before)
                    && other.minutes + job.minutes <= most
            });
            let Some(into) = alike else {
                joined.push(job);
                continue;
            };
            let minutes = joined[into].minutes + job.minutes;
            let kind = self.kind(job.skills, minutes);
            let target = &mut joined[into];
            target.items.extend(job.items);
            target.class_weight += job.class_weight;
            target.waste_per_day += job.waste_per_day;
            target.minutes = minutes;
            target.kind = kind;
        }
        // Chunks are planned in turn, so what falls due together should share one.
        joined.sort_by_key(|job| (job.due, job.items[0]));
        joined
    }

    fn longest_day(&self, skills: SkillSet) -> i32 {
        let width = self.people.len();
        (0..self.full.len())
            .filter(|slot| self.people[slot % width].skills.covers(skills))
            .map(|slot| self.full[slot])
            .max()
            .unwrap_or(0)
    }

    /// The core days of each chunk up to `buffer_days` before due, and the fewest of any job.
    fn core_days(&self, unit: &UnitModel, buffer_days: i32) -> (Vec<Vec<Candidate>>, usize) {
        let mut home = vec![true; self.horizon as usize];
        for hire in &unit.hires {
            for day in hire.out.max(0)..hire.back {
                home[day as usize] = false;
            }
        }
        let mut slack = usize::MAX;
        let mut core = Vec::with_capacity(unit.chunks.len());
        let mut allowed = vec![0u16; self.horizon as usize];
        for chunk in &unit.chunks {
            allowed.fill(0);
            for (bit, job) in unit.jobs[chunk.clone()].iter().enumerate() {
                let mut days: Vec<i32> = self.core_days_of(unit, job, &home).collect();
                slack = slack.min(days.len());
                if days.first().is_some_and(|&first| first <= job.due - buffer_days) {
                    days.retain(|&day| day <= job.due - buffer_days);
                }
                days.into_iter().for_each(|day| allowed[day as usize] |= 1 << bit);
            }
            let candidates = (0..self.horizon).rev().map(|day| Candidate { day, jobs: allowed[day as usize] });
            core.push(candidates.filter(|candidate| candidate.jobs != 0).collect());
        }
        (core, slack)
    }

    fn core_days_of(&self, unit: &UnitModel, job: &Job, home: &[bool]) -> impl Iterator<Item = i32> {
        let first = job.earliest.max(job.floor).max(0);
        let last = unit
            .hires
            .iter()
            .filter(|hire| job.threatens(hire))
            .map(|hire| hire.out - 1)
            .fold(job.due.min(self.horizon - 1), i32::min);
        (first..=last).filter(|&day| {
            let slot = day as usize;
            home[slot] && self.kinds[job.kind].workable[slot] && job.pin.is_none_or(|pin| pin == day)
        })
    }
}

/// Prices people by the scarcest skill they hold. Set-ups are left out: how many there will be is
/// not known, and only the order of prices matters.
fn price(instance: &Instance, depot: usize, people: &mut [Person]) {
    let units = instance.depots[depot].units.iter();
    let items: Vec<&Item> = units
        .flat_map(|&unit| &instance.units[unit].items)
        .map(|&item| &instance.items[item])
        .filter(|item| item.is_mandatory(instance.horizon))
        .collect();
    let held = people.iter().fold(SkillSet(0), |all, person| all.with(person.skills));
    for bit in (0..u64::BITS).map(|bit| SkillSet(1 << bit)).filter(|&bit| held.covers(bit)) {
        let asked: i64 = items.iter().filter(|item| item.skills.covers(bit)).map(|item| i64::from(item.minutes)).sum();
        let offered: i64 = people
            .iter()
            .filter(|person| person.skills.covers(bit))
            .flat_map(|person| &instance.technicians[person.technician].minutes)
            .map(|&minutes| i64::from(minutes))
            .sum();
        let ratio = asked * 1_000_000 / offered.max(1);
        for person in people.iter_mut().filter(|person| person.skills.covers(bit)) {
            person.price = person.price.max(ratio);
        }
    }
}

fn chunks(jobs: usize) -> Vec<Range<usize>> {
    (0..jobs).step_by(JOBS_MAX).map(|start| start..(start + JOBS_MAX).min(jobs)).collect()
}
