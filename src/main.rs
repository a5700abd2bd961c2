//! The program: hands its arguments to the library and ends with the status it is given.
//!
//! Owns: nothing else. Refuses: nothing.

fn main() -> std::process::ExitCode {
    pigtail::cli::main()
}
