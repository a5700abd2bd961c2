//! The nouns of the trade and what must always be true of them.
//!
//! Owns: parsing of every code, date, mark and reading into a type that cannot hold nonsense.
//! Refuses: due dates (that is `due`), judgement of readings (that is `gastest`), storage, clocks, text layout.

pub mod calendar;
pub mod code;
pub mod day;
pub mod depot;
pub mod extent;
pub mod fleet;
pub mod gas_limits;
pub mod gauge;
pub mod kept;
pub mod mark;
pub mod names;
pub mod occurrence;
pub mod part;
pub mod person;
pub mod pressure;
pub mod quantity;
pub mod surroundings;
pub mod test;
pub mod text;
pub mod unit;
pub mod vin;

pub use calendar::{CalendarLine, DayOrWeekday};
pub use code::{BookingCode, CodeError, DepotCode, GaugeCode, PartCode, PersonCode, UnitCode};
pub use day::{Dated, Day, DayError, Month, Span};
pub use depot::{Depot, Email, PackId};
pub use extent::{Length, Volume};
pub use fleet::Fleet;
pub use gas_limits::{GasLimits, Limit, LimitError, SpanLimit};
pub use gauge::{Gauge, GaugeCheck, GaugeKind};
pub use kept::{KeptVisit, KeptWork};
pub use mark::{Mark, MarkError, Method, Rin, Stamp};
pub use names::{NameError, Named, nearest};
pub use occurrence::{Booking, Check, CheckResult, Event, EventKind, Hold, RuleId, RuleIdError};
pub use part::{Part, PartKind, Service};
pub use person::{Person, Skill};
pub use pressure::{Pressure, PressureUnit, ReadingError};
pub use quantity::{QuantityError, rounded};
pub use surroundings::{Elevation, Temperature};
pub use test::{DropMethod, GasTest, Reading, Tap, TimedReading, Vent, Verdict};
pub use text::{Text, TextError};
pub use unit::{Appliance, Unit};
pub use vin::{Vin, VinError};
