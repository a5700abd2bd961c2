//! Rule packs: what they say, against the fact sheets; and how they are listed and shown.

use super::rules_broken::run;
use pigtail::model::{Named, PackId, PartKind};
use pigtail::rules::{Anchor, Authority, FactKind, ItemKind, Period, RuleBook};

fn shipped() -> RuleBook {
    RuleBook::new(&[]).unwrap()
}

/// Intervals of one specification, written `from span` for the first and `fact span` for the later ones, sorted.
fn intervals(pack: PackId, rule: &str, spec: &str) -> String {
    let book = shipped();
    let rule = book.pack(pack).rule(&rule.parse().unwrap()).unwrap();
    let Some(case) = rule.case_for(spec) else { return "unknown".to_owned() };
    match &case.period {
        Period::Intervals { first, after } => {
            let first = first.map(|(anchor, span)| format!("{anchor} {span}"));
            let after = after.iter().map(|(fact, span)| format!("{fact} {span}"));
            first.into_iter().chain(after).collect::<Vec<_>>().join(", ")
        }
        Period::Undated(_) => "undated".to_owned(),
        Period::Exempt => "exempt".to_owned(),
    }
}

/// Figures read from the fact sheets, not from the packs; the comment is the sheet's section.
#[test]
fn figures_are_those_of_the_fact_sheets() {
    let four = "made 12 years, external-visual 5 years, proof-pressure 10 years, volumetric 12 years";
    let canadian = "made 10 years, external-visual 10 years, proof-pressure 10 years, volumetric 10 years";
    let shorter = "made 10 years, external-visual 5 years, proof-pressure 10 years, volumetric 10 years";
    let three = "made 5 years, external-visual 5 years, proof-pressure 5 years, volumetric 5 years, ultrasonic 5 years";
    let foreign = "made 5 years, external-visual 5 years, proof-pressure 5 years, volumetric 5 years";
    let check = |pack: PackId, rule: &str, spec: &str, expected: &str| {
        assert_eq!(intervals(pack, rule, spec), expected, "{pack} {rule} {spec:?}");
    };
    // Cylinders 1: 49 CFR 180.209, table 1 and (e), (g)
    for spec in
        ["DOT-4B240", "DOT-4BA240", "DOT-4BW240", "DOT-4B240ET", "DOT-4E240", "4BA240", "dot 4bw 240", "DOT-4B-240ET"]
    {
        check(PackId::Us, "cylinder-requalification", spec, four);
    }
    for spec in ["DOT-3A2015", "DOT-3AA2265", "DOT-3AL2216", "TC-3AAM153"] {
        check(PackId::Us, "cylinder-requalification", spec, three);
    }
    check(PackId::Us, "cylinder-requalification", "FOREIGN", foreign);
    for spec in ["DOT-SP 13105", "DOT-SP13105", "DOT-E 7042", "DOT-39", "TC-39M"] {
        check(PackId::Us, "cylinder-requalification", spec, "undated");
    }
    for spec in ["", "DOT-4X", "DOT-4BAX", "4Z", "40 lb"] {
        check(PackId::Us, "cylinder-requalification", spec, "unknown");
    }
    // Cylinders 6: Canada, and the shorter of both in the US
    check(PackId::Us, "cylinder-requalification", "TC-4BAM17", shorter);
    check(PackId::Us, "cylinder-requalification", "CTC-4B240", shorter);
    for spec in ["TC-4BAM17", "TC-4BWM17", "DOT-4BA240", "ICC-4B240"] {
        check(PackId::Ca, "cylinder-requalification", spec, canadian);
    }
    check(PackId::De, "cylinder-requalification", "EN 1442:2017", canadian);
    check(PackId::De, "cylinder-requalification", "DOT-4BA240", "undated");
    // Cylinders 1, the 7 in table 1: extinguishers
    let tested = "made 12 years, proof-pressure 7 years, volumetric 12 years";
    check(PackId::Us, "extinguisher-requalification", "DOT-4BW240", tested);
    check(PackId::Us, "extinguisher-requalification", "", "exempt");
    check(PackId::Us, "extinguisher-hydrostatic", "DOT-4BW240", "exempt");
    // Gas tests C: ages
    for pack in [PackId::Us, PackId::Ca, PackId::De] {
        check(pack, "hose", "", "made 10 years");
        check(pack, "lp-detector", "35-742", "made 5 years");
        check(pack, "co-detector", "", "made 5 years");
        check(pack, "co-detector", "65 series", "fitted 5 years");
        check(pack, "smoke-alarm", "", "made 10 years");
        check(pack, "extinguisher-look", "", "fitted 1 month, pass 1 month");
        check(pack, "extinguisher-maintenance", "", "made 12 months, pass 12 months");
        check(pack, "extinguisher-six-year", "disposable", "exempt");
        check(pack, "extinguisher-hydrostatic", "non-rechargeable", "exempt");
        check(pack, "extinguisher-replacement", "Disposable 5-B:C", "made 12 years");
        check(pack, "tank-relief-valve", "", "made 10 years, pass 10 years");
        check(pack, "technician-credential", "", "credential-until 0 days");
        // Gas tests D: instruments
        check(pack, "gauge-check", "u-tube", "exempt");
        check(pack, "gauge-check", "dial", "pass 31 days");
        check(pack, "gauge-check", "digital", "pass 12 months");
    }
    for (pack, age) in [(PackId::Us, "15"), (PackId::Ca, "15"), (PackId::De, "10")] {
        check(pack, "regulator", "", &format!("made {age} years"));
    }
    for model in ["R600", "R122H", "R222", "R232A"] {
        check(PackId::Us, "regulator", model, "made 20 years");
    }
    check(PackId::Us, "regulator", "two-stage", "made 10 years");
    // Gas tests B: when
    check(PackId::Us, "gas-test", "", "pass 12 months");
    check(PackId::Ca, "gas-test", "", "pass 12 months");
    check(PackId::De, "gas-test", "", "pass 2 years");
}

#[test]
fn every_pack_covers_every_kind_and_cites_every_case() {
    for pack in shipped().packs() {
        for kind in ItemKind::ALL {
            assert!(pack.rules_for(*kind).next().is_some(), "{}: nothing about {kind}", pack.id);
        }
        for rule in &pack.rules {
            assert!(rule.cases.iter().all(|case| !case.cite.is_empty()), "{} {}", pack.id, rule.id);
            assert_ne!(rule.authority, Authority::House, "{} {}", pack.id, rule.id);
        }
        let cylinder = pack.rule(&"cylinder-requalification".parse().unwrap()).unwrap();
        assert!(cylinder.needs_spec(), "{}: an unknown specification must have no period", pack.id);
        assert_eq!(cylinder.what, "requalify or replace cylinder");
    }
}

/// A mark that is no use on the 4-series must not date a cylinder.
#[test]
fn ultrasonic_marks_date_no_propane_cylinder() {
    for pack in shipped().packs() {
        let rule = pack.rule(&"cylinder-requalification".parse().unwrap()).unwrap();
        for spec in ["DOT-4BA240", "DOT-4E240", "TC-4BAM17"] {
            if let Some(Period::Intervals { after, .. }) = rule.case_for(spec).map(|case| &case.period) {
                assert!(!after.contains_key(&FactKind::Ultrasonic), "{} {spec}", pack.id);
            }
        }
    }
}

#[test]
fn anchors_and_facts_exist_only_where_they_are_recorded() {
    for part in PartKind::ALL {
        let kind = ItemKind::from(*part);
        assert_eq!(FactKind::Volumetric.exists_on(kind), part.takes_marks(), "{kind}");
        assert!(Anchor::Made.exists_on(kind) && !Anchor::InService.exists_on(kind), "{kind}");
    }
}

#[test]
fn rules_as_listed_and_shown() {
    for (name, arguments) in [
        ("rules_list_us", vec!["list", "--pack", "us"]),
        ("rules_list_ca", vec!["list", "--pack", "ca"]),
        ("rules_list_de", vec!["list", "--pack", "de"]),
        ("rules_show_cylinder", vec!["show", "cylinder-requalification"]),
        ("rules_show_extinguisher", vec!["show", "extinguisher-hydrostatic", "--pack", "ca"]),
        ("rules_show_gas_test", vec!["show", "gas-test", "--pack", "de"]),
        ("rules_show_credential_json", vec!["show", "technician-credential", "--format", "json"]),
        ("rules_show_limits", vec!["show", "limits"]),
    ] {
        let said = run(&arguments);
        assert_eq!((said.status, said.talk.as_str()), (0, ""), "{arguments:?}");
        let widest = said.out.lines().map(|line| line.chars().count()).max().unwrap();
        assert!(widest <= 80 || name.ends_with("json"), "{name} is {widest} wide");
        insta::assert_snapshot!(name, said.out);
    }
}

#[test]
fn an_unknown_rule_is_answered_with_the_nearest() {
    let said = run(&["show", "gastest"]);
    assert_eq!(said.status, 2);
    assert_eq!(said.talk, "error: no rule `gastest` in us; nearest is `gas-test`\nhint: pigtail rules show gas-test\n");
}
