//! `calc atmosphere`: air pressure by elevation.
//!
//! Owns: the flags. Refuses: weather.

use super::{Answer, Console, Sheet, answer, one_of, refused};
use crate::gastest::atmosphere;
use crate::model::{Elevation, PressureUnit, rounded};
use serde::Serialize;

const HINT: &str = "type `pigtail calc atmosphere 5000ft`; elevations from -1000 m to 11000 m";

/// Air pressure by elevation
#[derive(Debug, Clone, clap::Args)]
pub struct AtmosphereArgs {
    /// Height above sea level, as in `5000ft` or `1500m`; bare is feet
    #[arg(allow_hyphen_values = true, value_name = "ELEVATION")]
    at: Option<Elevation>,
    /// The same as a flag
    #[arg(long, allow_hyphen_values = true)]
    elevation: Option<Elevation>,
}

#[derive(Serialize)]
struct AtmosphereJson {
    elevation_ft: f64,
    kpa: f64,
    psi: f64,
    inh2o: f64,
    inwc: f64,
    mbar: f64,
    inhg: f64,
}

pub(super) fn run(args: &AtmosphereArgs, console: &mut Console<'_>) -> Answer {
    let elevation = one_of([&args.at, &args.elevation], "elevation", HINT)?;
    let pressure = atmosphere(elevation).map_err(refused(HINT))?;
    let json = AtmosphereJson {
        elevation_ft: elevation.feet(),
        kpa: pressure.to(PressureUnit::Kilopascal),
        psi: pressure.to(PressureUnit::Psi),
        inh2o: pressure.inwc(),
        inwc: pressure.inwc(),
        mbar: pressure.to(PressureUnit::Millibar),
        inhg: pressure.to(PressureUnit::InchOfMercury),
    };
    let sheet = Sheet::resting_on("US Standard Atmosphere 1976")
        .row("elevation", elevation)
        .row("air pressure", format!("{} psi", rounded(json.psi, 3)))
        .row("", format!("{} kPa", rounded(json.kpa, 3)))
        .row("", format!("{} in. w.c.", rounded(json.inwc, 2)))
        .row("", format!("{} inHg", rounded(json.inhg, 2)))
        .caution("weather moves real air pressure by some 30 mbar about this");
    answer(console, &json, &sheet)
}
