//! One typed line as the answer to one question.
//!
//! Owns: reading it into the answers, taking it out again, and showing it back. Refuses: keeping what cannot be read.

use super::answers::{Answers, CheckAnswer, EventAnswer, load_of};
use super::options::{OptionError, field};
use super::question::Question;
use super::scene::Scene;
use super::visit::Replacement;
use crate::model::{
    CheckResult, Dated, DropMethod, EventKind, Named, PartCode, Reading, Stamp, Tap, Text, TimedReading, nearest,
    rounded,
};

/// Why a line is no answer.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AnswerError {
    /// It cannot be read.
    #[error(transparent)]
    Form(#[from] OptionError),
    /// Neither a number on the list nor a name on it.
    #[error("`{}` is not on the list{}", .typed.escape_debug(), .near.as_ref().map(|near| format!("; nearest is {near}")).unwrap_or_default())]
    NotListed {
        /// As typed.
        typed: String,
        /// The nearest name that is.
        near: Option<String>,
    },
    /// A number that is none, or out of range.
    #[error("`{}` is not {wanted}", .typed.escape_debug())]
    Number {
        /// As typed.
        typed: String,
        /// What was wanted.
        wanted: &'static str,
    },
    /// A stamp that cannot be read.
    #[error("stamp `{}` {error}", .typed.escape_debug())]
    Stamp {
        /// As typed.
        typed: String,
        /// What is wrong with it.
        error: crate::model::MarkError,
    },
    /// A failed check without a word why.
    #[error("say what is wrong: fail: and then in which words")]
    NoReason,
}

type Read<T = ()> = Result<T, AnswerError>;

/// Reads `line` into the answers.
///
/// # Errors
/// [`AnswerError`]; the answers are as before then.
pub fn take(question: &Question, line: &str, scene: &Scene, answers: &mut Answers) -> Read {
    let test = &mut answers.test;
    match question {
        Question::By => {
            let chosen = choose(line, &scene.people, |person| person.person.as_str())?;
            answers.by = Some(chosen.person.clone());
        }
        Question::On => answers.on = Some(field("day", line)?),
        Question::Events => {
            let chosen = choose_many(line, EventKind::ALL, |event| event.name())?;
            answers.events =
                chosen.into_iter().map(|event| EventAnswer { event: *event, note: Text::default() }).collect();
        }
        Question::Gauge => {
            test.gauge = Some(choose(line, &scene.gauges, |gauge| gauge.gauge.as_str())?.gauge.clone());
        }
        Question::Tap => test.tap = Some(*choose(line, Tap::ALL, |tap| tap.name())?),
        Question::Lockup => test.lockup = Some(field("lock-up", line)?),
        Question::LockupLater => test.lockup_later = timed("lock-up", line)?,
        Question::Flow => test.flow = Some(field("flow", line)?),
        Question::Load => return load(line, scene, answers),
        Question::Method => test.method = Some(*choose(line, DropMethod::ALL, |method| method.name())?),
        Question::DropStart => test.drop_start = Some(field("start", line)?),
        Question::Air => test.air = Some(field("air", line)?),
        Question::Timer | Question::Minutes => test.minutes = Some(minutes(line)?),
        Question::DropEnd => test.drop_end = Some(field("end", line)?),
        Question::AirAfter => test.air_after = Some(field("air", line)?),
        Question::Vent => test.vent = Some(field("vent", line)?),
        Question::Mark(part) => {
            let made = scene.parts.iter().find(|known| known.part == *part).and_then(|part| part.made);
            Stamp::read(line, scene.today, made.map(Dated::month))
                .map_err(|error| AnswerError::Stamp { typed: line.to_owned(), error })?;
            answers.marks.retain(|(known, _)| known != part);
            answers.marks.push((part.clone(), line.to_owned()));
        }
        Question::Replaced => {
            let chosen = choose_many(line, &scene.parts, |part| part.part.as_str())?;
            let told = std::mem::take(&mut answers.replacements);
            let kept = |part: &PartCode| told.iter().find(|new| new.part == *part).cloned();
            answers.replacements = chosen
                .into_iter()
                .map(|part| kept(&part.part).unwrap_or_else(|| Replacement::of(part.part.clone())))
                .collect();
            let replaced = |part: &PartCode| answers.replacements.iter().any(|new| new.part == *part);
            answers.checks.retain(|check| !check.part.as_ref().is_some_and(replaced));
        }
        Question::Made(part) => new_part(answers, part).made = Some(field("made", line)?),
        Question::Serial(part) => new_part(answers, part).serial = field("serial", line)?,
        Question::ReplaceBy(part) => new_part(answers, part).replace_by = Some(field("replace by", line)?),
        Question::Check(rule, part) => {
            let (result, note) = line.split_once(':').unwrap_or((line, ""));
            let result: CheckResult = field("result", result)?;
            let note: Text = field("note", note)?;
            if result == CheckResult::Fail && note.is_blank() {
                return Err(AnswerError::NoReason);
            }
            answers.checks.retain(|check| !(check.rule == *rule && check.part == *part));
            answers.checks.push(CheckAnswer { rule: rule.clone(), part: part.clone(), result, note });
        }
        Question::Note => answers.note = field("note", line)?,
        Question::Summary => {}
    }
    Ok(())
}

/// Takes the answer to a question out again.
pub fn clear(question: &Question, answers: &mut Answers) {
    let test = &mut answers.test;
    match question {
        Question::By => answers.by = None,
        Question::On | Question::Summary => {}
        Question::Events => answers.events.clear(),
        Question::Gauge => test.gauge = None,
        Question::Tap => test.tap = None,
        Question::Lockup => {
            test.lockup = None;
            test.lockup_later.clear();
        }
        Question::LockupLater => test.lockup_later.clear(),
        Question::Flow => {
            test.flow = None;
            test.load = None;
            test.burning.clear();
        }
        Question::Load => {
            test.load = None;
            test.burning.clear();
        }
        Question::Method => test.method = None,
        Question::DropStart => {
            test.drop_start = None;
            test.drop_between.clear();
            test.drop_end = None;
            test.minutes = None;
            test.air_after = None;
        }
        Question::Air => test.air = None,
        Question::Timer => {
            test.minutes = None;
            test.drop_between.clear();
        }
        Question::Minutes => test.minutes = None,
        Question::DropEnd => test.drop_end = None,
        Question::AirAfter => test.air_after = None,
        Question::Vent => test.vent = None,
        Question::Mark(part) => answers.marks.retain(|(known, _)| known != part),
        Question::Replaced => answers.replacements.clear(),
        Question::Made(part) => new_part(answers, part).made = None,
        Question::Serial(part) => new_part(answers, part).serial = Text::default(),
        Question::ReplaceBy(part) => new_part(answers, part).replace_by = None,
        Question::Check(rule, part) => answers.checks.retain(|check| !(check.rule == *rule && check.part == *part)),
        Question::Note => answers.note = Text::default(),
    }
}

/// The answer as it stands, in words; none where there is none.
#[must_use]
pub fn shown(question: &Question, scene: &Scene, answers: &Answers) -> Option<String> {
    let test = &answers.test;
    let words = |text: &Text| Some(text.to_string()).filter(|text| !text.is_empty());
    let new = |part: &PartCode| answers.replacements.iter().find(|new| new.part == *part);
    match question {
        Question::By => answers.by.as_ref().map(ToString::to_string),
        Question::On => answers.on.map(|on| on.to_string()),
        Question::Events => joined(answers.events.iter().map(|event| event.event.to_string())),
        Question::Gauge => test.gauge.as_ref().map(ToString::to_string),
        Question::Tap => test.tap.map(|tap| tap.to_string()),
        Question::Lockup => test.lockup.as_ref().map(reading),
        Question::LockupLater => joined(test.lockup_later.iter().map(ToString::to_string)),
        Question::Flow => test.flow.as_ref().map(reading),
        Question::Load => shown_load(scene, answers),
        Question::Method => test.method.map(|method| method.to_string()),
        Question::DropStart => test.drop_start.as_ref().map(reading),
        Question::Air => test.air.map(|air| air.to_string()),
        Question::Timer => joined(test.drop_between.iter().map(ToString::to_string)),
        Question::Minutes => test.minutes.map(|minutes| rounded(minutes, 2).to_string()),
        Question::DropEnd => test.drop_end.as_ref().map(reading),
        Question::AirAfter => test.air_after.map(|air| air.to_string()),
        Question::Vent => test.vent.map(|vent| vent.to_string()),
        Question::Mark(part) => answers.marks.iter().find(|(known, _)| known == part).map(|(_, stamp)| {
            let made = scene.parts.iter().find(|known| known.part == *part).and_then(|part| part.made);
            match Stamp::read(stamp, scene.today, made.map(Dated::month)) {
                Ok(read) => {
                    let method = read.method.map(|method| format!(" {method}")).unwrap_or_default();
                    let rin = read.rin.map(|rin| format!(" by {rin}")).unwrap_or_default();
                    format!("{stamp}, read as {}{method}{rin}", read.month)
                }
                Err(error) => format!("{stamp}, which {error}"),
            }
        }),
        Question::Replaced => joined(answers.replacements.iter().map(|new| new.part.to_string())),
        Question::Made(part) => new(part).and_then(|new| new.made).map(|made| made.to_string()),
        Question::Serial(part) => new(part).and_then(|new| words(&new.serial)),
        Question::ReplaceBy(part) => new(part).and_then(|new| new.replace_by).map(|by| by.to_string()),
        Question::Check(rule, part) => {
            let check = answers.checks.iter().find(|check| check.rule == *rule && check.part == *part)?;
            Some(match check.note.is_blank() {
                true => check.result.to_string(),
                false => format!("{}: {}", check.result, check.note),
            })
        }
        Question::Note => words(&answers.note),
        Question::Summary => None,
    }
}

/// A reading in inches of water, behind the typed words where they are others.
#[must_use]
pub fn reading(reading: &Reading) -> String {
    let inwc = reading.pressure().to_string();
    if reading.as_str().parse::<f64>().is_ok() { inwc } else { format!("{reading} = {inwc}") }
}

fn joined(words: impl Iterator<Item = String>) -> Option<String> {
    let words: Vec<String> = words.collect();
    (!words.is_empty()).then(|| words.join(", "))
}

/// The replacement that a question is about; made anew where a draft was edited by hand.
fn new_part<'a>(answers: &'a mut Answers, part: &PartCode) -> &'a mut Replacement {
    let at = match answers.replacements.iter().position(|new| new.part == *part) {
        Some(at) => at,
        None => {
            answers.replacements.push(Replacement::of(part.clone()));
            answers.replacements.len() - 1
        }
    };
    &mut answers.replacements[at]
}

fn timed(what: &'static str, line: &str) -> Read<Vec<TimedReading>> {
    let words = line.split([' ', ',']).filter(|word| !word.is_empty());
    words.map(|word| field(what, word).map_err(AnswerError::from)).collect()
}

fn minutes(line: &str) -> Read<f64> {
    let number = line.trim().trim_end_matches("min").trim_end().parse().ok();
    number
        .filter(|minutes| (0.0..=24.0 * 60.0).contains(minutes))
        .ok_or_else(|| AnswerError::Number { typed: line.to_owned(), wanted: "a number of minutes in a day" })
}

fn load(line: &str, scene: &Scene, answers: &mut Answers) -> Read {
    let percent = line.strip_suffix('%').or(Some(line).filter(|_| scene.appliances.is_empty()));
    if let Some(percent) = percent {
        let number = percent.trim().parse::<f64>().ok().filter(|percent| (0.0..=1000.0).contains(percent));
        let wrong = AnswerError::Number { typed: line.to_owned(), wanted: "a load in percent" };
        answers.test.load = Some(number.ok_or(wrong)?);
        answers.test.burning.clear();
        return Ok(());
    }
    let chosen = choose_many(line, &scene.appliances, |appliance| appliance.appliance.as_str())?;
    answers.test.burning = chosen.into_iter().map(|appliance| appliance.appliance.clone()).collect();
    answers.test.load = None;
    Ok(())
}

fn shown_load(scene: &Scene, answers: &Answers) -> Option<String> {
    let test = &answers.test;
    if let Some(load) = test.load {
        return Some(format!("{} %", rounded(load, 1)));
    }
    let burning = joined(test.burning.iter().map(ToString::to_string))?;
    Some(match load_of(&answers.unit, &test.burning, &scene.appliances) {
        Ok(Some(load)) => format!("{burning}: {} % of the connected input", rounded(load, 1)),
        Ok(None) => burning,
        Err(complaint) => format!("{burning}: {}", complaint.what.join("; ")),
    })
}

fn choose<'a, T>(typed: &str, listed: &'a [T], name: impl Fn(&T) -> &str) -> Read<&'a T> {
    let typed = typed.trim();
    if let Some(named) = listed.iter().find(|one| name(one).eq_ignore_ascii_case(typed)) {
        return Ok(named);
    }
    let number = typed.parse::<usize>().ok().and_then(|number| number.checked_sub(1));
    number.and_then(|at| listed.get(at)).ok_or_else(|| AnswerError::NotListed {
        typed: typed.to_owned(),
        near: nearest(typed, listed.iter().map(&name)).map(str::to_owned),
    })
}

/// Numbers apart by spaces or commas, or names apart by commas; each once.
fn choose_many<'a, T>(typed: &str, listed: &'a [T], name: impl Fn(&T) -> &str) -> Read<Vec<&'a T>> {
    let numbers = typed.chars().all(|c| c.is_ascii_digit() || c == ' ' || c == ',');
    let apart: &[char] = if numbers { &[' ', ','] } else { &[','] };
    let mut chosen: Vec<&T> = Vec::new();
    for word in typed.split(apart).filter(|word| !word.trim().is_empty()) {
        let one = choose(word, listed, &name)?;
        if !chosen.iter().any(|known| std::ptr::eq(*known, one)) {
            chosen.push(one);
        }
    }
    Ok(chosen)
}
