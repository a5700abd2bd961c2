//! The files of a fleet folder and their columns.
//!
//! Owns: the one list that reading, writing and the user's page (`docs/fleet-folder.md`) are held to.
//! Refuses: what cells mean.

use super::column::Column;
use crate::model::nearest;
use crate::named;

/// A file of a fleet folder, in the order problems are listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FolderFile {
    /// Places units belong to.
    Depots,
    /// Rental units.
    Units,
    /// Gas appliances of units.
    Appliances,
    /// Parts with dates of their own.
    Parts,
    /// Requalification marks on cylinders.
    Marks,
    /// People who do and sign work.
    People,
    /// Gauges.
    Gauges,
    /// Comparisons of gauges with a water column.
    GaugeChecks,
    /// Gas-system tests.
    GasTests,
    /// What was looked at under a rule.
    Checks,
    /// Hires.
    Bookings,
    /// Units kept off rent.
    Holds,
    /// What happened to units.
    Events,
    /// Who works when.
    Calendar,
}

named!(FolderFile, "a file of a fleet folder", {
    Depots = "depots.csv",
    Units = "units.csv",
    Appliances = "appliances.csv",
    Parts = "parts.csv",
    Marks = "marks.csv",
    People = "people.csv",
    Gauges = "gauges.csv",
    GaugeChecks = "gauge_checks.csv",
    GasTests = "gas_tests.csv",
    Checks = "checks.csv",
    Bookings = "bookings.csv",
    Holds = "holds.csv",
    Events = "events.csv",
    Calendar = "calendar.csv",
});

const fn required(name: &'static str) -> Column {
    Column::required(name)
}

const fn optional(name: &'static str) -> Column {
    Column::optional(name)
}

const fn one_of(name: &'static str) -> Column {
    Column::one_of(name)
}

pub(super) const DEPOTS: [Column; 6] = [
    required("depot"),
    optional("name"),
    optional("timezone"),
    optional("elevation_ft").counted_in("feet"),
    optional("rules"),
    optional("digest_to"),
];

pub(super) const UNITS: [Column; 9] = [
    required("unit"),
    required("depot"),
    optional("body"),
    optional("vin"),
    optional("plate"),
    optional("model_year"),
    optional("in_service_on"),
    optional("retired_on"),
    optional("note"),
];

pub(super) const APPLIANCES: [Column; 5] = [
    required("unit"),
    required("appliance"),
    required("btu_h").counted_in("Btu per hour"),
    optional("inlet_min_inwc").counted_in("inches of water column"),
    optional("inlet_max_inwc").counted_in("inches of water column"),
];

pub(super) const PARTS: [Column; 10] = [
    required("part"),
    optional("unit"),
    required("kind"),
    optional("position"),
    optional("spec"),
    optional("serial"),
    optional("made"),
    optional("fitted_on"),
    optional("replace_by"),
    optional("note"),
];

/// `stamp` stands last: it is read and never written, since what it says is written as month, method and rin.
pub(super) const MARKS: [Column; 5] =
    [required("part"), one_of("month"), one_of("method"), optional("rin"), one_of("stamp")];

/// The columns of marks.csv as it is written.
pub(super) const MARKS_WRITTEN: [Column; 4] = [MARKS[0], MARKS[1], MARKS[2], MARKS[3]];

pub(super) const PEOPLE: [Column; 6] = [
    required("person"),
    optional("name"),
    optional("email"),
    optional("skills"),
    optional("rin"),
    optional("credential_until"),
];

pub(super) const GAUGES: [Column; 4] = [
    required("gauge"),
    required("kind"),
    optional("resolution_inwc").counted_in("inches of water column"),
    optional("note"),
];

pub(super) const GAUGE_CHECKS: [Column; 5] =
    [required("gauge"), required("on"), optional("by"), required("reading"), required("reference")];

/// The last four are written only where a test has one of them; without them a creeping regulator's later readings
/// would be lost on the way, and its test pass.
pub(super) const GAS_TESTS: [Column; 18] = [
    required("unit"),
    required("on"),
    optional("by"),
    optional("gauge"),
    optional("tap"),
    optional("lockup"),
    optional("flow"),
    optional("load").counted_in("percent"),
    optional("drop_start"),
    optional("drop_end"),
    optional("minutes").counted_in("minutes"),
    optional("air_f").counted_in("degrees Fahrenheit"),
    optional("air_after_f").counted_in("degrees Fahrenheit"),
    optional("elevation_ft").counted_in("feet"),
    optional("method"),
    optional("lockup_later"),
    optional("drop_between"),
    optional("vent"),
];

/// The columns of gas_tests.csv where no test has any of the last four.
pub(super) const GAS_TESTS_PLAIN: [Column; 14] = {
    let [
        unit,
        on,
        by,
        gauge,
        tap,
        lockup,
        flow,
        load,
        drop_start,
        drop_end,
        minutes,
        air_f,
        air_after_f,
        elevation_ft,
        ..,
    ] = GAS_TESTS;
    [unit, on, by, gauge, tap, lockup, flow, load, drop_start, drop_end, minutes, air_f, air_after_f, elevation_ft]
};

pub(super) const CHECKS: [Column; 7] = [
    required("unit"),
    optional("part"),
    required("on"),
    optional("by"),
    required("rule"),
    required("result"),
    optional("note"),
];

pub(super) const BOOKINGS: [Column; 4] =
    [required("booking"), required("unit"), required("out_on"), required("back_on")];

pub(super) const HOLDS: [Column; 5] =
    [required("unit"), required("placed_on"), required("reason"), optional("lifted_on"), optional("lifted_because")];

pub(super) const EVENTS: [Column; 4] = [required("unit"), required("on"), required("event"), optional("note")];

pub(super) const CALENDAR: [Column; 5] =
    [required("depot"), optional("person"), one_of("weekday"), one_of("on"), required("minutes").counted_in("minutes")];

impl FolderFile {
    /// Its columns, in the order they are written. `stamp` of marks.csv is read only; the last four of gas_tests.csv are
    /// written only where needed.
    #[must_use]
    pub fn columns(self) -> &'static [Column] {
        match self {
            Self::Depots => &DEPOTS,
            Self::Units => &UNITS,
            Self::Appliances => &APPLIANCES,
            Self::Parts => &PARTS,
            Self::Marks => &MARKS,
            Self::People => &PEOPLE,
            Self::Gauges => &GAUGES,
            Self::GaugeChecks => &GAUGE_CHECKS,
            Self::GasTests => &GAS_TESTS,
            Self::Checks => &CHECKS,
            Self::Bookings => &BOOKINGS,
            Self::Holds => &HOLDS,
            Self::Events => &EVENTS,
            Self::Calendar => &CALENDAR,
        }
    }

    /// Sets of columns of which one must be there besides the required ones; empty where there is no choice.
    pub(super) fn choices(self) -> &'static [&'static [&'static str]] {
        match self {
            Self::Marks => &[&["month", "method"], &["stamp"]],
            Self::Calendar => &[&["weekday"], &["on"]],
            _ => &[],
        }
    }

    /// True where a fleet folder cannot do without it.
    #[must_use]
    pub fn must_be_there(self) -> bool {
        matches!(self, Self::Units | Self::Parts)
    }

    /// True where it is written even when it holds no rows.
    #[must_use]
    pub fn always_written(self) -> bool {
        matches!(self, Self::Depots | Self::Units | Self::Parts)
    }

    /// The column called `name`; case and surrounding spaces do not matter.
    pub(super) fn column(self, name: &str) -> Option<usize> {
        let name = name.trim();
        self.columns().iter().position(|column| column.name.eq_ignore_ascii_case(name))
    }

    /// The column most like `name`, if one is near enough.
    pub(super) fn nearest_column(self, name: &str) -> Option<&'static str> {
        nearest(name, self.columns().iter().map(|column| column.name))
    }
}
