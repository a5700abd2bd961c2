//! The command line: arguments in, one file per command, output and exit status out.
//!
//! Owns: options, prompts, files and the clock. Refuses: deciding anything of the trade.

pub mod complaint;
pub mod console;
pub mod digest_message;
pub mod password;
pub mod settings;
pub mod settings_error;
mod settings_reader;
