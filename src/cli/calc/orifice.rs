//! `calc orifice`: flow through a drilled hole, or the drill for a load.
//!
//! Owns: the flags. Refuses: rating appliances.

use super::{Answer, Complaint, Console, Sheet, answer, refused};
use crate::gastest::{Drill, OrificeFlow, OrificeGas, drill_for_at_least, load_percent, nearest_drill, orifice_flow};
use crate::model::{Pressure, Reading, rounded};
use serde::Serialize;

const HINT: &str =
    "type `pigtail calc orifice --drill '#75'`, or `--connected 42000` for a test orifice of half that load";

/// Flow through an orifice
#[derive(Debug, Clone, clap::Args)]
pub struct OrificeArgs {
    /// Number drill, as in `#75`
    #[arg(value_name = "DRILL")]
    drill_at: Option<Drill>,
    /// The same as a flag
    #[arg(long, conflicts_with = "drill_at")]
    drill: Option<Drill>,
    /// Diameter in inches, in place of a drill
    #[arg(long, conflicts_with_all = ["drill_at", "drill"])]
    diameter: Option<f64>,
    /// Pressure before the orifice; 11 in. w.c. if left out
    #[arg(long, default_value = "11")]
    pressure: Reading,
    /// Specific gravity of the gas, air 1
    #[arg(long, default_value_t = OrificeGas::PROPANE.gravity)]
    sg: f64,
    /// Coefficient of the orifice
    #[arg(long, default_value_t = OrificeGas::PROPANE.coefficient)]
    k: f64,
    /// Find the drill nearest to this load, Btu per hour
    #[arg(long, conflicts_with_all = ["drill_at", "drill", "diameter"])]
    load: Option<f64>,
    /// Connected input of a unit, Btu per hour: find the finest drill that makes half of it
    #[arg(long, conflicts_with = "load")]
    connected: Option<f64>,
}

#[derive(Serialize)]
struct OrificeJson {
    drill: Option<String>,
    diameter_in: f64,
    pressure_inwc: f64,
    sg: f64,
    k: f64,
    cfh: f64,
    btu_h: f64,
    load_percent: Option<f64>,
}

pub(super) fn run(args: &OrificeArgs, console: &mut Console<'_>) -> Answer {
    let pressure = args.pressure.pressure();
    let gas = OrificeGas { gravity: args.sg, coefficient: args.k };
    let (drill, diameter_in, flow) = find(args, pressure, gas)?;
    let load = match args.connected {
        Some(connected) => Some(load_percent(flow.btu_h, connected).map_err(refused(HINT))?),
        None => None,
    };
    let json = OrificeJson {
        drill: drill.map(|drill| drill.to_string()),
        diameter_in,
        pressure_inwc: pressure.inwc(),
        sg: args.sg,
        k: args.k,
        cfh: flow.cfh,
        btu_h: flow.btu_h,
        load_percent: load,
    };
    let mut sheet = Sheet::resting_on("low-pressure orifice formula, checked against a published table to 0.1 %");
    if let Some(drill) = drill {
        sheet = sheet.row("drill", drill);
    }
    sheet = sheet
        .row("diameter", format!("{} in", rounded(diameter_in, 4)))
        .row("pressure", pressure)
        .row("flow", format!("{} ft³/h", rounded(flow.cfh, 3)))
        .row("", format!("{:.0} Btu/h", flow.btu_h));
    if let Some(load) = load {
        sheet = sheet.row("load", format!("{} % of the connected input", rounded(load, 1)));
    }
    answer(console, &json, &sheet.caution("makers' orifices spread by some 15 % about this; a nameplate wins"))
}

fn find(
    args: &OrificeArgs,
    pressure: Pressure,
    gas: OrificeGas,
) -> Result<(Option<Drill>, f64, OrificeFlow), Complaint> {
    if let Some(diameter_in) = args.diameter {
        return Ok((None, diameter_in, orifice_flow(diameter_in, pressure, gas).map_err(refused(HINT))?));
    }
    let drill = args.drill_at.or(args.drill);
    if let Some(drill) = drill {
        let flow = orifice_flow(drill.diameter_in(), pressure, gas).map_err(refused(HINT))?;
        return Ok((Some(drill), drill.diameter_in(), flow));
    }
    let found = match (args.load, args.connected) {
        (Some(load), _) => nearest_drill(load, pressure, gas),
        (None, Some(connected)) => drill_for_at_least(connected / 2.0, pressure, gas),
        (None, None) => return Err(Complaint::refused("neither a drill, a diameter nor a load is given", HINT)),
    };
    match found.map_err(refused(HINT))? {
        Some((drill, flow)) => Ok((Some(drill), drill.diameter_in(), flow)),
        None => Err(Complaint::refused("no drill from #80 to #40 makes that load", HINT)),
    }
}
