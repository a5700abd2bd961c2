//! Broken rule files: what is said about each, and that no input makes the parser fail or dawdle.

use pigtail::cli::{self, Terminal};
use pigtail::rules::{MAX_RULE_FILE_BYTES, RuleError, RuleProblem, parse_house, parse_pack};
use proptest::prelude::{Just, ProptestConfig, Strategy, any, prop_assert, prop_oneof, proptest};
use proptest::sample::Index;
use std::ffi::OsString;
use std::path::Path;
use std::time::{Duration, Instant};

/// What one run of the program said.
pub struct Said {
    pub status: u8,
    pub out: String,
    pub talk: String,
}

/// Runs `pigtail rules …` without a fleet file.
pub fn run(arguments: &[&str]) -> Said {
    let before = ["pigtail", "--db", "fixtures/no-such-fleet.db", "rules"];
    let arguments = before.into_iter().chain(arguments.iter().copied()).map(OsString::from);
    let (mut out, mut talk) = (Vec::new(), Vec::new());
    let status = cli::run(arguments, &mut out, &mut talk, Terminal::default()).code();
    Said { status, out: String::from_utf8(out).unwrap(), talk: String::from_utf8(talk).unwrap() }
}

#[test]
fn each_broken_file_is_refused_in_its_own_words() {
    let mut seen = 0;
    for entry in std::fs::read_dir("fixtures/broken-rules").unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|extension| extension == "stderr") {
            assert!(path.with_extension("toml").exists(), "{} stands alone", path.display());
            continue;
        }
        let expected = std::fs::read_to_string(path.with_extension("stderr")).unwrap();
        let name = path.to_str().unwrap().replace('\\', "/");
        let said = run(&["check", &name]);
        assert_eq!((said.status, said.out.as_str()), (2, ""), "{name}");
        assert_eq!(said.talk, expected, "{name}");
        seen += 1;
    }
    assert!(seen >= 80, "only {seen} broken files were found");
}

#[test]
fn a_file_that_is_not_there_is_refused() {
    let said = run(&["check", "fixtures/broken-rules/absent.toml"]);
    assert_eq!(said.status, 2);
    assert!(said.talk.starts_with("error: fixtures/broken-rules/absent.toml: "), "{}", said.talk);
}

fn pack_text(name: &str) -> String {
    std::fs::read_to_string(Path::new("schema/rules").join(name)).unwrap()
}

/// An error points into the text it is about, and can be drawn.
fn points_into(error: &RuleError, text: &str) -> bool {
    let line = text.split('\n').nth(error.line - 1);
    let inside = line.is_some_and(|line| error.column <= line.chars().count() + 1);
    inside && error.snippet().starts_with("error: ") && !error.problem.hint().is_empty()
}

/// A piece of text to splice into a rule file: noise, or something that means something there.
fn splices() -> impl Strategy<Value = String> {
    prop_oneof![
        any::<String>(),
        Just(String::new()),
        Just("[[rule]]\n".to_owned()),
        Just("\"0 days\"".to_owned()),
        Just("after = {}".to_owned()),
        Just("specs = [\"*\"]\n".to_owned()),
        Just("\u{1f9ef}\u{202e}\r".to_owned()),
        Just("\0".to_owned()),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn no_text_makes_the_parser_panic(text in any::<String>()) {
        for outcome in [parse_pack("x", &text).err(), parse_house("x", &text).err()].into_iter().flatten() {
            prop_assert!(points_into(&outcome, &text), "{outcome}");
        }
    }

    #[test]
    fn no_mutation_of_a_pack_makes_the_parser_panic(name in 0..3_usize, from in any::<Index>(), length in 0..40_usize, splice in splices()) {
        let pack = pack_text(["us.toml", "ca.toml", "de.toml"][name]);
        let chars: Vec<char> = pack.chars().collect();
        let from = from.index(chars.len());
        let to = (from + length).min(chars.len());
        let text: String = chars[..from].iter().chain(splice.chars().collect::<Vec<_>>().iter()).chain(&chars[to..]).collect();
        if let Err(error) = parse_pack("x", &text) {
            prop_assert!(points_into(&error, &text), "{error}");
        }
    }
}

#[test]
fn a_file_over_the_limit_is_refused_unread() {
    let comment = format!("# {}\n", "x".repeat(MAX_RULE_FILE_BYTES));
    let error = parse_pack("x", &comment).unwrap_err();
    assert_eq!(*error.problem, RuleProblem::TooLarge { bytes: comment.len() });
}

/// Shapes that a careless parser takes quadratic time or unbounded stack over, each as long as a file may be.
#[test]
fn the_longest_files_are_read_at_once() {
    let room = MAX_RULE_FILE_BYTES - 200;
    let lines = |each: &dyn Fn(usize) -> String| {
        let mut text = String::new();
        for number in 0.. {
            let line = each(number);
            if text.len() + line.len() > room {
                return text;
            }
            text.push_str(&line);
        }
        text
    };
    let spec = |number: usize| format!("\"S{number}X\",");
    let rule = "[[rule]]\nid='a'\nwhat='w'\nkinds=['hose']\nauthority='law'\nnotice='1 day'\n";
    for (name, text) in [
        ("tables", lines(&|number| format!("[a{number}]\n"))),
        ("rules", lines(&|number| format!("[[rule]]\nid='r{number}'\n"))),
        ("nested lists", format!("a={}", "[".repeat(room))),
        ("nested tables", format!("a={}", "{a=".repeat(room / 3))),
        ("dotted keys", format!("{}b=1", "a.".repeat(room / 2))),
        ("one long text", format!("pack='us'\ntitle='{}'", "é".repeat(room / 2))),
        ("specs", format!("pack='us'\ntitle='t'\nscope='s'\n{rule}[[rule.case]]\nspecs=[{}]", lines(&spec))),
        ("cases", format!("pack='us'\ntitle='t'\nscope='s'\n{rule}{}", lines(&|_| "[[rule.case]]\n".to_owned()))),
        ("changes", format!("pack='us'\n{}", lines(&|_| "[[change]]\nrule='hose'\n".to_owned()))),
    ] {
        let started = Instant::now();
        let errors = [parse_pack("x", &text).unwrap_err(), parse_house("x", &text).unwrap_err()];
        assert!(errors.iter().all(|error| points_into(error, &text)), "{name}");
        let took = started.elapsed();
        assert!(took < Duration::from_secs(10), "{name} took {took:?}");
    }
}
