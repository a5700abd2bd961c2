//! `calc`: the calculator. Needs no database.
//!
//! Owns: dispatch, and what the calculator's commands share. Refuses: working anything out, which `gastest` does.

mod atmosphere;
mod convert;
mod derate;
mod judge;
mod leak_rate;
mod orifice;
mod piping;
mod reading;
mod span;
mod stamp;
mod temperature;
mod utube;
mod vapour;

use super::complaint::{Answer, Complaint, Status};
use super::console::{Console, Format};
use crate::model::Day;
use crate::show::calc::Sheet;
use serde::Serialize;
use std::fmt;

/// Work something out; needs no database
#[derive(Debug, Clone, clap::Subcommand)]
pub enum CalcCommand {
    /// Read a requalification stamp from a cylinder's collar
    Stamp(stamp::StampArgs),
    /// Convert a pressure between units
    Convert(convert::ConvertArgs),
    /// Read a gauge, a U-tube's two legs included
    Reading(reading::ReadingArgs),
    /// Judge gas test readings: pass, fail or inconclusive
    Judge(Box<judge::JudgeArgs>),
    /// Flow through an orifice, or the drill for a load
    Orifice(orifice::OrificeArgs),
    /// Leak rate from a fall of pressure
    LeakRate(leak_rate::LeakRateArgs),
    /// What a temperature or barometer change does to a closed line
    Temperature(temperature::TemperatureArgs),
    /// Air pressure by elevation
    Atmosphere(atmosphere::AtmosphereArgs),
    /// Volume of piping from tube sizes
    Piping(piping::PipingArgs),
    /// What elevation does to an appliance's input
    Derate(derate::DerateArgs),
    /// Vapour pressure of propane
    #[command(alias = "vapor")]
    Vapour(vapour::VapourArgs),
    /// How much of a change a U-tube shows
    #[command(alias = "u-tube")]
    Utube(utube::UtubeArgs),
}

/// Runs one calculator command on the day `today`.
///
/// # Errors
/// [`Complaint`] for input that is refused or an answer that cannot be written.
pub fn run(command: &CalcCommand, today: Day, console: &mut Console<'_>) -> Answer {
    match command {
        CalcCommand::Stamp(args) => stamp::run(args, today, console),
        CalcCommand::Convert(args) => convert::run(args, console),
        CalcCommand::Reading(args) => reading::run(args, console),
        CalcCommand::Judge(args) => judge::run(args, today, console),
        CalcCommand::Orifice(args) => orifice::run(args, console),
        CalcCommand::LeakRate(args) => leak_rate::run(args, console),
        CalcCommand::Temperature(args) => temperature::run(args, console),
        CalcCommand::Atmosphere(args) => atmosphere::run(args, console),
        CalcCommand::Piping(args) => piping::run(args, console),
        CalcCommand::Derate(args) => derate::run(args, console),
        CalcCommand::Vapour(args) => vapour::run(args, console),
        CalcCommand::Utube(args) => utube::run(args, console),
    }
}

/// Writes an answer in the form asked for.
fn answer(console: &mut Console<'_>, json: &impl Serialize, sheet: &Sheet) -> Answer {
    match console.format_among(&[Format::Table, Format::Json])? {
        Format::Json => write_json(console, json)?,
        _ => write!(console.out, "{sheet}")?,
    }
    Ok(Status::Done)
}

fn write_json(console: &mut Console<'_>, json: &impl Serialize) -> Result<(), Complaint> {
    let line =
        serde_json::to_string(json).map_err(|error| Complaint::fault(format!("no JSON can be made: {error}")))?;
    writeln!(console.out, "{line}")?;
    Ok(())
}

/// The one of several spellings that was used.
fn one_of<T: Clone, const N: usize>(spellings: [&Option<T>; N], what: &str, hint: &str) -> Result<T, Complaint> {
    let mut given = spellings.into_iter().flatten();
    match (given.next(), given.next()) {
        (Some(value), None) => Ok(value.clone()),
        (None, _) => Err(Complaint::refused(format!("the {what} is missing"), hint)),
        (Some(_), Some(_)) => Err(Complaint::refused(format!("the {what} is given twice"), hint)),
    }
}

/// Turns an error of the layers below into a refusal.
fn refused<E: fmt::Display>(hint: &'static str) -> impl Fn(E) -> Complaint {
    move |error| Complaint::refused(error, hint)
}
