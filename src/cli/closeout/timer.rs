//! The clock of a timed pressure drop.
//!
//! Owns: the bar, readings typed in between, and the minutes really watched. Refuses: calling a short watch a long one.

use super::answer::reading;
use super::answers::Answers;
use super::lines::{Lines, Waited};
use crate::model::{Reading, TimedReading};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::{self, Write};
use std::time::{Duration, Instant};

/// How a watch ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// The time was up, or somebody stopped it.
    Stopped,
    /// Somebody left; nothing is known of the time.
    Left,
}

/// Between two looks at the clock; short enough for a bar that is watched.
const TICK: Duration = Duration::from_millis(250);

/// Watches for `minutes`, or until Enter or `done`. What was watched is put down to a tenth of a minute, never more than
/// it was; readings typed in between are put down with their minute. `keep` is called after each.
///
/// # Errors
/// What the terminal reports.
pub fn watch(
    minutes: f64,
    answers: &mut Answers,
    lines: &mut Lines,
    talk: &mut dyn Write,
    keep: &mut dyn FnMut(&Answers),
) -> io::Result<Ended> {
    let whole = Duration::from_secs_f64(minutes.max(0.0) * 60.0);
    writeln!(talk, "type a reading at any moment to put it down with its minute; Enter or done stops")?;
    let bar = ProgressBar::with_draw_target(Some(whole.as_secs()), ProgressDrawTarget::stderr());
    if let Ok(style) = ProgressStyle::with_template("{elapsed_precise} {wide_bar} {eta} left ") {
        bar.set_style(style);
    }
    answers.test.drop_between.clear();
    let start = Instant::now();
    loop {
        let watched = start.elapsed();
        bar.set_position(watched.as_secs());
        if watched >= whole {
            bar.finish();
            writeln!(talk, "\ntime: {} minutes", crate::model::rounded(minutes, 1))?;
            answers.test.minutes = Some(minutes);
            return Ok(Ended::Stopped);
        }
        match lines.within(TICK.min(whole.saturating_sub(watched))) {
            Waited::Nothing => {}
            Waited::Closed => {
                bar.abandon();
                return Ok(Ended::Left);
            }
            Waited::Line(line) => match line.trim() {
                "quit" => {
                    bar.abandon();
                    return Ok(Ended::Left);
                }
                "" | "done" => {
                    bar.abandon();
                    let minutes = tenths(start.elapsed());
                    writeln!(talk, "\nstopped after {} minutes", crate::model::rounded(minutes, 1))?;
                    answers.test.minutes = Some(minutes);
                    return Ok(Ended::Stopped);
                }
                typed => match typed.parse::<Reading>() {
                    Ok(read) => {
                        let minutes = tenths(start.elapsed());
                        writeln!(talk, "{} after {} minutes", reading(&read), crate::model::rounded(minutes, 1))?;
                        answers.test.drop_between.push(TimedReading { reading: read, minutes: Some(minutes) });
                        keep(answers);
                    }
                    Err(error) => writeln!(talk, "{error}")?,
                },
            },
        }
    }
}

/// Minutes, rounded down to a tenth.
fn tenths(watched: Duration) -> f64 {
    (watched.as_secs_f64() / 6.0).floor() / 10.0
}
