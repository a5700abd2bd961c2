//! Runs `calc` commands in this process and keeps what they wrote.

use clap::Parser;
use pigtail::cli::calc::{CalcCommand, run};
use pigtail::cli::console::{Console, Format};
use pigtail::model::Day;
use serde_json::Value;

#[derive(Parser)]
struct Line {
    #[arg(long, global = true, default_value_t)]
    format: Format,
    #[command(subcommand)]
    command: CalcCommand,
}

/// What a command ended with and wrote.
pub struct Outcome {
    pub status: u8,
    pub out: String,
    pub talk: String,
}

/// Runs one `calc` command on 2026-03-02.
pub fn calculate<S: AsRef<str>>(words: &[S]) -> Outcome {
    let words = std::iter::once("calc").chain(words.iter().map(AsRef::as_ref));
    let line = match Line::try_parse_from(words) {
        Ok(line) => line,
        Err(error) => return Outcome { status: 2, out: String::new(), talk: error.to_string() },
    };
    let today: Day = "2026-03-02".parse().unwrap();
    let (mut out, mut talk) = (Vec::new(), Vec::new());
    let mut console = Console {
        out: &mut out,
        talk: &mut talk,
        format: Some(line.format),
        width: None,
        watched: false,
        colour: false,
    };
    let (status, complaint) = match run(&line.command, today, &mut console) {
        Ok(status) => (status, String::new()),
        Err(complaint) => (complaint.status, complaint.to_string()),
    };
    let talk = String::from_utf8(talk).unwrap() + &complaint;
    Outcome { status: status.code(), out: String::from_utf8(out).unwrap(), talk }
}

/// A command's status, what it wrote to stdout, and below `--` what it said on stderr.
pub fn told(words: &[&str]) -> String {
    let outcome = calculate(words);
    let talk = if outcome.talk.is_empty() { String::new() } else { format!("-- {}", outcome.talk) };
    format!("status {}\n{}{talk}", outcome.status, outcome.out)
}

/// Runs one `calc` command with `--format json` and reads its answer.
pub fn calculate_json<S: AsRef<str>>(words: &[S]) -> (u8, Value) {
    let mut words: Vec<&str> = words.iter().map(AsRef::as_ref).collect();
    words.extend(["--format", "json"]);
    let outcome = calculate(&words);
    let answer = serde_json::from_str(&outcome.out)
        .unwrap_or_else(|error| panic!("calc {words:?}: {error}: {}{}", outcome.out, outcome.talk));
    (outcome.status, answer)
}
