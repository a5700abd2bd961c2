//! Rows that say what there is: depots, units, appliances, parts, people, gauges.
//!
//! Owns: which cells make which noun, and the ranges of their numbers. Refuses: whether what a row refers to exists,
//! which the book says.

use super::header::Place;
use super::keys::KEY_SEPARATOR;
use super::locate::Note;
use super::row::Row;
use super::wrong::CellError;
use crate::journal::{Change, Fact};
use crate::model::{Appliance, Depot, DepotCode, Gauge, Part, Person, Unit, Vin};
use std::ops::RangeInclusive;

/// From below the lowest shore to above the highest road.
pub(super) const ELEVATION_FT: RangeInclusive<f64> = -2000.0..=30_000.0;
/// Gas pressures and gauge steps on a vehicle's low-pressure side, with room.
pub(super) const PRESSURE_INWC: RangeInclusive<f64> = 0.0..=1000.0;
const INPUT_BTU_H: RangeInclusive<f64> = 1.0..=10_000_000.0;
const MODEL_YEARS: RangeInclusive<u32> = 1900..=2200;

pub(super) fn depot(row: &mut Row<'_, '_>, places: &[Place; 6], notes: &mut Vec<Note>) -> Option<Fact> {
    let [depot, name, timezone, elevation_ft, rules, digest_to] = places;
    row.unique(depot, row.cell(depot));
    let code = row.required(depot);
    let zone = time_zone(row, timezone);
    let elevation_ft = row.number(elevation_ft, &ELEVATION_FT);
    let (name, rules, digest_to) = (row.text(name), row.optional(rules), row.distinct(digest_to));
    let depot: DepotCode = code?;
    if zone.is_none() {
        notes.push(Note::NoTimeZone { depot: depot.clone(), line: row.line() });
    }
    Some(Fact::Change(Change::Depot(Depot {
        depot,
        name,
        timezone: zone.unwrap_or(chrono_tz::UTC),
        elevation_ft,
        rules: rules.unwrap_or_default(),
        digest_to,
    })))
}

fn time_zone(row: &mut Row<'_, '_>, place: &Place) -> Option<chrono_tz::Tz> {
    let cell = row.cell(place);
    if cell.is_empty() {
        return None;
    }
    let zone = cell.parse().ok();
    if zone.is_none() {
        let text = cell.chars().take(60).collect();
        row.wrong(place, CellError::TimeZone { text });
    }
    zone
}

pub(super) fn unit(row: &mut Row<'_, '_>, places: &[Place; 9]) -> Option<Fact> {
    let [unit, depot, body, vin, plate, model_year, in_service_on, retired_on, note] = places;
    row.unique(unit, row.cell(unit));
    let code = row.required(unit);
    let depot = row.required(depot);
    let body = row.text(body);
    let year = row.whole(model_year, &MODEL_YEARS).and_then(|year| i32::try_from(year).ok());
    let vin = vin_of(row, vin, model_year, year);
    let plate = row.long_number(plate);
    let in_service_on = row.day(in_service_on);
    let retired_on = row.day(retired_on);
    let note = row.text(note);
    Some(Fact::Change(Change::Unit(Unit {
        unit: code?,
        depot: depot?,
        body,
        vin,
        plate,
        model_year: year,
        in_service_on,
        retired_on,
        note,
    })))
}

/// The VIN as the model year allows it. Where the year's own cell is wrong, whether the VIN is cannot be told.
fn vin_of(row: &mut Row<'_, '_>, place: &Place, year_place: &Place, year: Option<i32>) -> Option<Vin> {
    let cell = row.cell(place);
    if cell.is_empty() || (year.is_none() && !row.cell(year_place).is_empty()) {
        return None;
    }
    Vin::for_model_year(&cell, year).map_err(|error| row.wrong(place, error)).ok()
}

pub(super) fn appliance(row: &mut Row<'_, '_>, places: &[Place; 5]) -> Option<Fact> {
    let [unit, appliance, btu_h, inlet_min_inwc, inlet_max_inwc] = places;
    row.unique(unit, format!("{}{KEY_SEPARATOR}{}", row.cell(unit), row.cell(appliance)).into());
    let unit = row.required(unit);
    let appliance = row.required_text(appliance);
    let btu_h = row.required_number(btu_h, &INPUT_BTU_H);
    let least = row.number(inlet_min_inwc, &PRESSURE_INWC);
    let most = row.number(inlet_max_inwc, &PRESSURE_INWC);
    if let (Some(smaller_value), Some(value)) = (least, most)
        && value < smaller_value
    {
        row.wrong(inlet_max_inwc, CellError::Less { value, smaller_column: inlet_min_inwc.column.name, smaller_value });
    }
    Some(Fact::Change(Change::Appliance(Appliance {
        unit: unit?,
        appliance: appliance?,
        btu_h: btu_h?,
        inlet_min_inwc: least,
        inlet_max_inwc: most,
    })))
}

pub(super) fn part(row: &mut Row<'_, '_>, places: &[Place; 10]) -> Option<Fact> {
    let [part, unit, kind, position, spec, serial, made, fitted_on, replace_by, note] = places;
    row.unique(part, row.cell(part));
    let code = row.required(part);
    let unit = row.optional(unit);
    let kind = row.required(kind);
    let position = row.text(position);
    let spec = row.text(spec);
    let serial = row.long_number(serial);
    let made = row.dated(made);
    let fitted_on = row.day(fitted_on);
    let replace_by = row.dated(replace_by);
    let note = row.text(note);
    Some(Fact::Change(Change::Part(Part {
        part: code?,
        unit,
        kind: kind?,
        position,
        spec,
        serial,
        made,
        fitted_on,
        replace_by,
        note,
    })))
}

pub(super) fn person(row: &mut Row<'_, '_>, places: &[Place; 6]) -> Option<Fact> {
    let [person, name, email, skills, rin, credential_until] = places;
    row.unique(person, row.cell(person));
    let code = row.required(person);
    let name = row.text(name);
    let email = row.optional(email);
    let skills = row.distinct(skills);
    let rin = row.optional(rin);
    let credential_until = row.day(credential_until);
    Some(Fact::Change(Change::Person(Person { person: code?, name, email, skills, rin, credential_until })))
}

pub(super) fn gauge(row: &mut Row<'_, '_>, places: &[Place; 4]) -> Option<Fact> {
    let [gauge, kind, resolution_inwc, note] = places;
    row.unique(gauge, row.cell(gauge));
    let code = row.required(gauge);
    let kind = row.required(kind);
    let resolution_inwc = row.number(resolution_inwc, &PRESSURE_INWC);
    let note = row.text(note);
    Some(Fact::Change(Change::Gauge(Gauge { gauge: code?, kind: kind?, resolution_inwc, note })))
}
