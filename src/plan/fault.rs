//! Why an instance is refused.
//!
//! Owns: the closed list of faults and their wording, each naming the record and the field. Refuses: repairs.

use std::fmt;

use super::instance::INSTANCE_FORMAT;

/// Which list of the instance a record is in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RecordKind {
    /// `depots`
    Depot,
    /// `technicians`
    Technician,
    /// `units`
    Unit,
    /// `items`
    Item,
    /// `bookings`
    Booking,
    /// `pins`
    Pin,
    /// The instance's own fields.
    Instance,
}

impl fmt::Display for RecordKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            RecordKind::Depot => "depot",
            RecordKind::Technician => "technician",
            RecordKind::Unit => "unit",
            RecordKind::Item => "item",
            RecordKind::Booking => "booking",
            RecordKind::Pin => "pin of unit",
            RecordKind::Instance => "instance field",
        })
    }
}

/// Why an instance is refused.
#[derive(Debug, thiserror::Error)]
pub enum InstanceError {
    /// Not JSON, or a field is missing or of the wrong type.
    #[error("not a planning instance: {source}")]
    Json {
        /// What the parser found, with line and column.
        #[from]
        source: serde_json::Error,
    },
    /// `format` is something else.
    #[error("format is `{}`, expected `{INSTANCE_FORMAT}`", .found.escape_debug())]
    Format {
        /// What it says.
        found: String,
    },
    /// Two records of one list share an id.
    #[error("{record} `{}` appears twice", .id.escape_debug())]
    Duplicate {
        /// The list.
        record: RecordKind,
        /// The id.
        id: String,
    },
    /// A record points at a record that is not there.
    #[error("{record} `{}` names {target} `{}`, which is not in the instance", .id.escape_debug(), .missing.escape_debug())]
    Unknown {
        /// The list of the pointing record.
        record: RecordKind,
        /// Its id.
        id: String,
        /// The list pointed into.
        target: RecordKind,
        /// The id that is not there.
        missing: String,
    },
    /// A number is outside the range the planner can add up exactly.
    #[error("{record} `{}`: {field} is {value}, outside {low} to {high}", .id.escape_debug())]
    OutOfRange {
        /// The list.
        record: RecordKind,
        /// The record's id.
        id: String,
        /// The field's name in the format.
        field: &'static str,
        /// What it holds.
        value: i64,
        /// The least it may hold.
        low: i64,
        /// The most it may hold.
        high: i64,
    },
    /// A list is longer than any real one: every entry costs memory for each day planned.
    #[error("{count} records in the list of {record}s; at most {most} can be planned")]
    TooMany {
        /// The list.
        record: RecordKind,
        /// How long it is.
        count: usize,
        /// How long it may be.
        most: usize,
    },
    /// A pin names an item of another unit.
    #[error("pin of unit `{}` names item `{}`, which belongs to another unit", .unit.escape_debug(), .item.escape_debug())]
    PinOfAnotherUnit {
        /// The pin's unit.
        unit: String,
        /// The item.
        item: String,
    },
    /// An item is pinned to two days.
    #[error("item `{}` is pinned to two days", .item.escape_debug())]
    PinnedTwice {
        /// The item.
        item: String,
    },
    /// More distinct skills than a set can hold.
    #[error("skill `{}` is one too many: {most} distinct skills can be planned", .skill.escape_debug())]
    TooManySkills {
        /// The skill that no longer fits.
        skill: String,
        /// How many fit.
        most: u32,
    },
}
