//! A whole fleet as a set of lists, the way it is written out and read back.
//!
//! Owns: which lists there are. Refuses: where they come from.

use super::{
    Appliance, Booking, CalendarLine, Check, Depot, Event, GasTest, Gauge, GaugeCheck, Hold, Mark, Part, Person, Unit,
};

/// Everything a fleet folder holds. The order within a list does not matter, but for facts of one unit, gauge or
/// cylinder on one day, which stay in the order given.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Fleet {
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
