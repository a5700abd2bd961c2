//! What one recipient is told, in the order they are told it.
//!
//! Owns: grouping, order and counting: worst first, undated counted beside overdue. Refuses: words and layout.

use super::facts::{Crossing, DepotFacts, Facts, HoldLine, ItemKey, JournalHead, Known, Previous, Undelivered};
use super::remedy::closing_command;
use crate::due::{Item, Late, State};
use crate::model::{BookingCode, Day, Depot, DepotCode, Text, UnitCode};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

/// How many days ahead a digest looks.
pub const HORIZON_DAYS: i64 = 30;

/// One item with what the day makes of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The item.
    pub item: Item,
    /// How it stands.
    pub state: State,
    /// Days to its last good day, negative once overdue; none where undated.
    pub days: Option<i64>,
    /// The day promised for it, if one is.
    pub planned: Option<Promise>,
    /// What to type when it is done, word by word.
    pub command: Vec<String>,
    /// True where it was not known, or not as bad, in the last digest.
    pub fresh: bool,
}

/// The day promised for an item's work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Promise {
    /// The day.
    pub on: Day,
    /// True where it has passed and the work is not recorded.
    pub missed: bool,
}

/// Overdue items of which being late means the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// What it means.
    pub late: Late,
    /// The items, longest overdue first.
    pub lines: Vec<Line>,
}

/// A unit on hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Held {
    /// Which, since when and why.
    pub hold: HoldLine,
    /// For how many days.
    pub days: i64,
}

/// How many of each.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// Items past their last day.
    pub overdue: usize,
    /// Items of which a fact is missing.
    pub undated: usize,
    /// Items that fall due within [`HORIZON_DAYS`].
    pub due: usize,
    /// Units with anything overdue or undated.
    pub units: usize,
    /// Units on hold.
    pub held: usize,
    /// Bookings that cross a due date.
    pub crossing: usize,
}

/// What changed since the last digest to the same recipient.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Changes {
    /// The day that digest spoke of.
    pub since: Day,
    /// How many items went overdue.
    pub newly_overdue: usize,
    /// How many are newly found to lack a fact.
    pub newly_undated: usize,
    /// How many came within the horizon.
    pub newly_due: usize,
    /// Items it named that are now in date, have a later last day, or are gone.
    pub closed_out: Vec<ItemKey>,
}

/// What is said of one depot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DepotDigest {
    /// Its code.
    pub depot: DepotCode,
    /// What people call it.
    pub name: Text,
    /// How many of each.
    pub counts: Counts,
    /// What is overdue, gravest first.
    pub overdue: Vec<Group>,
    /// What lacks a fact.
    pub undated: Vec<Line>,
    /// What falls due within the horizon, soonest first.
    pub coming: Vec<Line>,
    /// Units on hold, longest first.
    pub holds: Vec<Held>,
    /// Bookings that cross a due date, soonest first.
    pub crossings: Vec<Crossing>,
}

/// What one recipient is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Digest {
    /// The day it speaks of.
    pub as_of: Day,
    /// The last day it looks ahead to.
    pub until: Day,
    /// How many of each, over all depots and the general items.
    pub counts: Counts,
    /// What changed; none in the first digest.
    pub changes: Option<Changes>,
    /// Depots, worst first.
    pub depots: Vec<DepotDigest>,
    /// Gauges and credentials that have run out or will.
    pub general: Vec<Line>,
    /// Digests of others that never arrived.
    pub undelivered: Vec<Undelivered>,
    /// Where the journal ended when it was made.
    pub head: JournalHead,
}

impl Digest {
    /// Makes the digest of some facts.
    #[must_use]
    pub fn of(facts: Facts) -> Self {
        let as_of = facts.as_of;
        let until = as_of.plus_days(HORIZON_DAYS);
        let known: Option<BTreeMap<ItemKey, State>> = facts
            .since
            .as_ref()
            .map(|previous| previous.items.iter().map(|known| (known.item.clone(), known.state)).collect());
        let planned = facts.planned;
        let to_lines = |items: Vec<Item>| {
            let mut lines: Vec<Line> =
                items.into_iter().filter_map(|item| Line::of(item, as_of, until, known.as_ref())).collect();
            for line in &mut lines {
                line.planned = planned.of(&line.item).map(|on| Promise { on, missed: on < as_of });
            }
            lines.sort_by(|a, b| a.order().cmp(&b.order()));
            lines
        };
        let general = to_lines(facts.general);
        let mut depots: Vec<DepotDigest> = facts
            .depots
            .into_iter()
            .map(|DepotFacts { depot, items, holds, crossings }| {
                DepotDigest::new(as_of, depot, to_lines(items), holds, crossings)
            })
            .collect();
        depots.sort_by(|a, b| a.gravity().cmp(&b.gravity()).then_with(|| a.depot.cmp(&b.depot)));
        let mut digest = Self {
            as_of,
            until,
            counts: Counts::default(),
            changes: None,
            depots,
            general,
            undelivered: facts.undelivered,
            head: facts.head,
        };
        digest.counts = digest.count();
        digest.changes = facts.since.map(|previous| digest.changes_since(previous));
        digest
    }

    /// Every item it names: those of the depots in their order, then the general ones.
    pub fn lines(&self) -> impl Iterator<Item = &Line> {
        self.depots.iter().flat_map(DepotDigest::lines).chain(&self.general)
    }

    /// What to keep of it, so that the next digest can say what changed.
    #[must_use]
    pub fn to_keep(&self) -> Previous {
        let known = |line: &Line| Known { item: ItemKey::of(&line.item), state: line.state, due_on: line.item.due_on };
        Previous { as_of: self.as_of, items: self.lines().map(known).collect() }
    }

    /// True where there is nothing to act on.
    #[must_use]
    pub fn is_quiet(&self) -> bool {
        self.counts == Counts::default() && self.undelivered.is_empty()
    }

    fn count(&self) -> Counts {
        let general = Counts::of_lines(&self.general);
        self.depots.iter().fold(general, |sum, depot| Counts {
            overdue: sum.overdue + depot.counts.overdue,
            undated: sum.undated + depot.counts.undated,
            due: sum.due + depot.counts.due,
            units: sum.units + depot.counts.units,
            held: sum.held + depot.counts.held,
            crossing: sum.crossing + depot.counts.crossing,
        })
    }

    fn changes_since(&self, previous: Previous) -> Changes {
        let now: BTreeMap<ItemKey, &Line> = self.lines().map(|line| (ItemKey::of(&line.item), line)).collect();
        let done =
            |known: &Known| now.get(&known.item).is_none_or(|line| line.is_coming() && line.is_later_than(known));
        let fresh = |state| self.lines().filter(|line| line.fresh && line.state == state).count();
        let coming = self.lines().filter(|line| line.fresh && line.is_coming()).count();
        Changes {
            since: previous.as_of,
            newly_overdue: fresh(State::Overdue),
            newly_undated: fresh(State::Undated),
            newly_due: coming,
            closed_out: previous.items.into_iter().filter(done).map(|known| known.item).collect(),
        }
    }
}

impl DepotDigest {
    fn new(as_of: Day, depot: Depot, lines: Vec<Line>, holds: Vec<HoldLine>, mut crossings: Vec<Crossing>) -> Self {
        let bookings: BTreeSet<&BookingCode> = crossings.iter().map(|crossing| &crossing.booking).collect();
        let counts = Counts { held: holds.len(), crossing: bookings.len(), ..Counts::of_lines(&lines) };
        let mut groups: BTreeMap<Late, Vec<Line>> = BTreeMap::new();
        let (mut undated, mut coming) = (Vec::new(), Vec::new());
        for line in lines {
            match line.state {
                State::Overdue => groups.entry(line.item.late).or_default().push(line),
                State::Undated => undated.push(line),
                State::Due | State::InDate => coming.push(line),
            }
        }
        let mut holds: Vec<Held> =
            holds.into_iter().map(|hold| Held { days: hold.placed_on.days_until(as_of), hold }).collect();
        holds.sort_by(|a, b| (Reverse(a.days), &a.hold.unit).cmp(&(Reverse(b.days), &b.hold.unit)));
        crossings.sort_by(|a, b| (a.out_on, &a.unit, &a.booking).cmp(&(b.out_on, &b.unit, &b.booking)));
        let overdue = groups.into_iter().map(|(late, lines)| Group { late, lines }).collect();
        Self { depot: depot.depot, name: depot.name, counts, overdue, undated, coming, holds, crossings }
    }

    /// Every item it names, in order.
    pub fn lines(&self) -> impl Iterator<Item = &Line> {
        self.overdue.iter().flat_map(|group| &group.lines).chain(&self.undated).chain(&self.coming)
    }

    /// Sorts the worst first: most that keep units off rent, then most overdue, on hold and due.
    fn gravity(&self) -> Reverse<[usize; 4]> {
        let off_rent: usize =
            self.overdue.iter().filter(|group| group.late == Late::OffRent).map(|group| group.lines.len()).sum();
        let Counts { overdue, undated, due, held, .. } = self.counts;
        Reverse([off_rent + undated, overdue, held, due])
    }
}

impl Line {
    /// The line of an item, or none where it is in date beyond the horizon.
    fn of(item: Item, as_of: Day, until: Day, known: Option<&BTreeMap<ItemKey, State>>) -> Option<Self> {
        if item.due_on.is_some_and(|due_on| due_on > until) {
            return None;
        }
        let state = item.state(as_of);
        let fresh = known.is_some_and(|known| match known.get(&ItemKey::of(&item)) {
            None => true,
            Some(State::Due | State::InDate) => matches!(state, State::Overdue | State::Undated),
            Some(before) => matches!(state, State::Overdue | State::Undated) && *before != state,
        });
        Some(Self { days: item.days(as_of), planned: None, command: closing_command(&item), state, fresh, item })
    }

    /// True where it is in date still, but not beyond the horizon.
    #[must_use]
    pub fn is_coming(&self) -> bool {
        matches!(self.state, State::Due | State::InDate)
    }

    /// True where work done since has moved its last day: only work or a found fact can.
    fn is_later_than(&self, known: &Known) -> bool {
        match (self.item.due_on, known.due_on) {
            (Some(now), Some(before)) => now > before,
            (Some(_), None) => true,
            (None, _) => false,
        }
    }

    fn order(&self) -> impl Ord + '_ {
        (self.item.due_on, &self.item.unit, &self.item.part, &self.item.rule)
    }
}

impl Counts {
    fn of_lines(lines: &[Line]) -> Self {
        let of = |state| lines.iter().filter(|line| line.state == state).count();
        let lapsed: BTreeSet<&UnitCode> =
            lines.iter().filter(|line| !line.is_coming()).filter_map(|line| line.item.unit.as_ref()).collect();
        Self {
            overdue: of(State::Overdue),
            undated: of(State::Undated),
            due: lines.iter().filter(|line| line.is_coming()).count(),
            units: lapsed.len(),
            ..Self::default()
        }
    }
}
