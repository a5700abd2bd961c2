//! Outcomes of the whole program, in one binary.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod calc;
mod calc_judge;
mod calculator;
mod gas_cases;
mod gas_physics;
mod gas_properties;
mod gas_readings;
