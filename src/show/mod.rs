//! Answers laid out: tables, JSON, CSV, pages, mail bodies, calendars.
//!
//! Owns: layout and escaping. Refuses: IO, clocks and deciding what is worth showing.

pub mod digest_mail;
