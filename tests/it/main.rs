//! Outcomes of the whole library, table by table and snapshot by snapshot.
//!
//! Owns: one binary for all of them, so that they are linked once. Refuses: testing by mirror; expectations come from
//! outside the code.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod binder;
mod book_facts;
mod book_replay;
mod calc;
mod calc_judge;
mod calculator;
mod closeout_forms;
mod closeout_interactive;
mod commands;
mod crash;
mod cylinder_cases;
mod digest_content;
mod digest_facts;
mod digest_hostile;
mod digest_mail;
mod disaster;
mod due_basis;
mod fault;
mod folder;
mod folder_fleets;
mod folder_round_trip;
mod folder_speed;
mod fuzz;
mod gas_cases;
mod gas_physics;
mod gas_properties;
mod gas_readings;
mod journal_tampering;
mod journal_void;
mod json_schemas;
mod known_on;
mod months;
mod outbox;
mod plan_cases;
mod plan_exact;
mod plan_explained;
mod plan_fleet;
mod plan_instances;
mod plan_micro;
mod plan_promises;
mod plan_properties;
mod plan_refused;
mod plan_shortage;
mod program;
mod readme;
mod refusals;
mod rules;
mod rules_broken;
mod rules_house;
mod schedule;
mod settings;
mod sheet;
mod shell;
mod smtp;
mod smtp_sink;
mod stamp_cases;
mod table_width;
mod terminal;
mod tidy;
mod visit_file;
mod watch;
