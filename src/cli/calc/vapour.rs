//! `calc vapour`: pressure in a container of propane by temperature.
//!
//! Owns: the flags. Refuses: mixtures.

use super::{Answer, Console, Sheet, answer, one_of, refused};
use crate::gastest::{propane_absolute, propane_psig};
use crate::model::{Elevation, PressureUnit, Temperature, rounded};
use serde::Serialize;

const HINT: &str = "type `pigtail calc vapour 70F`; temperatures from -40 to 130 °F";

/// Vapour pressure of propane
#[derive(Debug, Clone, clap::Args)]
pub struct VapourArgs {
    /// Temperature of the liquid, as in `70F` or `20C`; bare is °F
    #[arg(value_name = "TEMPERATURE", allow_hyphen_values = true)]
    at: Option<Temperature>,
    /// The same as a flag
    #[arg(long, visible_alias = "temp", allow_hyphen_values = true)]
    temperature: Option<Temperature>,
    /// Height above sea level; sea level if left out
    #[arg(long, allow_hyphen_values = true)]
    elevation: Option<Elevation>,
}

#[derive(Serialize)]
struct VapourJson {
    temperature_f: f64,
    psig: f64,
    psia: f64,
    kpa_absolute: f64,
}

pub(super) fn run(args: &VapourArgs, console: &mut Console<'_>) -> Answer {
    let liquid = one_of([&args.at, &args.temperature], "temperature", HINT)?;
    let elevation = args.elevation.unwrap_or(Elevation::SEA_LEVEL);
    let absolute = propane_absolute(liquid).map_err(refused(HINT))?;
    let json = VapourJson {
        temperature_f: liquid.fahrenheit(),
        psig: propane_psig(liquid, elevation).map_err(refused(HINT))?,
        psia: absolute.to(PressureUnit::Psi),
        kpa_absolute: absolute.to(PressureUnit::Kilopascal),
    };
    let sheet = Sheet::resting_on("saturation equation of pure propane, Lemmon, McLinden and Wagner 2009")
        .row("liquid", liquid)
        .row("gauge", format!("{} psi at {elevation}", rounded(json.psig, 1)))
        .row("absolute", format!("{} psi", rounded(json.psia, 1)))
        .caution("pure propane; charts for commercial propane differ by up to 15 %");
    answer(console, &json, &sheet)
}
