//! Pressures, temperatures, elevations, lengths and volumes as people type them, and the limits' own rules.

use pigtail::model::{
    Elevation, GasLimits, Length, LimitError, PackId, Pressure, PressureUnit, Temperature, TimedReading, Vent, Volume,
};
use pigtail::rules::RuleBook;

#[test]
fn pressures_are_read_in_every_usual_spelling() {
    for (text, inwc) in [
        ("11", 11.0),
        (" 11.0 ", 11.0),
        (".5", 0.5),
        ("11.", 11.0),
        ("1.1e1", 11.0),
        ("11inwc", 11.0),
        ("11 in. w.c.", 11.0),
        ("11 inH2O", 11.0),
        ("11 in. H₂O", 11.0),
        ("11\"wc", 11.0),
        ("11″ w.g.", 11.0),
        ("11 inches of water", 11.0),
        ("6.1+6.1", 12.2),
        ("6.1 + 6.1 inwc", 12.2),
        ("139.7+139.7mm H2O", 11.0),
        ("27.39978 mbar", 11.0),
        ("27.39978hPa", 11.0),
        ("2.739978 kPa", 11.0),
        ("2739.978Pa", 11.0),
        ("0.02739978 bar", 11.0),
        ("0.3974 psi", 11.0),
        ("6.3584 oz", 11.0),
        ("6.3584 oz/in²", 11.0),
        ("6.3584 oz/sq in", 11.0),
        ("0.80911 inHg", 11.0),
        ("279.4mmwc", 11.0),
    ] {
        let pressure: Pressure = text.parse().unwrap_or_else(|error| panic!("{text}: {error}"));
        assert!((pressure.inwc() - inwc).abs() < 3e-4, "{text}: {}", pressure.inwc());
    }
}

#[test]
fn what_is_no_pressure_is_refused_with_the_reason() {
    let digits = "9".repeat(400);
    for (text, reason) in [
        ("", "is blank"),
        ("   ", "is blank"),
        ("NaN", "does not begin with a number"),
        ("inf", "does not begin with a number"),
        ("-inf", "does not begin with a number"),
        ("eleven", "does not begin with a number"),
        ("psi", "does not begin with a number"),
        (".", "does not begin with a number"),
        ("1e999", "beyond any number that can be held"),
        (digits.as_str(), "beyond any number that can be held"),
        ("1e12", "beyond 10 000 bar"),
        ("-1", "is negative"),
        ("-0.1psi", "is negative"),
        ("27,4", "has a comma"),
        ("6.1+6,1", "has a comma"),
        ("6.1+", "not the two legs"),
        ("6.1+-6.1", "not the two legs"),
        ("1+2+3", "not the two legs"),
        ("6.1in+6.1in", "not the two legs"),
        ("11 furlongs", "is not a unit of pressure; known are inwc, mbar"),
        ("11 11", "is not a unit of pressure"),
        ("11mPA/s", "is not a unit of pressure"),
        ("11\u{202e}psi", "is not a unit of pressure"),
    ] {
        let error = text.parse::<Pressure>().expect_err(text).to_string();
        assert!(error.contains(reason), "{text}: {error}");
        assert!(error.chars().count() < 200, "{text}: {error}");
    }
}

#[test]
fn units_are_as_large_as_their_definitions() {
    for (unit, pascals) in [
        (PressureUnit::InchOfWater, 249.088_91),
        (PressureUnit::MillimetreOfWater, 9.806_65),
        (PressureUnit::Psi, 6_894.757_293_168_36),
        (PressureUnit::OunceSquareInch, 430.922_330_823_02),
        (PressureUnit::InchOfMercury, 3_386.388_640_341),
    ] {
        let relative = unit.pascals() / pascals - 1.0;
        assert!(relative.abs() < 1e-12, "{unit}: {}", unit.pascals());
    }
    for unit in PressureUnit::ALL {
        assert_eq!(unit.name().parse::<PressureUnit>().unwrap(), unit);
    }
}

#[test]
fn surroundings_and_sizes_are_read_in_their_units() {
    let near = |text: &str, got: f64, expected: f64| assert!((got - expected).abs() < 1e-6, "{text}: {got}");
    for (text, fahrenheit) in
        [("60", 60.0), ("60F", 60.0), ("60 °F", 60.0), ("-4F", -4.0), ("15.5C", 59.9), ("0C", 32.0), ("288.15K", 59.0)]
    {
        near(text, text.parse::<Temperature>().unwrap().fahrenheit(), fahrenheit);
    }
    for (text, feet) in [("200", 200.0), ("200ft", 200.0), ("60.96m", 200.0), ("-280 ft", -280.0), ("1.524km", 5000.0)]
    {
        near(text, text.parse::<Elevation>().unwrap().feet(), feet);
    }
    for (text, inches) in [("12in", 12.0), ("1ft", 12.0), ("25.4mm", 1.0), ("2.54 cm", 1.0), ("0.3048m", 12.0)] {
        near(text, text.parse::<Length>().unwrap().inches(), inches);
    }
    for (text, in3) in [("50in3", 50.0), ("1 ft³", 1728.0), ("16.387064cc", 1.0), ("0.7L", 42.716_6)] {
        assert!((text.parse::<Volume>().unwrap().in3() - in3).abs() < 1e-3, "{text}");
    }
    for text in ["-500F", "nan", "60X", "60-", "1e999", "0K", ""] {
        assert!(text.parse::<Temperature>().is_err(), "{text}");
    }
    for text in ["5 miles", "200 .", "inf", "1e9"] {
        assert!(text.parse::<Elevation>().is_err(), "{text}");
    }
    for text in ["50", "-1in3", "1e300ft3", "50 in"] {
        assert!(text.parse::<Volume>().is_err(), "{text}");
    }
}

#[test]
fn timed_readings_and_vents_are_written_as_they_are_read() {
    for text in ["14.6@5", "14.6", "6.1+6.1@0.5", "27.4mbar@3"] {
        assert_eq!(text.parse::<TimedReading>().unwrap().to_string(), text);
    }
    for text in ["14.6@", "14.6@-1", "14.6@nan", "@5", "14.6@99999"] {
        assert!(text.parse::<TimedReading>().is_err(), "{text}");
    }
    for text in ["0", "45", "180", "unseen"] {
        assert_eq!(text.parse::<Vent>().unwrap().to_string(), text);
    }
    for text in ["181", "-1", "down", "45.5", ""] {
        assert!(text.parse::<Vent>().is_err(), "{text}");
    }
}

fn limits() -> GasLimits {
    RuleBook::new(&[]).unwrap().pack(PackId::Us).limits.clone()
}

#[test]
fn limits_say_where_they_stand_and_survive_being_written() {
    let limits = limits().checked().unwrap();
    assert_eq!(limits.figures().len(), GasLimits::NAMES.len());
    for (name, limit) in limits.figures() {
        assert!(limit.cite.len() > 15, "{name}: {}", limit.cite);
    }
    assert_eq!(toml::from_str::<GasLimits>(&toml::to_string(&limits).unwrap()).unwrap(), limits);
}

#[test]
fn the_page_for_users_shows_every_figure() {
    let page = include_str!("../../docs/gas-tests.md");
    let limits = limits();
    for (name, limit) in limits.figures() {
        let house = if limit.practice { "yes" } else { "no" };
        let row = format!("| `{name}` | {} | {house} | {} |\n", limit.value, limit.cite);
        assert!(page.contains(&row), "docs/gas-tests.md lacks: {row}");
    }
    for (name, check) in [("dial_check", &limits.dial_check), ("digital_check", &limits.digital_check)] {
        let row = format!("| `{name}` | {} | no | {} |\n", check.span, check.cite);
        assert!(page.contains(&row), "docs/gas-tests.md lacks: {row}");
    }
}

#[test]
fn a_house_sets_what_stands_on_practice_and_nothing_else() {
    let house = |name: &str, value: f64, reason: &str| limits().with(name, value, reason);
    let changed = house("flow_min_inwc", 10.4, "our heaters sulk below it").unwrap();
    assert_eq!(changed.flow_min_inwc.value, 10.4);
    assert_eq!(changed.flow_min_inwc.cite, "house rule: our heaters sulk below it");
    for (name, value, reason, error) in [
        ("lockup_max_inwc", 15.0, "why not", "lockup_max_inwc is not the house's to set: UL 144:2002"),
        ("flow_min_inwc", 10.4, " ", "flow_min_inwc is changed without a reason"),
        ("flow_min_inwc", 10.6, "strict", "flow_min_inwc is above flow_caution_min_inwc"),
        ("flow_min_inwc", f64::NAN, "strict", "flow_min_inwc is NaN; it must be zero or more"),
        ("flow_min_inwk", 10.4, "strict", "`flow_min_inwk` is not a gas test limit; nearest is `flow_min_inwc`"),
    ] {
        let refusal: LimitError = house(name, value, reason).expect_err(error);
        assert!(refusal.to_string().starts_with(error), "{refusal}");
    }
}
