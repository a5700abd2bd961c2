//! Every test of the project, in one binary.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod folder;
mod folder_round_trip;
mod folder_speed;
