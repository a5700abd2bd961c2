//! The cheapest way to spread one chunk of jobs over days: an exact program over subsets.
//!
//! Owns: the choice of days within one chunk of one unit, at the capacity left by everything else. For every subset
//! the best day is found, then the cheapest partition into subsets. Two parts that land on one day are one visit; when
//! that visit cannot be staffed, the program is run again with either part kept off that day. Refuses: to weigh one
//! unit against another.

use super::cost::Cost;
use super::instance::SkillSet;
use super::model::{Candidate, DepotModel, JOBS_MAX, Job};
use super::staffing::{Crew, Demand};

/// Weighing a pair of subsets is that much cheaper than pricing a day.
const PAIRS_PER_STEP: u64 = 8;
/// Clashes of two parts for which both ways out are tried; the number of runs doubles with each.
const CLASH_BRANCHES: usize = 4;
/// Jobs up to which that is cheap enough.
const BRANCHING_JOBS_MAX: usize = 8;

/// One chunk to spread.
pub(super) struct Chunk<'a> {
    pub model: &'a DepotModel,
    /// Minutes left: `day * people + person`.
    pub free: &'a [i32],
    pub jobs: &'a [Job],
    /// Days that may be used, latest first.
    pub candidates: &'a [Candidate],
    /// Jobs that may be left out, by bit.
    pub droppable: u16,
    /// Days on which the unit is visited anyway.
    pub visited: &'a [i32],
    /// Whether an earlier plan has a say in which day is best.
    pub has_baseline: bool,
}

/// Jobs done together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Group {
    pub day: i32,
    /// By bit within the chunk.
    pub jobs: u16,
}

/// Work kept off a day.
#[derive(Clone, Copy)]
struct Ban {
    jobs: u16,
    day: i32,
    /// Whether each of the jobs is kept off, not just all of them as one part.
    each: bool,
}

impl Ban {
    fn covers(&self, subset: usize, day: i32) -> bool {
        let jobs = subset as u16;
        self.day == day && if self.each { jobs & self.jobs != 0 } else { jobs == self.jobs }
    }
}

/// Tables reused between runs.
pub(super) struct SubsetTables {
    minutes: Vec<i32>,
    skills: Vec<SkillSet>,
    /// Earliest due day in the subset.
    due: Vec<i32>,
    /// First candidate on time that is not ruled out for the subset.
    from: Vec<usize>,
    day: Vec<i32>,
    alone: Vec<Cost>,
    best: Vec<Cost>,
    part: Vec<u16>,
    /// Days priced and partitions weighed so far.
    pub steps: u64,
}

impl SubsetTables {
    pub fn new() -> SubsetTables {
        let size = 1 << JOBS_MAX;
        SubsetTables {
            minutes: vec![0; size],
            skills: vec![SkillSet(0); size],
            due: vec![0; size],
            from: vec![0; size],
            day: vec![0; size],
            alone: vec![Cost::IMPOSSIBLE; size],
            best: vec![Cost::IMPOSSIBLE; size],
            part: vec![0; size],
            steps: 0,
        }
    }

    /// The cheapest groups, at most one per day; none if some job can neither be done nor left out.
    pub fn spread(&mut self, chunk: &Chunk<'_>) -> Option<Vec<Group>> {
        self.spread_without(chunk, &mut Vec::new()).map(|(_, groups)| groups)
    }

    fn spread_without(&mut self, chunk: &Chunk<'_>, bans: &mut Vec<Ban>) -> Option<(Cost, Vec<Group>)> {
        self.price_subsets(chunk, bans);
        let (cost, mut groups) = self.partition(chunk)?;
        let Some((first, second)) = clash(&groups) else {
            return Some((cost, groups));
        };
        let (one, other) = (groups[first], groups[second]);
        if chunk.can_take(one.jobs | other.jobs, one.day) {
            // Only possible on a day visited anyway; elsewhere the union saves a visit and wins outright.
            groups[first].jobs |= other.jobs;
            groups.remove(second);
            if clash(&groups).is_none() {
                return Some((cost, groups));
            }
        }
        if bans.len() >= CLASH_BRANCHES || chunk.jobs.len() > BRANCHING_JOBS_MAX {
            // From here on no longer exact. Every ban takes a job off a day, so this ends.
            bans.push(Ban { jobs: other.jobs, day: other.day, each: true });
            let found = self.spread_without(chunk, bans);
            bans.pop();
            return found;
        }
        let mut cheapest: Option<(Cost, Vec<Group>)> = None;
        for kept_off in [one, other] {
            bans.push(Ban { jobs: kept_off.jobs, day: kept_off.day, each: false });
            let tried = self.spread_without(chunk, bans);
            bans.pop();
            if let Some(tried) = tried
                && cheapest.as_ref().is_none_or(|found| tried.0 < found.0)
            {
                cheapest = Some(tried);
            }
        }
        cheapest
    }

    /// Fills `alone` and `day`: the cheapest day for every subset done as one visit.
    fn price_subsets(&mut self, chunk: &Chunk<'_>, bans: &[Ban]) {
        let size = 1usize << chunk.jobs.len();
        self.minutes[0] = 0;
        self.skills[0] = SkillSet(0);
        for subset in 1..size {
            let low = subset.trailing_zeros() as usize;
            let rest = subset & (subset - 1);
            let job = &chunk.jobs[low];
            self.minutes[subset] = self.minutes[rest] + job.minutes;
            self.skills[subset] = self.skills[rest].with(job.skills);
            self.alone[subset] = Cost::IMPOSSIBLE;
            self.due[subset] = if rest == 0 { job.due } else { self.due[rest].min(job.due) };
            let punctual = chunk.candidates.partition_point(|candidate| candidate.day > self.due[subset]);
            // What cannot take a part of the subset cannot take the subset.
            let from = if rest == 0 {
                punctual
            } else {
                let top = subset ^ (1 << subset.ilog2());
                punctual.max(self.from[rest]).max(self.from[1 << low]).max(self.from[top])
            };
            self.price_punctual(chunk, bans, subset, from);
            self.price_late(chunk, bans, subset, punctual);
        }
    }

    /// The cheapest of the candidates `from..`, all of them on time for every job of the subset:
    /// the later the day, the less is premature or wasted.
    fn price_punctual(&mut self, chunk: &Chunk<'_>, bans: &[Ban], subset: usize, from: usize) {
        self.from[subset] = chunk.candidates.len();
        for (index, candidate) in chunk.candidates.iter().enumerate().skip(from) {
            if subset as u16 & !candidate.jobs != 0 {
                continue;
            }
            self.steps += 1;
            let cost = chunk.cost_together(subset as u16, candidate.day);
            if self.alone[subset].is_possible() && chunk.at_least(cost) >= self.alone[subset] {
                return;
            }
            if !self.fits(chunk, subset, candidate.day) {
                continue;
            }
            // A ban is no reason to rule the day out for larger subsets.
            self.from[subset] = self.from[subset].min(index);
            self.offer(bans, subset, candidate.day, cost);
        }
    }

    /// The cheapest of the candidates before `punctual`, all of them late for some job: the earlier
    /// the day, the less is overdue.
    fn price_late(&mut self, chunk: &Chunk<'_>, bans: &[Ban], subset: usize, punctual: usize) {
        for candidate in chunk.candidates[..punctual].iter().rev() {
            if subset as u16 & !candidate.jobs != 0 {
                continue;
            }
            self.steps += 1;
            let cost = chunk.cost_together(subset as u16, candidate.day);
            if cost.overdue > self.alone[subset].overdue {
                return;
            }
            if cost < self.alone[subset] && self.fits(chunk, subset, candidate.day) {
                self.offer(bans, subset, candidate.day, cost);
            }
        }
    }

    fn offer(&mut self, bans: &[Ban], subset: usize, day: i32, cost: Cost) {
        let banned = bans.iter().any(|ban| ban.covers(subset, day));
        if cost < self.alone[subset] && !banned {
            self.day[subset] = day;
            self.alone[subset] = cost;
        }
    }

    fn fits(&self, chunk: &Chunk<'_>, subset: usize, day: i32) -> bool {
        chunk.crew(day).can_take(&chunk.demand(subset as u16, day, self.minutes[subset], self.skills[subset]))
    }

    /// The cheapest partition of all jobs into subsets and left-out jobs.
    fn partition(&mut self, chunk: &Chunk<'_>) -> Option<(Cost, Vec<Group>)> {
        let size = 1usize << chunk.jobs.len();
        // There are 3 to the power of the number of jobs pairs of a set and a part of it.
        self.steps += 3u64.pow(chunk.jobs.len() as u32) / PAIRS_PER_STEP;
        self.best[0] = Cost::default();
        for set in 1..size {
            let low = 1 << set.trailing_zeros();
            let rest = set ^ low;
            let mut best = Cost::IMPOSSIBLE;
            let mut part = 0;
            if chunk.droppable as usize & low != 0 && self.best[rest].is_possible() {
                let job = &chunk.jobs[low.trailing_zeros() as usize];
                best = self.best[rest] + job.cost_undone(chunk.model.horizon);
            }
            let mut others = rest;
            loop {
                let subset = others | low;
                if self.alone[subset].is_possible() && self.best[set ^ subset].is_possible() {
                    let cost = self.alone[subset] + self.best[set ^ subset];
                    if cost < best {
                        best = cost;
                        part = subset as u16;
                    }
                }
                if others == 0 {
                    break;
                }
                others = (others - 1) & rest;
            }
            self.best[set] = best;
            self.part[set] = part;
        }
        let mut set = size - 1;
        if !self.best[set].is_possible() {
            return None;
        }
        let cost = self.best[set];
        let mut groups = Vec::with_capacity(2);
        while set != 0 {
            let part = self.part[set];
            if part == 0 {
                set &= set - 1;
            } else {
                groups.push(Group { day: self.day[part as usize], jobs: part });
                set ^= part as usize;
            }
        }
        Some((cost, groups))
    }
}

impl Chunk<'_> {
    /// The depot's people with what they have left on `day`.
    pub fn crew(&self, day: i32) -> Crew<'_> {
        let width = self.model.people.len();
        Crew { people: &self.model.people, free: &self.free[day as usize * width..][..width] }
    }

    fn cost_together(&self, jobs: u16, day: i32) -> Cost {
        let visit = Cost { visits: i32::from(!self.visited.contains(&day)), ..Cost::default() };
        ones(jobs).fold(visit, |cost, job| cost + self.jobs[job].cost_on(day))
    }

    /// What any earlier day costs at least, given the cost of a day on time.
    fn at_least(&self, cost: Cost) -> Cost {
        Cost {
            moved: if self.has_baseline { 0 } else { cost.moved },
            visits: if self.visited.is_empty() { cost.visits } else { 0 },
            ..cost
        }
    }

    /// What the subset asks for on `day`; `minutes` and `skills` are those of its jobs together.
    fn demand(&self, jobs: u16, day: i32, minutes: i32, skills: SkillSet) -> Demand<'_> {
        let setup = (!self.visited.contains(&day)).then_some((self.model.setup_minutes, self.model.setup_skill));
        Demand {
            jobs: self.jobs,
            chosen: jobs,
            setup,
            minutes: minutes + setup.map_or(0, |(minutes, _)| minutes),
            skills: setup.map_or(skills, |(_, setup)| skills.with(setup)),
        }
    }

    /// What a group asks for.
    pub fn group_demand(&self, group: Group) -> Demand<'_> {
        let minutes = ones(group.jobs).map(|job| self.jobs[job].minutes).sum();
        let skills = ones(group.jobs).fold(SkillSet(0), |set, job| set.with(self.jobs[job].skills));
        self.demand(group.jobs, group.day, minutes, skills)
    }

    /// Whether the jobs can be staffed as one visit on `day`.
    pub fn can_take(&self, jobs: u16, day: i32) -> bool {
        self.crew(day).can_take(&self.group_demand(Group { day, jobs }))
    }
}

/// The positions of the bits set, ascending.
pub(super) fn ones(bits: u16) -> impl Iterator<Item = usize> {
    let mut left = bits;
    std::iter::from_fn(move || {
        let bit = (left != 0).then(|| left.trailing_zeros() as usize)?;
        left &= left - 1;
        Some(bit)
    })
}

fn clash(groups: &[Group]) -> Option<(usize, usize)> {
    (0..groups.len()).find_map(|first| {
        (first + 1..groups.len()).find(|&second| groups[second].day == groups[first].day).map(|second| (first, second))
    })
}
