//! `pigtail unit`: rental units and the appliances in them.
//!
//! Owns: its options. Refuses: parts, which have a command of their own.

use super::{say_recorded, set, set_some, taken};
use crate::book::{Book, Codes, DueFilter};
use crate::cli::complaint::{Answer, Complaint, Status};
use crate::cli::console::{Console, Format};
use crate::cli::session::{Session, unknown};
use crate::journal::Change;
use crate::model::{Appliance, Day, DepotCode, Part, Text, Unit, UnitCode, Vin};
use crate::show::legible::one_line;
use crate::show::reasons::standing;
use crate::show::table::{elastic, fixed};
use serde::Serialize;

/// Keep units: where they belong, what they are.
#[derive(Debug, clap::Subcommand)]
pub enum UnitCommand {
    /// Enter a unit
    Add(UnitArgs),
    /// Change what is on record; options left out stay as they are
    Amend(UnitArgs),
    /// List units
    List {
        /// Only of this depot
        #[arg(long)]
        depot: Option<DepotCode>,
        /// Retired ones too
        #[arg(long)]
        retired: bool,
    },
    /// Show one unit with its parts, appliances and what is due
    Show {
        /// Its code
        unit: UnitCode,
    },
    /// Move a unit to another depot
    Move {
        /// Its code
        unit: UnitCode,
        /// Where to
        depot: DepotCode,
        /// When [default: today]
        #[arg(long)]
        on: Option<Day>,
    },
    /// Take a unit out of the fleet
    Retire {
        /// Its code
        unit: UnitCode,
        /// Why
        #[arg(long, value_name = "REASON")]
        because: Text,
        /// When [default: today]
        #[arg(long)]
        on: Option<Day>,
    },
    /// Enter or change an appliance of a unit
    Appliance {
        /// The unit's code
        unit: UnitCode,
        /// What it is called, as range or furnace
        appliance: Text,
        /// Input, Btu per hour
        #[arg(long, value_name = "BTU/H")]
        btu_h: f64,
        /// Lowest inlet pressure its maker allows, in. w.c.
        #[arg(long, value_name = "INWC")]
        inlet_min: Option<f64>,
        /// Highest inlet pressure its maker allows, in. w.c.
        #[arg(long, value_name = "INWC")]
        inlet_max: Option<f64>,
    },
}

/// A unit's fields.
#[derive(Debug, clap::Args)]
pub struct UnitArgs {
    /// Its code
    unit: UnitCode,
    /// Depot it belongs to
    #[arg(long)]
    depot: Option<DepotCode>,
    /// What it is, as travel trailer
    #[arg(long)]
    body: Option<Text>,
    /// Vehicle identification number
    #[arg(long)]
    vin: Option<String>,
    /// Licence plate
    #[arg(long)]
    plate: Option<Text>,
    /// Model year
    #[arg(long, value_name = "YEAR")]
    model_year: Option<i32>,
    /// First day on rent
    #[arg(long, value_name = "DATE")]
    in_service_on: Option<Day>,
    /// Anything else
    #[arg(long)]
    note: Option<Text>,
}

impl UnitArgs {
    fn onto(&self, mut unit: Unit) -> Result<Unit, Complaint> {
        set(&mut unit.depot, self.depot.as_ref());
        set(&mut unit.body, self.body.as_ref());
        set(&mut unit.plate, self.plate.as_ref());
        set_some(&mut unit.model_year, self.model_year.as_ref());
        set_some(&mut unit.in_service_on, self.in_service_on.as_ref());
        set(&mut unit.note, self.note.as_ref());
        if let Some(vin) = &self.vin {
            let vin = Vin::for_model_year(vin, unit.model_year).map_err(|error| {
                Complaint::refused(format!("unit {}: VIN {vin} {error}", unit.unit), "read the VIN again off its plate")
            })?;
            unit.vin = Some(vin);
        }
        Ok(unit)
    }
}

/// Runs the command.
///
/// # Errors
/// [`Complaint`] where a code is taken, unknown or refused.
pub fn run(command: &UnitCommand, session: &Session, console: &mut Console<'_>) -> Answer {
    let mut book = session.book()?;
    let change = match command {
        UnitCommand::Add(args) => {
            if book.unit(&args.unit)?.is_some() {
                return Err(taken("unit", args.unit.as_str()));
            }
            let Some(depot) = args.depot.clone() else {
                let hint = format!("pigtail unit add {} --depot DEPOT", args.unit);
                return Err(Complaint::refused(format!("unit {} needs a depot", args.unit), hint));
            };
            Change::Unit(args.onto(new_unit(args.unit.clone(), depot))?)
        }
        UnitCommand::Amend(args) => Change::Unit(args.onto(known(&book, &args.unit)?)?),
        UnitCommand::List { depot, retired } => {
            let mut units = book.units(depot.as_ref())?;
            units.retain(|unit| *retired || unit.retired_on.is_none());
            return list(&units, console);
        }
        UnitCommand::Show { unit } => return show(&book, &known(&book, unit)?, session, console),
        UnitCommand::Move { unit, depot, on } => Change::UnitMoved {
            unit: unit.clone(),
            depot: depot.clone(),
            on: on.map_or_else(|| session.today(&book), Ok)?,
        },
        UnitCommand::Retire { unit, because, on } => Change::UnitRetired {
            unit: unit.clone(),
            on: on.map_or_else(|| session.today(&book), Ok)?,
            because: because.clone(),
        },
        UnitCommand::Appliance { unit, appliance, btu_h, inlet_min, inlet_max } => Change::Appliance(Appliance {
            unit: unit.clone(),
            appliance: appliance.clone(),
            btu_h: *btu_h,
            inlet_min_inwc: *inlet_min,
            inlet_max_inwc: *inlet_max,
        }),
    };
    let recorded = session.record(&mut book, None, [change.into()])?;
    say_recorded(&recorded, console)?;
    Ok(Status::Done)
}

fn new_unit(unit: UnitCode, depot: DepotCode) -> Unit {
    Unit {
        unit,
        depot,
        body: Text::default(),
        vin: None,
        plate: Text::default(),
        model_year: None,
        in_service_on: None,
        retired_on: None,
        note: Text::default(),
    }
}

fn known(book: &Book, unit: &UnitCode) -> Result<Unit, Complaint> {
    match book.unit(unit)? {
        Some(found) => Ok(found),
        None => unknown(book, Codes::Units, "unit", unit.as_str()),
    }
}

fn list(units: &[Unit], console: &mut Console<'_>) -> Answer {
    let columns = [
        fixed("UNIT"),
        fixed("DEPOT"),
        elastic("BODY"),
        fixed("YEAR"),
        fixed("IN SERVICE ON"),
        fixed("RETIRED ON"),
        elastic("PLATE"),
        elastic("NOTE"),
    ];
    console.list("units", &columns, units, |unit| {
        vec![
            unit.unit.to_string(),
            unit.depot.to_string(),
            unit.body.to_string(),
            unit.model_year.map_or_else(String::new, |year| year.to_string()),
            unit.in_service_on.map_or_else(String::new, |day| day.to_string()),
            unit.retired_on.map_or_else(String::new, |day| day.to_string()),
            unit.plate.to_string(),
            unit.note.to_string(),
        ]
    })
}

#[derive(Serialize)]
struct Shown<'a> {
    unit: &'a Unit,
    appliances: &'a [Appliance],
    parts: &'a [Part],
}

fn show(book: &Book, unit: &Unit, session: &Session, console: &mut Console<'_>) -> Answer {
    let (appliances, parts) = (book.appliances(&unit.unit)?, book.parts_on(&unit.unit)?);
    if console.format_among(&[Format::Table, Format::Json])? == Format::Json {
        return console.json(&Shown { unit, appliances: &appliances, parts: &parts });
    }
    list(std::slice::from_ref(unit), console)?;
    if let Some(vin) = &unit.vin {
        writeln!(console.out, "VIN {vin}")?;
    }
    for appliance in &appliances {
        writeln!(console.out, "{} {} Btu/h", one_line(appliance.appliance.as_str()), appliance.btu_h)?;
    }
    if !parts.is_empty() {
        writeln!(console.out)?;
        super::part::list(&parts, console)?;
    }
    let today = session.today(book)?;
    let items = book.due_items(&DueFilter { unit: Some(unit.unit.clone()), ..DueFilter::default() }, today)?;
    if !items.is_empty() {
        writeln!(console.out)?;
    }
    for item in &items {
        let part = item.part.as_ref().map(|part| format!("{part}: ")).unwrap_or_default();
        writeln!(console.out, "{part}{}: {}", item.what, standing(item, today))?;
    }
    Ok(Status::Done)
}
