//! Who does the work of one visit, given the minutes people have left that day.
//!
//! Owns: the choice of technicians within one visit: one person for all of it if anybody can, else a bounded
//! depth-first search that serves the scarcest skill first. Refuses: to look at other days or other units.

use super::instance::SkillSet;
use super::model::{JOBS_MAX, Job, Person};
use super::subsets::ones;

/// Pieces to hand out: the jobs of a chunk and the set-up.
const PIECES_MAX: usize = JOBS_MAX + 1;
/// Search steps per visit. Depots have a handful of people, so real visits take a few dozen.
const STEPS_MAX: u32 = 600;

/// The people of a depot and the minutes each has left on one day.
#[derive(Clone, Copy)]
pub(super) struct Crew<'a> {
    pub people: &'a [Person],
    /// One entry per person.
    pub free: &'a [i32],
}

/// What a visit asks of the crew.
#[derive(Clone, Copy)]
pub(super) struct Demand<'a> {
    /// The chunk's jobs.
    pub jobs: &'a [Job],
    /// Which of them, by bit.
    pub chosen: u16,
    /// Minutes and skill of the set-up; none when the unit is already set up that day.
    pub setup: Option<(i32, SkillSet)>,
    /// Minutes of the chosen jobs and the set-up together.
    pub minutes: i32,
    /// Skills of the chosen jobs and the set-up together.
    pub skills: SkillSet,
}

/// Who does what, by index into the crew.
pub(super) struct Staffing {
    /// Who sets up, if anybody has to.
    pub setup: Option<usize>,
    /// One person per chosen job, in ascending order of bits.
    pub work: Vec<usize>,
}

#[derive(Clone, Copy)]
struct Piece {
    skills: SkillSet,
    minutes: i32,
    able: u32,
    person: usize,
    /// Position among the chosen jobs; the set-up comes last.
    place: usize,
}

const NO_PIECE: Piece = Piece { skills: SkillSet(0), minutes: 0, able: 0, person: 0, place: 0 };

impl Crew<'_> {
    /// Whether the visit can be staffed.
    pub fn can_take(&self, demand: &Demand<'_>) -> bool {
        self.one_person(demand).is_some() || self.several(demand).is_some()
    }

    /// Staffs the visit: by one person if nobody cheaper could do a part of it, else piece by piece.
    pub fn staff(&self, demand: &Demand<'_>) -> Option<Staffing> {
        let jobs = demand.chosen.count_ones() as usize;
        if let Some(person) = self.one_person(demand)
            && !self.anybody_cheaper(demand, person)
        {
            return Some(Staffing { setup: demand.setup.map(|_| person), work: vec![person; jobs] });
        }
        let (pieces, count) = self.several(demand)?;
        let mut staffing = Staffing { setup: None, work: vec![0; jobs] };
        for piece in &pieces[..count] {
            if piece.place < jobs {
                staffing.work[piece.place] = piece.person;
            } else {
                staffing.setup = Some(piece.person);
            }
        }
        Some(staffing)
    }

    /// The cheapest person who can do all of it; among equals the fullest day is topped up.
    fn one_person(&self, demand: &Demand<'_>) -> Option<usize> {
        let mut best: Option<(i64, i32, usize)> = None;
        for (index, (person, &free)) in self.people.iter().zip(self.free).enumerate() {
            if free >= demand.minutes && person.skills.covers(demand.skills) {
                let key = (person.price, free, index);
                if best.is_none_or(|found| key < found) {
                    best = Some(key);
                }
            }
        }
        best.map(|(_, _, index)| index)
    }

    fn anybody_cheaper(&self, demand: &Demand<'_>, than: usize) -> bool {
        let price = self.people[than].price;
        let jobs = ones(demand.chosen).map(|job| (demand.jobs[job].minutes, demand.jobs[job].skills));
        jobs.chain(demand.setup).any(|(minutes, skills)| {
            let mut cheaper = self.people.iter().zip(self.free).take_while(|(person, _)| person.price < price);
            cheaper.any(|(person, &free)| free >= minutes && person.skills.covers(skills))
        })
    }

    fn several(&self, demand: &Demand<'_>) -> Option<([Piece; PIECES_MAX], usize)> {
        if demand.minutes > self.free.iter().sum() {
            return None;
        }
        let mut pieces = [NO_PIECE; PIECES_MAX];
        let mut count = 0;
        let mut add = |skills, minutes| {
            let able = self.able(skills, minutes);
            pieces[count] = Piece { skills, minutes, able, person: 0, place: count };
            count += 1;
            able > 0
        };
        for job in ones(demand.chosen).map(|job| &demand.jobs[job]) {
            if !add(job.skills, job.minutes) {
                return None;
            }
        }
        if let Some((minutes, skills)) = demand.setup
            && !add(skills, minutes)
        {
            return None;
        }
        pieces[..count].sort_by_key(|piece| (piece.able, -piece.minutes, piece.place));
        let mut steps = STEPS_MAX;
        let mut spent = vec![0; self.free.len()];
        self.hand_out(&mut pieces[..count], 0, &mut spent, &mut steps).then_some((pieces, count))
    }

    fn able(&self, skills: SkillSet, minutes: i32) -> u32 {
        let able = self.people.iter().zip(self.free);
        able.filter(|(person, free)| **free >= minutes && person.skills.covers(skills)).count() as u32
    }

    /// Gives pieces `next..` to people: cheap ones first, then those already in the visit.
    fn hand_out(&self, pieces: &mut [Piece], next: usize, spent: &mut [i32], steps: &mut u32) -> bool {
        let Some(&piece) = pieces.get(next) else {
            return true;
        };
        let mut tried = 0u64;
        loop {
            let mut best: Option<(i64, bool, i32, usize)> = None;
            for (index, person) in self.people.iter().enumerate().take(u64::BITS as usize) {
                let left = self.free[index] - spent[index];
                if tried >> index & 1 == 0 && left >= piece.minutes && person.skills.covers(piece.skills) {
                    let elsewhere = pieces[..next].iter().all(|given| given.person != index);
                    let key = (person.price, elsewhere, left, index);
                    if best.is_none_or(|found| key < found) {
                        best = Some(key);
                    }
                }
            }
            let Some((_, _, _, index)) = best else {
                return false;
            };
            if *steps == 0 {
                return false;
            }
            *steps -= 1;
            tried |= 1 << index;
            spent[index] += piece.minutes;
            pieces[next].person = index;
            if self.hand_out(pieces, next + 1, spent, steps) {
                return true;
            }
            spent[index] -= piece.minutes;
        }
    }
}
