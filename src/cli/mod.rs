//! The command line: arguments in, one file per command, output and exit status out.
//!
//! Owns: options, prompts, files and the clock. Refuses: deciding anything of the trade.

pub mod backup;
pub mod binder;
pub mod calc;
pub mod calendar;
pub mod closeout;
pub mod complaint;
pub mod console;
pub mod delivery;
pub mod demo;
pub mod digest;
pub mod digest_facts;
pub mod digest_message;
pub mod doctor;
pub mod due;
pub mod export;
pub mod import;
pub mod init;
pub mod journal;
pub mod keep;
pub mod pager;
pub mod password;
pub mod plan;
pub mod printed_head;
pub mod progress;
pub mod ready;
pub mod report;
pub mod rules;
pub mod screen;
pub mod session;
pub mod settings;
pub mod settings_error;
mod settings_reader;
pub mod sheet;
pub mod watch;
pub mod why;

use clap::{ColorChoice, CommandFactory, FromArgMatches, Parser};
use complaint::{Answer, Complaint, Status};
use console::{Console, Format};
use screen::Screen;
use session::Session;
use std::ffi::OsString;
use std::io::{BufWriter, IsTerminal, Write};
use std::path::PathBuf;
use std::process::ExitCode;

use crate::model::Day;

/// Keeps the LP-gas systems of a rental fleet in date, tested and provable.
#[derive(Debug, Parser)]
#[command(name = "pigtail", version, subcommand_required = true, arg_required_else_help = true, after_help = CAUTION)]
struct Arguments {
    /// Fleet file [default: $XDG_DATA_HOME/pigtail/fleet.db]
    #[arg(long, global = true, env = "PIGTAIL_DB", value_name = "FILE", hide_env_values = true)]
    db: Option<PathBuf>,
    /// Answer as if it were this day [default: the depot's local date]
    #[arg(long, global = true, env = "PIGTAIL_TODAY", value_name = "YYYY-MM-DD", hide_env_values = true)]
    today: Option<Day>,
    /// Form of the answer: table, json, csv; some commands know text, html, eml, ics
    #[arg(long, global = true, value_name = "FORMAT")]
    format: Option<Format>,
    /// Colour: auto, always, never
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto", hide_default_value = true)]
    color: ColorChoice,
    #[command(subcommand)]
    command: Command,
}

const CAUTION: &str = "Pigtail keeps records. It does not make a gas system safe: work on one belongs to qualified people, \
and local code and the maker's instructions come before anything printed here. If you smell gas: no flame, no switch, \
everybody out, close the container valve if you safely can, and call for help from outside.";

/// Commands by who uses them.
#[derive(Debug, clap::Subcommand)]
enum Command {
    /// Make a new, empty fleet file
    Init,
    Demo(demo::DemoArgs),
    Import(import::ImportArgs),
    Export(export::ExportArgs),
    #[command(subcommand)]
    Depot(keep::depot::DepotCommand),
    #[command(subcommand)]
    Unit(keep::unit::UnitCommand),
    #[command(subcommand)]
    Part(keep::part::PartCommand),
    #[command(subcommand)]
    Gauge(keep::gauge::GaugeCommand),
    #[command(subcommand)]
    Person(keep::person::PersonCommand),
    #[command(subcommand)]
    Booking(keep::booking::BookingCommand),
    #[command(subcommand)]
    Hold(keep::hold::HoldCommand),
    Event(keep::event::EventArgs),
    Due(due::DueArgs),
    Why(why::WhyArgs),
    Ready(ready::ReadyArgs),
    Closeout(Box<closeout::CloseoutArgs>),
    Sheet(sheet::SheetArgs),
    #[command(subcommand)]
    Digest(digest::DigestCommand),
    Plan(plan::PlanArgs),
    Watch(watch::WatchArgs),
    Calendar(calendar::CalendarArgs),
    Report(report::ReportArgs),
    #[command(subcommand)]
    Journal(journal::JournalCommand),
    #[command(subcommand)]
    Rules(rules::RulesCommand),
    Backup(backup::BackupArgs),
    Restore(backup::RestoreArgs),
    Doctor(doctor::DoctorArgs),
    Binder(binder::BinderArgs),
    #[command(subcommand)]
    Calc(calc::CalcCommand),
}

/// Runs the program with the process's own arguments, streams and clock.
#[must_use]
pub fn main() -> ExitCode {
    let watched = std::io::stderr().is_terminal();
    let seen = std::io::stdout().is_terminal();
    let width = seen.then(|| terminal_size::terminal_size().map_or(80, |(width, _)| usize::from(width.0)));
    let status = {
        let mut out = BufWriter::new(pager::Out::new(seen));
        let mut talk = std::io::stderr();
        let status = run(std::env::args_os(), &mut out, &mut talk, Terminal { width, watched, seen });
        let flushed =
            out.flush().map_err(Complaint::from).map_or_else(|complaint| say(&complaint, &mut talk), |()| status);
        if let Ok(out) = out.into_inner() {
            out.finish();
        }
        flushed
    };
    ExitCode::from(status.code())
}

/// What is known of the terminal.
#[derive(Debug, Clone, Copy, Default)]
pub struct Terminal {
    /// Its columns, where answers go to one.
    pub width: Option<usize>,
    /// True where talk goes to one.
    pub watched: bool,
    /// True where answers go to one.
    pub seen: bool,
}

/// Runs one command line and says how it ended.
pub fn run(
    arguments: impl IntoIterator<Item = OsString>,
    out: &mut dyn Write,
    talk: &mut dyn Write,
    terminal: Terminal,
) -> Status {
    let (mut out, mut talk) = (Screen::new(out, false), Screen::new(talk, false));
    let words: Vec<OsString> = arguments.into_iter().collect();
    // Scripts ask for the version often; describing every command first would take most of the answer's time.
    if let [_, only] = words.as_slice()
        && (only == "--version" || only == "-V")
    {
        return match writeln!(out, "pigtail {}", env!("CARGO_PKG_VERSION")) {
            Ok(()) => Status::Done,
            Err(error) => say(&Complaint::from(error), &mut talk),
        };
    }
    let arguments =
        match Arguments::command().try_get_matches_from(&words).and_then(|found| Arguments::from_arg_matches(&found)) {
            Ok(arguments) => arguments,
            Err(error) => return not_understood(&error, &words, &mut out, &mut talk),
        };
    let colour = match arguments.color {
        ColorChoice::Always => true,
        ColorChoice::Never => false,
        ColorChoice::Auto => {
            terminal.seen && anstream::AutoStream::choice(&std::io::stdout()) != anstream::ColorChoice::Never
        }
    };
    out.let_colour(colour);
    talk.let_colour(colour && terminal.watched);
    let mut console = Console {
        out: &mut out,
        talk: &mut talk,
        format: arguments.format,
        width: terminal.width,
        watched: terminal.watched,
        colour,
    };
    let session = Session { db: arguments.db, today: arguments.today, now: chrono::Utc::now() };
    match dispatch(&arguments.command, &session, &mut console) {
        Ok(status) => status,
        Err(complaint) => say(&complaint, console.talk),
    }
}

fn dispatch(command: &Command, session: &Session, console: &mut Console<'_>) -> Answer {
    match command {
        Command::Init => init::run(session, console),
        Command::Demo(args) => demo::run(args, session, console),
        Command::Import(args) => import::run(args, session, console),
        Command::Export(args) => export::run(args, session, console),
        Command::Depot(command) => keep::depot::run(command, session, console),
        Command::Unit(command) => keep::unit::run(command, session, console),
        Command::Part(command) => keep::part::run(command, session, console),
        Command::Gauge(command) => keep::gauge::run(command, session, console),
        Command::Person(command) => keep::person::run(command, session, console),
        Command::Booking(command) => keep::booking::run(command, session, console),
        Command::Hold(command) => keep::hold::run(command, session, console),
        Command::Event(args) => keep::event::run(args, session, console),
        Command::Due(args) => due::run(args, session, console),
        Command::Why(args) => why::run(args, session, console),
        Command::Ready(args) => ready::run(args, session, console),
        Command::Closeout(args) => closeout::run(args, session, console),
        Command::Sheet(args) => sheet::run(args, session, console),
        Command::Digest(command) => digest::run(command, session, console),
        Command::Plan(args) => plan::run(args, session, console),
        Command::Watch(args) => watch::run(args, session, console),
        Command::Calendar(args) => calendar::run(args, session, console),
        Command::Report(args) => report::run(args, session, console),
        Command::Journal(command) => journal::run(command, session, console),
        Command::Rules(command) => rules::run(command, session, console),
        Command::Backup(args) => backup::run(args, session, console),
        Command::Restore(args) => backup::restore(args, session, console),
        Command::Doctor(args) => doctor::run(args, session, console),
        Command::Binder(args) => binder::run(args, session, console),
        Command::Calc(command) => calc::run(command, session.local_day(), console),
    }
}

/// Runs one command line inside another command.
///
/// # Errors
/// [`Complaint`] where it is not understood, or as the command itself.
fn type_line(words: &[&str], session: &Session, console: &mut Console<'_>) -> Answer {
    let arguments = Arguments::try_parse_from(std::iter::once("pigtail").chain(words.iter().copied()))
        .map_err(|error| Complaint::fault(error.to_string()))?;
    dispatch(&arguments.command, session, console)
}

/// Says a complaint. If even that cannot be written there is nobody left to tell.
fn say(complaint: &Complaint, talk: &mut dyn Write) -> Status {
    let _ = write!(talk, "{complaint}");
    complaint.status
}

/// Help and version as they are; anything else in our two lines.
fn not_understood(error: &clap::Error, words: &[OsString], out: &mut dyn Write, talk: &mut dyn Write) -> Status {
    use clap::error::ErrorKind;
    let text = error.render().to_string();
    match error.kind() {
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => {
            let _ = out.write_all(text.as_bytes());
            Status::Done
        }
        ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => {
            let _ = talk.write_all(text.as_bytes());
            Status::Refused
        }
        _ => {
            let what = text.split("\n\nUsage: ").next().unwrap_or_default();
            let what = what.split("\n\nFor more").next().unwrap_or(what).trim_start_matches("error: ");
            let what: Vec<&str> = what.split_whitespace().collect();
            let known = Arguments::command();
            let command =
                words.iter().filter_map(|word| word.to_str()).find(|word| known.find_subcommand(word).is_some());
            let hint = command.map_or("pigtail --help".to_owned(), |command| format!("pigtail {command} --help"));
            say(&Complaint::refused(what.join(" ").replace(" tip: ", "; "), hint), talk)
        }
    }
}
