//! `calc temperature`: what warming, cooling or the barometer does to a closed line.
//!
//! Owns: the flags. Refuses: calling a change harmless.

use super::{Answer, Complaint, Console, Sheet, answer, one_of, refused};
use crate::gastest::warmed_inwc;
use crate::model::{Elevation, Pressure, Reading, Temperature, rounded};
use serde::Serialize;

const HINT: &str =
    "type `pigtail calc temperature --start 8 --from 60F --to 59F --elevation 0ft`, or `--barometer 1mbar` for weather";

/// Effect of a temperature or barometer change
#[derive(Debug, Clone, clap::Args)]
pub struct TemperatureArgs {
    /// Pressure at the start
    #[arg(value_name = "START")]
    start_at: Option<Reading>,
    /// Temperature at the start
    #[arg(value_name = "FROM", allow_hyphen_values = true)]
    from_at: Option<Temperature>,
    /// Temperature at the end
    #[arg(value_name = "TO", allow_hyphen_values = true)]
    to_at: Option<Temperature>,
    /// Pressure at the start
    #[arg(long)]
    start: Option<Reading>,
    /// Temperature at the start, as in `60F` or `15C`
    #[arg(long, visible_alias = "air", allow_hyphen_values = true)]
    from: Option<Temperature>,
    /// Temperature at the end
    #[arg(long, visible_alias = "air-after", allow_hyphen_values = true)]
    to: Option<Temperature>,
    /// Height above sea level; sea level if left out
    #[arg(long, allow_hyphen_values = true)]
    elevation: Option<Elevation>,
    /// Rise of the barometer, as in `1mbar` or `-0.01inHg`, in place of temperatures
    #[arg(long, allow_hyphen_values = true)]
    barometer: Option<String>,
}

#[derive(Serialize)]
struct TemperatureJson {
    start_inwc: f64,
    end_inwc: f64,
    change_inwc: f64,
}

pub(super) fn run(args: &TemperatureArgs, console: &mut Console<'_>) -> Answer {
    let start = one_of([&args.start_at, &args.start], "start pressure", HINT)?.pressure();
    let no_temperature = [&args.from_at, &args.from, &args.to_at, &args.to].iter().all(|given| given.is_none());
    let (end, what, source, caution) = match &args.barometer {
        Some(rise) if no_temperature => {
            let end = start.inwc() - signed_inwc(rise)?;
            (
                end,
                format!("barometer changed by {}", rise.trim()),
                "gauge pressure is absolute less air pressure",
                "a falling barometer can hide a leak",
            )
        }
        Some(_) => return Err(Complaint::refused("a barometer change and a temperature are both given", HINT)),
        None => {
            let from = one_of([&args.from_at, &args.from], "temperature at the start", HINT)?;
            let to = one_of([&args.to_at, &args.to], "temperature at the end", HINT)?;
            let elevation = args.elevation.unwrap_or(Elevation::SEA_LEVEL);
            let end = warmed_inwc(start, from, to, elevation).map_err(refused(HINT))?;
            (
                end,
                format!("{from} to {to} at {elevation}"),
                "ideal gas law at fixed volume, US Standard Atmosphere 1976",
                "real propane moves some 4 % more; a change this size can explain a fall or hide a leak",
            )
        }
    };
    let json = TemperatureJson { start_inwc: start.inwc(), end_inwc: end, change_inwc: end - start.inwc() };
    let sheet = Sheet::resting_on(source)
        .row("start", start)
        .row("change", what)
        .row("end", format!("{} in. w.c.", rounded(end, 4)))
        .row("difference", format!("{} in. w.c.", rounded(json.change_inwc, 4)))
        .caution(caution);
    answer(console, &json, &sheet)
}

fn signed_inwc(text: &str) -> Result<f64, Complaint> {
    let text = text.trim();
    let (sign, size) = match text.strip_prefix('-') {
        Some(size) => (-1.0, size),
        None => (1.0, text),
    };
    let size: Pressure = size
        .parse()
        .map_err(|error| Complaint::refused(format!("barometer change `{}`: {error}", text.escape_debug()), HINT))?;
    Ok(sign * size.inwc())
}
