//! Pigtail keeps the LP-gas systems of a rental recreational-vehicle fleet in date, tested and provable.
//!
//! Modules in reading order: [`model`] (nouns), [`rules`] (what falls due), [`due`] (when, and why),
//! [`journal`] (facts in order), [`book`] (the file), [`exchange`] (spreadsheets), [`digest`] and [`post`] (mail),
//! [`show`] (text, JSON, HTML), [`cli`] (arguments to output). Who may import whom stands in `DEVELOPERS.md` and is
//! enforced by a test.

pub mod book;
pub mod cli;
pub mod digest;
pub mod due;
pub mod exchange;
pub mod gastest;
pub mod journal;
pub mod model;
pub mod plan;
pub mod post;
pub mod rules;
pub mod show;
