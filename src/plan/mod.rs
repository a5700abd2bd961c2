//! Inspections fitted between hires: which unit is worked on, on which day, by whom.
//!
//! Owns: the entry point and the division among threads. Days are integer offsets from the first day planned, work is
//! in minutes. In reading order: [`instance`] (the question), [`visits`] (the answer), [`mod@objective`] (what makes one
//! answer better), `search` (how it is found), [`mod@shortage`] (proof that it cannot be found), [`mod@explain`] (why a day
//! was chosen) and [`mod@check`] (a second, naive reading of the rules). Refuses: clocks, IO, and chance beyond a fixed
//! seed; a plan is a function of its arguments.

mod board;
mod chains;
pub mod check;
mod concession;
mod cost;
mod dice;
mod ejection;
mod exchange;
pub mod explain;
mod fault;
pub mod fleet;
pub mod fleet_plan;
mod flow;
mod insertion;
pub mod instance;
mod model;
pub mod objective;
mod pins;
mod reasons;
mod renewal;
mod resolve;
mod search;
pub mod shortage;
mod staffing;
mod subsets;
pub mod visits;

use std::num::NonZeroUsize;
use std::sync::atomic::{AtomicUsize, Ordering};

pub use self::check::check;
pub use self::explain::explain;
pub use self::fault::{InstanceError, RecordKind};
use self::instance::Instance;
pub use self::objective::objective;
use self::search::{DepotPlan, plan_depot};
pub use self::shortage::shortage;
pub use self::visits::Plan;
use self::visits::{Visit, Work};

/// How hard to search. Counts, not times, so that a plan depends on nothing else.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Rounds of ruin and recreate per unit.
    pub rounds_per_unit: u32,
    /// The same for a depot that is late beyond its bound or has over half a percent more visits.
    pub rounds_when_far: u32,
    /// Days before due to aim at, wherever that costs no more than the true due days do in everything but waste.
    pub buffer_days: i32,
}

impl Effort {
    /// Fleets up to this many units are cheap enough for the full search everywhere.
    const SMALL_FLEET: usize = 300;

    /// Usual effort for an instance, without a buffer: fewer rounds for a depot near its bound in a large fleet.
    pub fn usual(instance: &Instance) -> Effort {
        let rounds_per_unit = if instance.units.len() <= Effort::SMALL_FLEET { 600 } else { 20 };
        Effort { rounds_per_unit, rounds_when_far: 200, buffer_days: 0 }
    }
}

/// Plans every depot on up to `threads` threads. The plan does not depend on the number of threads.
pub fn solve(instance: &Instance, effort: Effort, threads: NonZeroUsize) -> Plan {
    let count = instance.depots.len();
    let next = AtomicUsize::new(0);
    let mut done: Vec<(usize, DepotVisits)> = std::thread::scope(|scope| {
        let worker = || {
            let mut done = Vec::new();
            loop {
                let depot = next.fetch_add(1, Ordering::Relaxed);
                if depot >= count {
                    return done;
                }
                done.push((depot, name(instance, plan_depot(instance, depot, effort))));
            }
        };
        let helpers: Vec<_> = (1..threads.get().min(count)).map(|_| scope.spawn(worker)).collect();
        let mut done = worker();
        for helper in helpers {
            match helper.join() {
                Ok(theirs) => done.extend(theirs),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        done
    });
    done.sort_by_key(|&(depot, _)| depot);
    let mut plan = Plan::empty();
    for (_, depot) in done {
        plan.visits.extend(depot.visits);
        plan.broken_pins.extend(depot.broken_pins);
        plan.shortages.extend(depot.shortage);
    }
    reasons::complete(instance, &mut plan);
    plan
}

/// One depot's share of the plan.
struct DepotVisits {
    visits: Vec<Visit>,
    broken_pins: Vec<String>,
    shortage: Option<shortage::Shortage>,
}

/// Puts ids in place of indices, visits by day and unit.
fn name(instance: &Instance, plan: DepotPlan) -> DepotVisits {
    let model = &plan.model;
    let person = |index: usize| instance.technicians[model.people[index].technician].id.clone();
    let mut visits: Vec<(i32, usize, Visit)> = Vec::new();
    for (unit, placement) in model.units.iter().zip(&plan.placed) {
        for visit in &placement.visits {
            let mut work: Vec<(usize, usize)> = Vec::new();
            for &(job, by) in &visit.work {
                work.extend(unit.jobs[job].items.iter().map(|&item| (item, by)));
            }
            work.sort_unstable();
            let named = Visit {
                unit: instance.units[unit.unit].id.clone(),
                day: visit.day,
                setup_tech: person(visit.setup),
                work: work
                    .into_iter()
                    .map(|(item, by)| Work { item: instance.items[item].id.clone(), tech: person(by) })
                    .collect(),
            };
            visits.push((visit.day, unit.unit, named));
        }
    }
    visits.sort_by_key(|&(day, unit, _)| (day, unit));
    DepotVisits {
        visits: visits.into_iter().map(|(_, _, visit)| visit).collect(),
        broken_pins: plan.broken.iter().map(|&item| instance.items[item].id.clone()).collect(),
        shortage: plan.shortage,
    }
}
