//! `calc piping`: how much a line holds.
//!
//! Owns: the spelling `TUBE=LENGTH`. Refuses: guessing fittings and hoses.

use super::{Answer, Complaint, Console, Sheet, answer, refused};
use crate::gastest::{CUBIC_FOOT_IN3, CUBIC_INCH_CM3, Tube, volume_in3};
use crate::model::{Length, NameError, QuantityError, Volume, rounded};
use serde::Serialize;
use std::str::FromStr;

const HINT: &str = "type `pigtail calc piping b280-3/8=12ft sch40-1/2=3ft --add 5in3`, or `--id 0.555in --length 1ft`";

/// Volume of piping
#[derive(Debug, Clone, clap::Args)]
pub struct PipingArgs {
    /// Tubes with their lengths, as in `b280-3/8=12ft`; sizes b280-3/8, b280-1/2, b280-5/8, b88l-1/2, sch40-1/2, sch40-3/4
    runs: Vec<Run>,
    /// Inside diameter of a tube not on the list, as in `0.555in`
    #[arg(long, visible_alias = "bore", requires = "length")]
    id: Option<Length>,
    /// Its length
    #[arg(long, requires = "id")]
    length: Option<Length>,
    /// Volume of hoses, regulator and fittings
    #[arg(long)]
    add: Option<Volume>,
}

/// One tube and its length.
#[derive(Debug, Clone, Copy)]
struct Run {
    tube: Tube,
    length: Length,
}

/// Why a text is no run of tube.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
enum RunError {
    #[error("`{}` is not a tube and its length; write it as in b280-3/8=12ft", .text.escape_debug())]
    NoLength { text: String },
    #[error(transparent)]
    Tube(#[from] NameError),
    #[error(transparent)]
    Length(#[from] QuantityError),
}

impl FromStr for Run {
    type Err = RunError;
    fn from_str(text: &str) -> Result<Self, RunError> {
        let (tube, length) = text.split_once('=').ok_or_else(|| RunError::NoLength { text: text.to_owned() })?;
        Ok(Self { tube: tube.parse()?, length: length.parse()? })
    }
}

#[derive(Serialize)]
struct PipingJson {
    in3: f64,
    ft3: f64,
    cm3: f64,
    in3_per_ft: Option<f64>,
    ft3_per_ft: Option<f64>,
}

pub(super) fn run(args: &PipingArgs, console: &mut Console<'_>) -> Answer {
    let mut bores: Vec<(f64, Length)> = args.runs.iter().map(|run| (run.tube.bore_in(), run.length)).collect();
    bores.extend(args.id.zip(args.length).map(|(bore, length)| (bore.inches(), length)));
    if bores.is_empty() && args.add.is_none() {
        return Err(Complaint::refused("no tube is given", HINT));
    }
    let mut in3 = args.add.map_or(0.0, Volume::in3);
    for (bore_in, length) in &bores {
        in3 += volume_in3(*bore_in, length.feet()).map_err(refused(HINT))?;
    }
    let per_foot = match bores.as_slice() {
        [(bore_in, _)] => Some(volume_in3(*bore_in, 1.0).map_err(refused(HINT))?),
        _ => None,
    };
    let json = PipingJson {
        in3,
        ft3: in3 / CUBIC_FOOT_IN3,
        cm3: in3 * CUBIC_INCH_CM3,
        in3_per_ft: per_foot,
        ft3_per_ft: per_foot.map(|in3| in3 / CUBIC_FOOT_IN3),
    };
    let mut sheet =
        Sheet::resting_on("inside diameters of ASTM B280 and B88 tube and schedule 40 pipe, published tables")
            .row("volume", format!("{} in³", rounded(json.in3, 3)))
            .row("", format!("{} ft³", rounded(json.ft3, 6)))
            .row("", format!("{} cm³", rounded(json.cm3, 1)));
    if let Some(per_foot) = per_foot {
        sheet = sheet.row("per foot", format!("{} in³", rounded(per_foot, 4)));
    }
    answer(console, &json, &sheet.caution("add hoses, the regulator's outlet side and fittings with --add"))
}
