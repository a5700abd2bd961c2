//! `calc reading`: what a gauge says, in every unit.
//!
//! Owns: the two ways a U-tube is read. Refuses: guessing which of them was meant.

use super::convert::EveryUnit;
use super::{Answer, Complaint, Console, Sheet, answer};
use crate::model::{Pressure, Reading};
use serde::Serialize;

const HINT: &str = "type `pigtail calc reading 6.1+6.1` for both legs of a zero-centred scale, or `--left 17 --right 28.75` \
                    for two levels on one ruler";

/// Read a gauge
#[derive(Debug, Clone, clap::Args)]
pub struct ReadingArgs {
    /// The reading: `11`, `27.4mbar`, or the two legs of a zero-centred U-tube, `6.1+6.1`
    #[arg(allow_negative_numbers = true)]
    reading: Option<Reading>,
    /// One level of a U-tube beside a single ruler
    #[arg(long, requires = "right", conflicts_with = "reading")]
    left: Option<Reading>,
    /// The other level on the same ruler
    #[arg(long, requires = "left", conflicts_with = "reading")]
    right: Option<Reading>,
}

#[derive(Serialize)]
struct ReadingJson<'a> {
    reading: &'a str,
    value: f64,
    #[serde(flatten)]
    every: EveryUnit,
}

pub(super) fn run(args: &ReadingArgs, console: &mut Console<'_>) -> Answer {
    let (written, pressure) = match (&args.reading, &args.left, &args.right) {
        (Some(reading), _, _) => (reading.as_str().to_owned(), reading.pressure()),
        (None, Some(left), Some(right)) => {
            let difference = (left.pressure().inwc() - right.pressure().inwc()).abs();
            let pressure = Pressure::from_inwc(difference)
                .ok_or_else(|| Complaint::refused("the difference of the levels is no pressure", HINT))?;
            (format!("levels {left} and {right}"), pressure)
        }
        _ => return Err(Complaint::refused("no reading is given", HINT)),
    };
    let every = EveryUnit::of(pressure);
    let sheet = every
        .rows(Sheet::resting_on("a U-tube shows the difference of its levels").row("reading", &written))
        .caution("add the two legs of a zero-centred scale; never double one of them");
    answer(console, &ReadingJson { reading: &written, value: pressure.inwc(), every }, &sheet)
}
