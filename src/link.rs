//! How the program is linked.
//!
//! Owns: that on Linux it is laid out at a fixed address. Refuses: everything else.

#![expect(clippy::print_stdout, reason = "this is how a build script speaks to cargo")]

fn main() {
    println!("cargo:rerun-if-changed=src/link.rs");
    // The time-zone tables hold 29,000 addresses. In a program that can lie anywhere the loader writes every one of them,
    // and 300 pages, before the first instruction: two thirds of what a short command takes. docs/security.md says what
    // this gives up.
    if std::env::var("CARGO_CFG_TARGET_OS").is_ok_and(|os| os == "linux") {
        println!("cargo:rustc-link-arg-bins=-no-pie");
    }
}
