//! `calc utube`: how much of a line's change a U-tube shows.
//!
//! Owns: the flags. Refuses: correcting readings by it; the column itself is part of the line.

use super::{Answer, Console, Sheet, answer, refused};
use crate::gastest::u_tube_fraction;
use crate::model::{Elevation, Length, Reading, Volume, rounded};
use serde::Serialize;

const HINT: &str = "type `pigtail calc utube --volume 50in3 --bore 0.25in --pressure 8`";

/// What a U-tube shows of a change
#[derive(Debug, Clone, clap::Args)]
pub struct UtubeArgs {
    /// Volume of the line
    #[arg(long)]
    volume: Volume,
    /// Inside diameter of the tube
    #[arg(long)]
    bore: Length,
    /// Pressure in the line
    #[arg(long)]
    pressure: Reading,
    /// Height above sea level; sea level if left out
    #[arg(long, allow_hyphen_values = true)]
    elevation: Option<Elevation>,
}

#[derive(Serialize)]
struct UtubeJson {
    fraction: f64,
}

pub(super) fn run(args: &UtubeArgs, console: &mut Console<'_>) -> Answer {
    let elevation = args.elevation.unwrap_or(Elevation::SEA_LEVEL);
    let fraction = u_tube_fraction(args.volume.in3(), args.bore.inches(), args.pressure.pressure(), elevation)
        .map_err(refused(HINT))?;
    let sheet = Sheet::resting_on("ideal gas law; the column makes room as it falls")
        .row("shown", format!("{} of a change in the closed line", rounded(fraction, 3)))
        .caution("a small line with a wide tube shows less of a leak than there is");
    answer(console, &UtubeJson { fraction }, &sheet)
}
