//! How much of a fleet goes into each file.
//!
//! Owns: counts. Refuses: the fleet itself, which is the model's.

use super::table::FolderFile;
use crate::model::Fleet;

impl Fleet {
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
