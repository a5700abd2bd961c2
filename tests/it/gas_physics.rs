//! Physics against published tables, each with its tolerance, and the edges of each formula's range.

use pigtail::gastest::{
    Convention, Drill, OrificeGas, OutOfRange, Tube, atmosphere, derating_percent, drill_for_at_least, leak_rate,
    natural_fraction, nearest_drill, orifice_flow, propane_absolute, propane_psig, smallest_leak, u_tube_fraction,
    volume_in3, warmed_inwc,
};
use pigtail::model::{Elevation, Pressure, PressureUnit, Temperature};

fn near(what: &str, got: f64, expected: f64, tolerance: f64) {
    assert!((got - expected).abs() <= tolerance, "{what}: {got}, expected {expected} ± {tolerance}");
}

fn feet(feet: f64) -> Elevation {
    Elevation::from_feet(feet).unwrap()
}

fn inwc(value: f64) -> Pressure {
    Pressure::from_inwc(value).unwrap()
}

fn air(fahrenheit: f64) -> Temperature {
    Temperature::from_fahrenheit(fahrenheit).unwrap()
}

#[test]
fn the_atmosphere_agrees_with_published_tables_to_three_thousandths_of_a_psi() {
    // US Standard Atmosphere 1976. At 10 000 ft tables of geometric altitude give 10.108.
    for (elevation, psi) in
        [(0.0, 14.696), (200.0, 14.590), (1000.0, 14.173), (5000.0, 12.229), (7000.0, 11.340), (10_000.0, 10.107)]
    {
        near(&format!("{elevation} ft"), atmosphere(feet(elevation)).unwrap().to(PressureUnit::Psi), psi, 0.003);
    }
    near("11 km", atmosphere("11km".parse().unwrap()).unwrap().to(PressureUnit::Millibar), 226.32, 0.05);
}

#[test]
fn an_orifice_agrees_with_the_published_table_to_two_thousandths() {
    // Cubic feet per hour of propane, specific gravity 1.50, at 11 in. w.c.: a plumbing textbook's table.
    let table = [
        ("#80", 0.579),
        ("#79", 0.667),
        ("#78", 0.813),
        ("#77", 1.029),
        ("#76", 1.270),
        ("#75", 1.400),
        ("#74", 1.607),
        ("#73", 1.829),
        ("#72", 1.984),
        ("#71", 2.146),
        ("#70", 2.489),
        ("#69", 2.707),
        ("#68", 3.051),
        ("#67", 3.251),
        ("#66", 3.457),
        ("#65", 3.889),
        ("#64", 4.114),
        ("#63", 4.346),
        ("#62", 4.584),
    ];
    for (name, cfh) in table {
        let drill: Drill = name.parse().unwrap();
        let flow = orifice_flow(drill.diameter_in(), inwc(11.0), OrificeGas::PROPANE).unwrap();
        near(name, flow.cfh, cfh, 0.002 * cfh);
    }
}

#[test]
fn drills_grow_and_the_nearest_one_is_found() {
    let sizes: Vec<f64> = Drill::all().map(Drill::diameter_in).collect();
    assert!(sizes.is_sorted_by(|a, b| a < b), "{sizes:?}");
    let gas = OrificeGas::PROPANE;
    // Half of 42 000 Btu/h: #55 makes 21 600, #56 17 273.
    let (drill, flow) = drill_for_at_least(21_000.0, inwc(11.0), gas).unwrap().unwrap();
    assert_eq!(drill.to_string(), "#55");
    near("#55", flow.btu_h, 21_600.0, 150.0);
    let (drill, _) = nearest_drill(18_000.0, inwc(11.0), gas).unwrap().unwrap();
    assert_eq!(drill.to_string(), "#56");
    assert!(nearest_drill(100.0, inwc(11.0), gas).unwrap().is_none());
    assert!(drill_for_at_least(90_000.0, inwc(11.0), gas).unwrap().is_none());
}

#[test]
fn propane_agrees_with_the_reference_equation_to_a_third_of_a_psi() {
    // psi gauge at sea level from the reference equation of state (Lemmon 2009).
    let table = [
        (-30.0, 5.7),
        (0.0, 23.69),
        (20.0, 41.1),
        (40.0, 63.9),
        (60.0, 93.02),
        (70.0, 110.21),
        (80.0, 129.34),
        (100.0, 173.92),
        (110.0, 199.6),
    ];
    for (fahrenheit, psig) in table {
        near(&format!("{fahrenheit} °F"), propane_psig(air(fahrenheit), Elevation::SEA_LEVEL).unwrap(), psig, 0.3);
    }
}

#[test]
fn temperature_and_water_column_move_a_line_as_the_fact_sheet_says() {
    let change =
        |start: f64, elevation: f64| warmed_inwc(inwc(start), air(60.0), air(61.0), feet(elevation)).unwrap() - start;
    near("8 in. at sea level", change(8.0, 0.0), 0.798, 0.001);
    near("10 in. at sea level", change(10.0, 0.0), 0.802, 0.001);
    near("8 in. at 5000 ft", change(8.0, 5000.0), 0.667, 0.001);
    near("1/4 in. tube on 50 in³", u_tube_fraction(50.0, 0.25, inwc(11.0), feet(0.0)).unwrap(), 0.83, 0.005);
}

#[test]
fn a_leak_is_the_gas_that_left() {
    let rate = leak_rate(50.0 / 1728.0, inwc(1.0), 3.0).unwrap();
    near("50 in³, 1 in., 3 min", rate.scfh, 0.0014, 0.00005);
    near("as heat", rate.btu_h, 3.5, 0.1);
    let allowance = Pressure::of(10.0, PressureUnit::Millibar).unwrap();
    near(
        "G 607 limit",
        leak_rate("700cm3".parse::<pigtail::model::Volume>().unwrap().ft3(), allowance, 5.0).unwrap().l_h,
        0.083,
        0.0002,
    );
    assert_eq!(smallest_leak(0.05, inwc(0.1), 3.0).unwrap(), leak_rate(0.05, inwc(0.1), 3.0).unwrap());
}

#[test]
fn tubes_hold_what_tables_say_to_half_a_thousandth() {
    for (tube, in3) in [
        (Tube::Copper38, 0.912),
        (Tube::Copper12, 1.792),
        (Tube::Copper58, 2.903),
        (Tube::CopperL12, 1.743),
        (Tube::Steel12, 3.646),
        (Tube::Steel34, 6.399),
    ] {
        near(&tube.to_string(), volume_in3(tube.bore_in(), 1.0).unwrap(), in3, 0.0006);
    }
}

#[test]
fn elevation_lowers_an_input_by_the_convention_named() {
    let percent = |elevation: &str, convention| derating_percent(elevation.parse().unwrap(), convention).unwrap();
    for (elevation, from_sea_level, from_2000_ft) in [
        ("0ft", 0.0, 0.0),
        ("2000ft", 0.0, 0.0),
        ("2001ft", 8.004, 4.0),
        ("5000ft", 20.0, 12.0),
        ("1524m", 20.0, 12.0),
        ("5001ft", 20.004, 16.0),
        ("8000ft", 32.0, 24.0),
    ] {
        near(elevation, percent(elevation, Convention::FromSeaLevel), from_sea_level, 1e-6);
        near(elevation, percent(elevation, Convention::From2000Ft), from_2000_ft, 1e-6);
    }
    let unchanged = |elevation| natural_fraction(feet(elevation), inwc(11.0)).unwrap();
    near("unchanged orifice at 5000 ft", unchanged(5000.0), 0.915, 0.0006);
    near("unchanged orifice at 10 000 ft", unchanged(10_000.0), 0.834, 0.0006);
}

#[test]
fn outside_its_range_every_formula_refuses() {
    let refusals: [(&str, Result<f64, OutOfRange>); 14] = [
        ("elevation", atmosphere(feet(36_500.0)).map(Pressure::inwc)),
        ("elevation", atmosphere(feet(-4_000.0)).map(Pressure::inwc)),
        ("temperature", warmed_inwc(inwc(8.0), air(60.0), air(151.0), feet(0.0))),
        ("line pressure", warmed_inwc(inwc(900.0), air(60.0), air(61.0), feet(0.0))),
        ("tube bore", u_tube_fraction(50.0, 3.0, inwc(8.0), feet(0.0))),
        ("volume", u_tube_fraction(0.0, 0.25, inwc(8.0), feet(0.0))),
        ("volume", leak_rate(f64::NAN, inwc(1.0), 3.0).map(|rate| rate.scfh)),
        ("time", leak_rate(0.05, inwc(1.0), 0.0).map(|rate| rate.scfh)),
        ("inside diameter", volume_in3(-1.0, 1.0)),
        ("orifice diameter", orifice_flow(0.3, inwc(11.0), OrificeGas::PROPANE).map(|flow| flow.cfh)),
        ("pressure", orifice_flow(0.02, inwc(40.0), OrificeGas::PROPANE).map(|flow| flow.cfh)),
        ("elevation", derating_percent(feet(20_000.0), Convention::FromSeaLevel)),
        ("liquid temperature", propane_absolute(air(131.0)).map(Pressure::inwc)),
        ("liquid temperature", propane_absolute(air(-41.0)).map(Pressure::inwc)),
    ];
    for (what, refusal) in refusals {
        assert_eq!(refusal.as_ref().err().map(|error| error.what), Some(what), "{refusal:?}");
    }
}
