//! `calc derate`: what elevation does to an appliance's input.
//!
//! Owns: the flags. Refuses: choosing between conventions that disagree; it always names the one it used.

use super::{Answer, Console, Sheet, answer, one_of, refused};
use crate::gastest::{Convention, derated_btu_h, derating_percent, natural_fraction};
use crate::model::{Elevation, Reading, rounded};
use serde::Serialize;

const HINT: &str =
    "type `pigtail calc derate 5000ft --input 25000`, with `--convention from-2000-ft` for the other way of counting";

/// Derating by elevation
#[derive(Debug, Clone, clap::Args)]
pub struct DerateArgs {
    /// Height above sea level; bare is feet
    #[arg(value_name = "ELEVATION", allow_hyphen_values = true)]
    at: Option<Elevation>,
    /// The same as a flag
    #[arg(long, allow_hyphen_values = true)]
    elevation: Option<Elevation>,
    /// Input at sea level, Btu per hour
    #[arg(long)]
    input: Option<f64>,
    /// Gas pressure before the orifice; 11 in. w.c. if left out
    #[arg(long, default_value = "11")]
    pressure: Reading,
    /// How it is counted: from-sea-level or from-2000-ft
    #[arg(long, default_value_t)]
    convention: Convention,
}

#[derive(Serialize)]
struct DerateJson {
    elevation_ft: f64,
    convention: Convention,
    derating_percent: f64,
    input_btu_h: Option<f64>,
    btu_h: Option<f64>,
    natural_fraction: f64,
}

pub(super) fn run(args: &DerateArgs, console: &mut Console<'_>) -> Answer {
    let elevation = one_of([&args.at, &args.elevation], "elevation", HINT)?;
    let percent = derating_percent(elevation, args.convention).map_err(refused(HINT))?;
    let left = match args.input {
        Some(input) => Some(derated_btu_h(input, elevation, args.convention).map_err(refused(HINT))?),
        None => None,
    };
    let natural = natural_fraction(elevation, args.pressure.pressure()).map_err(refused(HINT))?;
    let json = DerateJson {
        elevation_ft: elevation.feet(),
        convention: args.convention,
        derating_percent: percent,
        input_btu_h: args.input,
        btu_h: left,
        natural_fraction: natural,
    };
    let mut sheet = Sheet::resting_on(args.convention.source())
        .row("elevation", elevation)
        .row("convention", args.convention)
        .row("derating", format!("{} %", rounded(percent, 2)));
    if let Some(left) = left {
        sheet = sheet.row("input left", format!("{left:.0} Btu/h"));
    }
    sheet = sheet.row("without change", format!("{} % of sea-level flow", rounded(100.0 * natural, 1)));
    answer(console, &json, &sheet.caution("conventions disagree; the appliance's own manual decides"))
}
