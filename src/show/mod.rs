//! Answers laid out: tables, JSON, CSV, pages, mail bodies, calendars.
//!
//! Owns: layout and escaping. Refuses: IO, clocks and deciding what is worth showing.

pub mod binder;
pub mod binder_check;
pub mod calc;
pub mod changes;
pub mod digest_calendar;
pub mod digest_csv;
pub mod digest_mail;
pub mod digest_page;
pub mod digest_text;
pub mod due_table;
mod ical;
pub mod json;
pub mod legible;
pub mod plan;
pub mod plan_calendar;
pub mod plan_why;
pub mod reasons;
pub mod rules;
pub mod sheet;
pub mod sheet_page;
pub mod sheet_text;
pub mod table;
