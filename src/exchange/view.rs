//! A whole fleet, as it is written out.
//!
//! Owns: which lists there are. Refuses: where they come from; the command that exports fills them from the book.

use super::table::FolderFile;
use crate::model::{
    Appliance, Booking, CalendarLine, Check, Depot, Event, GasTest, Gauge, GaugeCheck, Hold, Mark, Part, Person, Unit,
};

/// Everything a fleet folder holds. The order within a list does not matter, but for facts of one unit, gauge or
/// cylinder on one day, which stay in the order given.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FleetView {
    /// Depots.
    pub depots: Vec<Depot>,
    /// Units, retired ones too.
    pub units: Vec<Unit>,
    /// Appliances.
    pub appliances: Vec<Appliance>,
    /// Parts in service and on the shelf.
    pub parts: Vec<Part>,
    /// Requalification marks.
    pub marks: Vec<Mark>,
    /// People.
    pub people: Vec<Person>,
    /// Gauges.
    pub gauges: Vec<Gauge>,
    /// Gauge checks.
    pub gauge_checks: Vec<GaugeCheck>,
    /// Gas tests.
    pub gas_tests: Vec<GasTest>,
    /// Checks.
    pub checks: Vec<Check>,
    /// Hires.
    pub bookings: Vec<Booking>,
    /// Holds by decision, lifted ones too.
    pub holds: Vec<Hold>,
    /// Events.
    pub events: Vec<Event>,
    /// Working hours.
    pub calendar: Vec<CalendarLine>,
}

impl FleetView {
    /// How many rows `file` has.
    #[must_use]
    pub fn count(&self, file: FolderFile) -> usize {
        match file {
            FolderFile::Depots => self.depots.len(),
            FolderFile::Units => self.units.len(),
            FolderFile::Appliances => self.appliances.len(),
            FolderFile::Parts => self.parts.len(),
            FolderFile::Marks => self.marks.len(),
            FolderFile::People => self.people.len(),
            FolderFile::Gauges => self.gauges.len(),
            FolderFile::GaugeChecks => self.gauge_checks.len(),
            FolderFile::GasTests => self.gas_tests.len(),
            FolderFile::Checks => self.checks.len(),
            FolderFile::Bookings => self.bookings.len(),
            FolderFile::Holds => self.holds.len(),
            FolderFile::Events => self.events.len(),
            FolderFile::Calendar => self.calendar.len(),
        }
    }
}
