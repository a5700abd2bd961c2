//! `calc convert`: one pressure in another unit, or in all of them.
//!
//! Owns: the spellings of the question. Refuses: negative pressures.

use super::{Answer, Complaint, Console, Sheet, answer, refused};
use crate::model::{Pressure, PressureUnit, rounded};
use serde::Serialize;

const HINT: &str =
    "type `pigtail calc convert 11inwc psi`; units are inwc, mbar, kPa, Pa, psi, oz/in2, mmH2O, inHg, bar";

/// Convert a pressure
#[derive(Debug, Clone, clap::Args)]
pub struct ConvertArgs {
    /// Pressure and the unit wanted, as in `11inwc psi` or `11 inH2O psi`
    #[arg(required = true, allow_negative_numbers = true)]
    words: Vec<String>,
    /// Unit of the number given
    #[arg(long)]
    from: Option<PressureUnit>,
    /// Unit wanted; all of them if left out
    #[arg(long)]
    to: Option<PressureUnit>,
}

/// One pressure in every unit.
#[derive(Serialize)]
pub(super) struct EveryUnit {
    inwc: f64,
    pa: f64,
    mbar: f64,
    kpa: f64,
    psi: f64,
    oz_in2: f64,
    mmh2o: f64,
    inhg: f64,
}

impl EveryUnit {
    pub(super) fn of(pressure: Pressure) -> Self {
        Self {
            inwc: pressure.inwc(),
            pa: pressure.pascals(),
            mbar: pressure.to(PressureUnit::Millibar),
            kpa: pressure.to(PressureUnit::Kilopascal),
            psi: pressure.to(PressureUnit::Psi),
            oz_in2: pressure.to(PressureUnit::OunceSquareInch),
            mmh2o: pressure.to(PressureUnit::MillimetreOfWater),
            inhg: pressure.to(PressureUnit::InchOfMercury),
        }
    }

    pub(super) fn rows(&self, sheet: Sheet) -> Sheet {
        sheet
            .row("in. w.c.", rounded(self.inwc, 4))
            .row("Pa", rounded(self.pa, 2))
            .row("mbar", rounded(self.mbar, 4))
            .row("kPa", rounded(self.kpa, 5))
            .row("psi", rounded(self.psi, 6))
            .row("oz/in²", rounded(self.oz_in2, 5))
            .row("mmH2O", rounded(self.mmh2o, 3))
            .row("inHg", rounded(self.inhg, 5))
    }
}

#[derive(Serialize)]
struct ConvertJson {
    value: f64,
    unit: &'static str,
    #[serde(flatten)]
    every: EveryUnit,
}

pub(super) fn run(args: &ConvertArgs, console: &mut Console<'_>) -> Answer {
    let (pressure, wanted) = question(args)?;
    let every = EveryUnit::of(pressure);
    let unit = wanted.unwrap_or(PressureUnit::InchOfWater);
    let value = pressure.to(unit);
    let sheet = Sheet::resting_on(
        "SI definitions; in. w.c. is 249.08891 Pa; inches of water at 39.2 °F and 60 °F are NIST SP 811's, from memory",
    );
    let sheet = match wanted {
        Some(unit) => sheet.row(unit.name(), rounded(value, 6)),
        None => every.rows(sheet),
    };
    answer(console, &ConvertJson { value, unit: unit.name(), every }, &sheet)
}

fn question(args: &ConvertArgs) -> Result<(Pressure, Option<PressureUnit>), Complaint> {
    let words: Vec<&str> =
        args.words.iter().map(String::as_str).filter(|word| !matches!(*word, "to" | "in" | "=" | "->")).collect();
    let (amount, rest) = words.split_first().ok_or_else(|| Complaint::refused("no pressure is given", HINT))?;
    // A unit may stand apart from its number: `11 inH2O psi`. It is the first of two units, or the only one where the
    // wanted one is a flag.
    let apart = usize::from(args.from.is_none() && rest.len() == if args.to.is_some() { 1 } else { 2 });
    let (unit, wanted) = rest.split_at(apart);
    let amount = match args.from {
        Some(from) => format!("{amount} {from}"),
        None => format!("{amount} {}", unit.concat()),
    };
    let pressure: Pressure = amount.parse().map_err(refused(HINT))?;
    let wanted = match (wanted, args.to) {
        ([], to) => to,
        ([unit], None) => Some(unit.parse().map_err(refused(HINT))?),
        _ => {
            return Err(Complaint::refused(format!("`{}` is one unit too many", words.join(" ").escape_debug()), HINT));
        }
    };
    Ok((pressure, wanted))
}
