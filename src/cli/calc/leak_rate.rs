//! `calc leak-rate`: how much gas a fall of pressure is.
//!
//! Owns: the flags. Refuses: calling any leak small enough.

use super::span::ReadingSpan;
use super::{Answer, Complaint, Console, Sheet, answer, one_of, refused};
use crate::gastest::{leak_rate, smallest_leak};
use crate::model::{Pressure, Reading, Volume, rounded};
use serde::Serialize;

const HINT: &str = "type `pigtail calc leak-rate --drop 9:8 --minutes 3 --volume 50in3`";

/// Leak rate from a fall of pressure
#[derive(Debug, Clone, clap::Args)]
pub struct LeakRateArgs {
    /// Pressure at start and end as in `9:8`, or the fall alone as in `1inwc`
    #[arg(long, visible_alias = "fall")]
    drop: String,
    /// How long it was watched
    #[arg(long)]
    minutes: f64,
    /// Volume of the line with hoses, as in `50in3`, `0.05ft3` or `700cm3`
    #[arg(long)]
    volume: Option<Volume>,
    /// The same in cubic feet
    #[arg(long)]
    volume_ft3: Option<String>,
    /// The same in cubic inches
    #[arg(long)]
    volume_in3: Option<String>,
    /// The same in cubic centimetres
    #[arg(long)]
    volume_cm3: Option<String>,
    /// Smallest step of the gauge, to learn the smallest leak it could show
    #[arg(long)]
    resolution: Option<Reading>,
}

#[derive(Serialize)]
struct LeakRateJson {
    scfh: f64,
    cfh: f64,
    btu_h: f64,
    l_h: f64,
    drop_inwc: f64,
    minutes: f64,
    volume_ft3: f64,
    smallest_scfh: Option<f64>,
    smallest_btu_h: Option<f64>,
}

pub(super) fn run(args: &LeakRateArgs, console: &mut Console<'_>) -> Answer {
    let volume = volume(args)?;
    let fall = fall(&args.drop)?;
    let rate = leak_rate(volume.ft3(), fall, args.minutes).map_err(refused(HINT))?;
    let smallest = match &args.resolution {
        Some(step) => Some(smallest_leak(volume.ft3(), step.pressure(), args.minutes).map_err(refused(HINT))?),
        None => None,
    };
    let json = LeakRateJson {
        scfh: rate.scfh,
        cfh: rate.scfh,
        btu_h: rate.btu_h,
        l_h: rate.l_h,
        drop_inwc: fall.inwc(),
        minutes: args.minutes,
        volume_ft3: volume.ft3(),
        smallest_scfh: smallest.map(|leak| leak.scfh),
        smallest_btu_h: smallest.map(|leak| leak.btu_h),
    };
    let mut sheet = Sheet::resting_on("ideal gas at steady temperature, 14.696 psi; propane 2516 Btu/ft³")
        .row("fall", format!("{fall} in {} min", rounded(args.minutes, 2)))
        .row("volume", format!("{} in³", rounded(volume.in3(), 2)))
        .row("leak", format!("{} ft³/h", rounded(rate.scfh, 6)))
        .row("", format!("{} Btu/h", rounded(rate.btu_h, 2)))
        .row("", format!("{} L/h", rounded(rate.l_h, 4)));
    if let Some(smallest) = smallest {
        sheet = sheet.row("smallest leak shown", format!("{} Btu/h", rounded(smallest.btu_h, 2)));
    }
    answer(console, &json, &sheet.caution("no leak is small enough to leave; 1 °F alone moves a line by 0.8 in. w.c."))
}

fn volume(args: &LeakRateArgs) -> Result<Volume, Complaint> {
    let with_unit = |number: &Option<String>, unit: &str| -> Result<Option<Volume>, Complaint> {
        number.as_ref().map(|number| format!("{number}{unit}").parse().map_err(refused(HINT))).transpose()
    };
    one_of(
        [
            &args.volume,
            &with_unit(&args.volume_ft3, "ft3")?,
            &with_unit(&args.volume_in3, "in3")?,
            &with_unit(&args.volume_cm3, "cm3")?,
        ],
        "volume",
        HINT,
    )
}

fn fall(text: &str) -> Result<Pressure, Complaint> {
    if !text.contains(':') {
        return text.parse().map_err(|error| Complaint::refused(format!("--drop: {error}"), HINT));
    }
    let span: ReadingSpan = text.parse().map_err(|error| Complaint::refused(format!("--drop: {error}"), HINT))?;
    Pressure::from_inwc(span.start.pressure().inwc() - span.end.pressure().inwc()).ok_or_else(|| {
        Complaint::refused(
            format!("the pressure rose from {} to {}; that is no leak rate", span.start, span.end),
            "a rise may mean that the container valve passes; see `pigtail calc judge`",
        )
    })
}
