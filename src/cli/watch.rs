//! `pigtail watch`: sends each digest when its schedule comes, until told to stop.
//!
//! Owns: waiting, and ending cleanly on SIGTERM and Ctrl-C. Refuses: sending by any other way than `digest send --if-due`
//! does.

use super::complaint::{Answer, Complaint, Status};
use super::console::Console;
use super::delivery::{Round, SendingLock, deliver};
use super::digest::ConfigOption;
use super::session::Session;
use chrono::Utc;
use signal_hook::consts::{SIGINT, SIGTERM};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// Send each digest when its schedule comes; for a service manager.
#[derive(Debug, clap::Args)]
pub struct WatchArgs {
    /// Settings file
    #[command(flatten)]
    config: ConfigOption,
    /// Look once and end, as `digest send --if-due`
    #[arg(long)]
    once: bool,
}

/// How long it sleeps between two looks. A laptop's lid closed for a weekend costs no more than this when it opens.
const BETWEEN_LOOKS: Duration = Duration::from_secs(30);

/// How often it asks whether it was told to stop.
const ATTENTION: Duration = Duration::from_millis(200);

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where settings are wrong or another process is sending already. Failures of single rounds are said and
/// tried again.
pub fn run(args: &WatchArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    let stop = Arc::new(AtomicBool::new(false));
    for signal in [SIGTERM, SIGINT] {
        signal_hook::flag::register(signal, Arc::clone(&stop))
            .map_err(|error| Complaint::outside(error, "run it where signals can be handled"))?;
    }
    let book = session.book()?;
    let _lock = SendingLock::take(&book)?;
    let round = Round { if_due: true, ..Round::default() };
    writeln!(console.talk, "watching {}; stop with Ctrl-C or SIGTERM", book.path().display())?;
    while !stop.load(Ordering::Relaxed) {
        // Settings are read at each look, so that a mended file is taken up without a restart.
        let look = Session { now: Utc::now(), ..session.clone() };
        let tally = args
            .config
            .load()
            .and_then(|settings| deliver(&book, &settings, &round, look.today(&book)?, &Utc::now, console));
        match tally {
            Ok(tally) if tally.complaint.is_some() || args.once => {
                let complaint = tally.complaint.as_ref();
                if let Some(complaint) = complaint.filter(|_| !args.once) {
                    write!(console.talk, "{complaint}")?;
                }
                if args.once {
                    return tally.answer();
                }
            }
            Ok(_) => {}
            Err(complaint) if args.once => return Err(complaint),
            Err(complaint) => write!(console.talk, "{complaint}")?,
        }
        console.out.flush()?;
        let mut slept = Duration::ZERO;
        while slept < BETWEEN_LOOKS && !stop.load(Ordering::Relaxed) {
            std::thread::sleep(ATTENTION);
            slept += ATTENTION;
        }
    }
    writeln!(console.talk, "stopped")?;
    Ok(Status::Done)
}
