//! House rules: what they may change, what they may not, and what is said to have changed.

use pigtail::model::{Named, PackId, Span};
use pigtail::rules::{
    Anchor, Authority, Case, FactKind, LabelUse, Late, Pack, Period, Precision, Rule, RuleBook, RuleError, RuleProblem,
    differences, parse_house,
};

fn shipped(pack: PackId) -> Pack {
    RuleBook::new(&[]).unwrap().pack(pack).clone()
}

fn laid_over(pack: &Pack, house: &str) -> Result<Pack, RuleError> {
    let mut laid = pack.clone();
    parse_house("house.toml", &format!("pack = \"{}\"\n{house}", pack.id))?.apply(&mut laid)?;
    Ok(laid)
}

fn change(rule: &Rule, spec: &str, line: &str) -> String {
    let spec = if spec.is_empty() { String::new() } else { format!("spec = \"{spec}\"\n") };
    format!("[[change]]\nrule = \"{}\"\nreason = \"because we say so\"\n{spec}{line}\n", rule.id)
}

/// A specification that falls under the case.
fn spec_of(case: &Case) -> String {
    case.specs.first().map_or_else(|| "NOTHING-KNOWN".to_owned(), |spec| spec.to_string().replace('*', "X"))
}

fn month_more(span: Span) -> Span {
    match span {
        Span::Months(months) => Span::Months(months + 1),
        Span::Days(days) => Span::Days(days + 1),
    }
}

/// Every line that loosens the rule for one of its cases, with the case's citation.
fn loosenings(rule: &Rule) -> Vec<(String, String, String)> {
    let mut found = Vec::new();
    let first_cite = &rule.cases[0].cite;
    let mut whole = |line: String| found.push((String::new(), line, first_cite.clone()));
    for late in Late::ALL.iter().filter(|late| rule.late != Late::Advise && **late == Late::Advise) {
        whole(format!("late = \"{late}\""));
    }
    if rule.late == Late::NotToBeRefilled {
        whole("late = \"off-rent\"".to_owned());
    }
    for label in LabelUse::ALL.iter().filter(|label| **label != rule.label && **label != LabelUse::Earlier) {
        whole(format!("label = \"{label}\""));
    }
    if rule.precision == Precision::Day {
        whole("precision = \"month\"".to_owned());
    }
    for dropped in &rule.opened_by {
        let rest: Vec<String> =
            rule.opened_by.iter().filter(|event| *event != dropped).map(|event| format!("\"{event}\"")).collect();
        whole(format!("opened_by = [{}]", rest.join(", ")));
    }
    for dropped in &rule.skills {
        let rest: Vec<String> =
            rule.skills.iter().filter(|skill| *skill != dropped).map(|skill| format!("\"{skill}\"")).collect();
        whole(format!("skills = [{}]", rest.join(", ")));
    }
    for case in &rule.cases {
        let Period::Intervals { first, after } = &case.period else { continue };
        let mut here = |line: String| found.push((spec_of(case), line, case.cite.clone()));
        match first {
            Some((anchor, span)) => {
                here(format!("first = \"{}\"", month_more(*span)));
                here(format!("first = {{ from = \"{anchor}\", span = \"{}\" }}", month_more(*span)));
                let exists = |other: &Anchor| rule.kinds.iter().all(|kind| other.exists_on(*kind));
                for other in Anchor::ALL.iter().filter(|other| *other != anchor && exists(other)) {
                    here(format!("first = {{ from = \"{other}\", span = \"1 day\" }}"));
                }
            }
            None if rule.kinds[0].name() == "unit" => {
                here("first = { from = \"in-service\", span = \"1 day\" }".to_owned());
            }
            None => {}
        }
        for fact in FactKind::ALL.iter().filter(|fact| rule.kinds.iter().all(|kind| fact.exists_on(*kind))) {
            let longer = after.get(fact).map_or(Span::Days(1), |span| month_more(*span));
            here(format!("after = {{ {fact} = \"{longer}\" }}"));
        }
    }
    found
}

#[test]
fn no_law_and_no_standard_can_be_loosened() {
    let mut tried = 0;
    for id in PackId::ALL {
        let pack = shipped(*id);
        for rule in pack.rules.iter().filter(|rule| matches!(rule.authority, Authority::Law | Authority::Standard)) {
            for (spec, line, cite) in loosenings(rule) {
                let error = laid_over(&pack, &change(rule, &spec, &line)).unwrap_err();
                let RuleProblem::Loosened(looser) = error.problem.as_ref() else {
                    panic!("{id} {} {line}: {error}", rule.id)
                };
                assert_eq!((&looser.rule, &looser.cite), (&rule.id, &cite), "{id} {line}");
                assert!(error.to_string().contains(&cite), "{error}");
                tried += 1;
            }
        }
    }
    assert!(tried > 100, "only {tried} loosenings were tried");
}

#[test]
fn every_other_rule_can_be_loosened_with_a_reason() {
    for id in PackId::ALL {
        let pack = shipped(*id);
        for rule in pack.rules.iter().filter(|rule| rule.authority.may_be_loosened()) {
            for (spec, line, _) in loosenings(rule) {
                let laid = laid_over(&pack, &change(rule, &spec, &line))
                    .unwrap_or_else(|error| panic!("{id} {line}: {error}"));
                let changed = laid.rule(&rule.id).unwrap();
                assert_eq!(changed.authority, rule.authority);
                let told = format!("{:?} {:?}", changed.note, changed.cases);
                assert!(told.contains("ouse rule: because we say so"), "{id} {} {line}: {told}", rule.id);
            }
        }
    }
}

#[test]
fn every_rule_can_be_tightened() {
    for id in PackId::ALL {
        let pack = shipped(*id);
        for rule in &pack.rules {
            for case in &rule.cases {
                let Period::Intervals { first, after } = &case.period else { continue };
                let mut lines: Vec<String> =
                    after.keys().map(|fact| format!("after = {{ {fact} = \"20 days\" }}")).collect();
                if first.is_some_and(|(_, span)| span != Span::Days(0)) {
                    lines.push("first = \"20 days\"".to_owned());
                }
                for line in lines {
                    let laid = laid_over(&pack, &change(rule, &spec_of(case), &line))
                        .unwrap_or_else(|error| panic!("{error}"));
                    let found = differences(&pack, &laid);
                    assert_eq!(found.len(), 1, "{id} {} {line}: {found:?}", rule.id);
                    assert!(found[0].after.as_ref().unwrap().starts_with("20 days"), "{found:?}");
                }
            }
        }
    }
}

#[test]
fn notice_and_planning_are_free() {
    let pack = shipped(PackId::Us);
    for rule in &pack.rules {
        let line = "notice = \"1 day\"\nearliest = \"2 days\"\nminutes = 33";
        let laid = laid_over(&pack, &change(rule, "", line)).unwrap();
        let changed = laid.rule(&rule.id).unwrap();
        assert_eq!((changed.notice, changed.earliest, changed.minutes), (Span::Days(1), Span::Days(2), 33));
    }
}

/// One refused line leaves the pack untouched, also by the lines before it.
#[test]
fn refused_house_rules_change_nothing() {
    let pack = shipped(PackId::Us);
    let mut laid = pack.clone();
    let text = "pack = \"us\"\n[[change]]\nrule = \"hose\"\nreason = \"r\"\nfirst = \"8 years\"\n\
        [[change]]\nrule = \"smoke-alarm\"\nreason = \"r\"\nfirst = \"11 years\"\n";
    let error = parse_house("house.toml", text).unwrap().apply(&mut laid).unwrap_err();
    assert_eq!((error.line, error.column), (9, 9));
    assert_eq!(laid.rules, pack.rules);
}

#[test]
fn a_later_change_cannot_undo_a_tightening_of_law() {
    let pack = shipped(PackId::Us);
    let rule = pack.rule(&"cylinder-requalification".parse().unwrap()).unwrap();
    let both = change(rule, "DOT-4BA240", "first = \"8 years\"") + &change(rule, "DOT-4BA240", "first = \"9 years\"");
    let error = laid_over(&pack, &both).unwrap_err();
    assert!(matches!(*error.problem, RuleProblem::Loosened(_)), "{error}");
}

#[test]
fn a_change_without_spec_is_for_every_case() {
    let pack = shipped(PackId::Us);
    let rule = pack.rule(&"regulator".parse().unwrap()).unwrap();
    let laid = laid_over(&pack, &change(rule, "", "first = \"10 years\"")).unwrap();
    for case in &laid.rule(&rule.id).unwrap().cases {
        let Period::Intervals { first: Some((_, span)), .. } = case.period else { panic!("{case:?}") };
        assert_eq!(span, Span::Months(120));
    }
}

#[test]
fn a_rule_of_the_house_stands_on_the_house_and_cites_its_reason() {
    let pack = shipped(PackId::Us);
    let own = "[[rule]]\nid = \"tyres\"\nwhat = \"look at tyres\"\nkinds = [\"unit\"]\nreason = \"two burst in 2025\"\n\
        precision = \"day\"\nnotice = \"7 days\"\nlate = \"off-rent\"\nminutes = 5\n\
        [[rule.case]]\nafter = { pass = \"1 month\" }\n";
    let laid = laid_over(&pack, own).unwrap();
    let rule = laid.rule(&"tyres".parse().unwrap()).unwrap();
    assert_eq!(rule.authority, Authority::House);
    assert_eq!(rule.cases[0].cite, "house rule: two burst in 2025");
}

#[test]
fn only_limits_of_practice_are_the_houses_to_set() {
    for id in PackId::ALL {
        let pack = shipped(*id);
        for (name, limit) in pack.limits.figures() {
            let house = format!("[[limit]]\nname = \"{name}\"\nvalue = {:?}\nreason = \"ours\"\n", limit.value);
            match laid_over(&pack, &house) {
                Ok(laid) => {
                    assert!(limit.practice, "{id} {name}");
                    assert!(
                        laid.limits
                            .figures()
                            .iter()
                            .any(|(other, limit)| *other == name && limit.cite == "house rule: ours")
                    );
                }
                Err(error) => {
                    assert!(!limit.practice, "{id} {name}: {error}");
                    assert!(error.to_string().contains(&limit.cite), "{error}");
                }
            }
        }
    }
}

/// Dates kept under other rules are stale, so every house rule must change the fingerprint.
#[test]
fn house_rules_change_the_fingerprint() {
    let house =
        parse_house("h", "pack = \"de\"\n[[change]]\nrule = \"hose\"\nreason = \"r\"\nfirst = \"9 years\"\n").unwrap();
    let plain = RuleBook::new(&[]).unwrap();
    let changed = RuleBook::new(&[house]).unwrap();
    assert_ne!(plain.fingerprint(), changed.fingerprint());
    assert_eq!(plain.pack(PackId::Us).rules, changed.pack(PackId::Us).rules);
    assert_ne!(plain.pack(PackId::De).rules, changed.pack(PackId::De).rules);
}

/// The fenced blocks of a page, each with its language.
fn blocks(page: &str) -> Vec<(&str, &str)> {
    let fences = page.split("```").skip(1).step_by(2);
    fences.map(|block| block.split_once('\n').unwrap()).collect()
}

/// The examples of `docs/rules.md` say what the program says.
#[test]
fn the_examples_in_the_documents_are_true() {
    let page = std::fs::read_to_string("docs/rules.md").unwrap();
    let blocks = blocks(&page);
    let languages: Vec<&str> = blocks.iter().map(|(language, _)| *language).collect();
    assert_eq!(languages, ["toml", "text", "toml", "text"]);
    for pair in blocks.chunks(2) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("house.toml");
        std::fs::write(&path, pair[0].1).unwrap();
        let said = super::rules_broken::run(&["check", path.to_str().unwrap()]);
        let heard = format!("{}{}", said.out, said.talk).replace(path.to_str().unwrap(), "house.toml");
        assert_eq!(heard, pair[1].1);
    }
}

/// What falls away with an earlier house file is said as well.
#[test]
fn rules_that_fall_away_are_differences() {
    let pack = shipped(PackId::Us);
    let mut smaller = pack.clone();
    let gone = smaller.rules.pop().unwrap();
    let found = differences(&pack, &smaller);
    let told = (found.len(), found[0].rule.as_str(), found[0].before.as_ref(), found[0].after.as_ref());
    assert_eq!(told, (1, gone.id.as_str(), Some(&gone.what), None));
}
