//! What is on record of a unit when somebody stands before it.
//!
//! Owns: gathering it once, and which kind of work settles an item. Refuses: due dates, which the book keeps.

use crate::book::{Book, DueFilter};
use crate::cli::complaint::Complaint;
use crate::due::{Item, ItemKind, State};
use crate::model::{Appliance, Day, DropMethod, GasLimits, Gauge, Mark, PackId, Part, PartCode, Person, RuleId, Unit};
use crate::rules::{FactKind, Pack, Period};
use crate::show::reasons::standing;
use std::collections::BTreeMap;

/// The work that settles a due item.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Work {
    /// A gas test.
    Test,
    /// A look, written down as a check.
    Check,
    /// A requalification mark.
    Mark,
    /// A new part.
    Replacement,
}

/// A unit and everything about it that a visit may need.
#[derive(Debug, Clone)]
pub struct Scene {
    /// The unit.
    pub unit: Unit,
    /// Today.
    pub today: Day,
    /// Its appliances.
    pub appliances: Vec<Appliance>,
    /// Parts on it.
    pub parts: Vec<Part>,
    /// Marks on those that have any, oldest first.
    pub marks: BTreeMap<PartCode, Vec<Mark>>,
    /// Its due items, those of its parts too.
    pub items: Vec<Item>,
    /// Everybody.
    pub people: Vec<Person>,
    /// Every gauge.
    pub gauges: Vec<Gauge>,
    /// When each gauge is to be checked.
    pub gauge_items: Vec<Item>,
    /// The rules the unit is under.
    pub pack: Pack,
}

impl Scene {
    /// The scene at `unit` on `today`.
    ///
    /// # Errors
    /// [`Complaint`] where the fleet file cannot be read.
    pub fn of(book: &Book, unit: Unit, today: Day) -> Result<Self, Complaint> {
        let parts = book.parts_on(&unit.unit)?;
        let mut marks = BTreeMap::new();
        for part in parts.iter().filter(|part| part.kind.takes_marks()) {
            let found = book.marks(&part.part)?;
            if !found.is_empty() {
                marks.insert(part.part.clone(), found);
            }
        }
        let of_unit = DueFilter { unit: Some(unit.unit.clone()), ..DueFilter::default() };
        let of_gauges = DueFilter { kind: Some(ItemKind::Gauge), ..DueFilter::default() };
        let pack = book.depot(&unit.depot)?.map_or(PackId::default(), |depot| depot.rules);
        Ok(Self {
            appliances: book.appliances(&unit.unit)?,
            items: book.due_items(&of_unit, today)?,
            people: book.people()?,
            gauges: book.gauges()?,
            gauge_items: book.due_items(&of_gauges, today)?,
            pack: book.rules().pack(pack).clone(),
            unit,
            today,
            parts,
            marks,
        })
    }

    /// Items that are overdue, undated or inside their notice.
    pub fn due(&self) -> impl Iterator<Item = &Item> {
        self.items.iter().filter(|item| item.state(self.today) != State::InDate)
    }

    /// The item about the gas test, where the rules ask for one.
    #[must_use]
    pub fn gas_item(&self) -> Option<&Item> {
        self.items.iter().find(|item| item.rule == RuleId::gas_test())
    }

    /// Items that are due and settled by this kind of work.
    pub fn due_by(&self, work: Work) -> impl Iterator<Item = &Item> {
        self.due().filter(move |item| self.settled_by(item) == work)
    }

    /// The kind of work that settles an item.
    #[must_use]
    pub fn settled_by(&self, item: &Item) -> Work {
        if item.rule == RuleId::gas_test() {
            return Work::Test;
        }
        let cases = self.pack.rule(&item.rule).map(|rule| rule.cases.as_slice()).unwrap_or_default();
        let starts = |wanted: &dyn Fn(FactKind) -> bool| {
            cases.iter().any(|case| match &case.period {
                Period::Intervals { after, .. } => after.keys().any(|kind| wanted(*kind)),
                Period::Undated(_) | Period::Exempt => false,
            })
        };
        if starts(&|kind| kind == FactKind::Pass) {
            Work::Check
        } else if starts(&|_| true) {
            Work::Mark
        } else {
            Work::Replacement
        }
    }

    /// Parts whose collar is to be looked at: every LP-gas cylinder, and whatever else a mark is due on.
    pub fn marked_parts(&self) -> impl Iterator<Item = &Part> {
        self.parts.iter().filter(|part| part.kind.takes_marks()).filter(|part| {
            ItemKind::from(part.kind) == ItemKind::Cylinder
                || self.due_by(Work::Mark).any(|item| item.part.as_ref() == Some(&part.part))
        })
    }

    /// The timed drop taken where nobody says otherwise.
    #[must_use]
    pub fn usual_method(&self) -> DropMethod {
        self.pack.limits.method
    }

    /// How long a timed drop is held at least, minutes.
    #[must_use]
    pub fn minutes_of(&self, method: DropMethod) -> f64 {
        let GasLimits { three_test_minutes, air_minutes, g607_minutes, .. } = &self.pack.limits;
        match method {
            DropMethod::ThreeTest => three_test_minutes.value,
            DropMethod::Air1014 => air_minutes.value,
            DropMethod::G607 => g607_minutes.value,
        }
    }

    /// A part in a few words: code, kind, place, specification, make date.
    #[must_use]
    pub fn part_in_words(&self, part: &Part) -> String {
        let mut words = format!("{} {}", part.kind, part.part);
        for more in [part.position.as_str(), part.spec.as_str()].into_iter().filter(|more| !more.is_empty()) {
            words.push_str(", ");
            words.push_str(more);
        }
        match part.made {
            Some(made) => words.push_str(&format!(", made {made}")),
            None => words.push_str(", make date not known"),
        }
        words
    }

    /// How an item stands, in words.
    #[must_use]
    pub fn standing(&self, item: &Item) -> String {
        standing(item, self.today)
    }

    /// How a gauge's check against a water column stands; none where its kind needs none.
    #[must_use]
    pub fn gauge_standing(&self, gauge: &Gauge) -> Option<String> {
        let item = self
            .gauge_items
            .iter()
            .find(|item| item.part.as_ref().is_some_and(|part| part.as_str() == gauge.gauge.as_str()))?;
        Some(self.standing(item))
    }
}
