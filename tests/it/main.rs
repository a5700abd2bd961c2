//! One test binary: every test of the library and of the program.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod rules;
