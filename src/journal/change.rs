//! What can enter the journal.
//!
//! Owns: the closed list of changes and their written form (JSON, one object a change). Refuses: removal. A wrong
//! entry is struck by a later [`Change::Void`], which every variant allows unless a later fact rests on it.

use crate::model::{
    Appliance, Booking, BookingCode, CalendarLine, Check, Day, Depot, DepotCode, Event, GasTest, Gauge, GaugeCheck,
    Hold, KeptVisit, Mark, PackId, Part, PartCode, Person, PersonCode, Text, Unit, UnitCode, Verdict,
};
use serde::{Deserialize, Serialize};

/// One fact, as written into the journal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "change", rename_all = "kebab-case")]
pub enum Change {
    /// A depot is as stated from now on.
    Depot(Depot),
    /// A unit is as stated from now on.
    Unit(Unit),
    /// An appliance of a unit is as stated from now on.
    Appliance(Appliance),
    /// A part is as stated from now on.
    Part(Part),
    /// A person is as stated from now on.
    Person(Person),
    /// A gauge is as stated from now on.
    Gauge(Gauge),
    /// Working minutes are as stated from now on.
    Calendar(CalendarLine),
    /// A requalification mark was read on a cylinder.
    Mark(Mark),
    /// A gauge was compared with a water column.
    GaugeCheck(GaugeCheck),
    /// A gas test was made. The verdict is the one given when it was recorded, under the limits then in force.
    GasTest {
        /// Readings.
        #[serde(flatten)]
        test: GasTest,
        /// What they were judged to show.
        verdict: Verdict,
        /// Why, one sentence a finding that is not a plain pass.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        because: Vec<Text>,
    },
    /// Something was looked at under a rule.
    Check(Check),
    /// Something happened to a unit.
    Event(Event),
    /// A unit is kept off rent by somebody's decision. Holds that follow from a failed test or check are not entered:
    /// they stand as long as the last conclusive test or check is a failed one.
    Hold(Hold),
    /// A hold ends.
    HoldLifted {
        /// The unit.
        unit: UnitCode,
        /// The entry that placed it.
        hold: u64,
        /// From which day on it is lifted.
        on: Day,
        /// Why.
        because: Text,
    },
    /// A unit is hired out.
    Booking(Booking),
    /// A hire will not happen.
    BookingCancelled {
        /// Which.
        booking: BookingCode,
    },
    /// A part was put on a unit.
    PartFitted {
        /// The part.
        part: PartCode,
        /// The unit.
        unit: UnitCode,
        /// Where on it.
        position: Text,
        /// When.
        on: Day,
    },
    /// A part was taken off its unit and is on the shelf.
    PartPulled {
        /// The part.
        part: PartCode,
        /// When.
        on: Day,
    },
    /// A part is gone for good.
    PartScrapped {
        /// The part.
        part: PartCode,
        /// When.
        on: Day,
        /// Why.
        because: Text,
    },
    /// A unit belongs to another depot from now on.
    UnitMoved {
        /// The unit.
        unit: UnitCode,
        /// Where to.
        depot: DepotCode,
        /// When.
        on: Day,
    },
    /// A unit left the fleet.
    UnitRetired {
        /// The unit.
        unit: UnitCode,
        /// When.
        on: Day,
        /// Why.
        because: Text,
    },
    /// A visit to a unit was closed out; the facts found on it are the entries that follow in the same transaction.
    VisitClosed {
        /// The unit.
        unit: UnitCode,
        /// When.
        on: Day,
        /// By whom.
        by: PersonCode,
        /// Anything else.
        #[serde(default, skip_serializing_if = "Text::is_blank")]
        note: Text,
    },
    /// The visits promised to a unit are as stated from now on; none where the list is empty.
    VisitsKept {
        /// The unit.
        unit: UnitCode,
        /// By day.
        visits: Vec<KeptVisit>,
    },
    /// House rules for a pack stand in place of earlier ones.
    HouseRules {
        /// The pack they change.
        pack: PackId,
        /// The whole TOML text.
        toml: String,
    },
    /// An earlier entry is struck out. It stays visible.
    Void {
        /// Which entry.
        seq: u64,
        /// Why.
        because: Text,
    },
}

/// What a command asks the book to record.
#[derive(Debug, Clone, PartialEq)]
pub enum Fact {
    /// A change as it will stand in the journal.
    Change(Change),
    /// A gas test; the book judges it as it records it, against the gauge and the appliances it then knows.
    Test(GasTest),
}

impl From<Change> for Fact {
    fn from(change: Change) -> Self {
        Self::Change(change)
    }
}
