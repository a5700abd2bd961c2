//! How each question of a close-out is put.
//!
//! Owns: the lines before a prompt, the prompt, and the doubt about an answer that can hardly be right. Refuses:
//! judging a reading; a doubt only asks again.

use super::answers::Answers;
use super::question::{Chapter, Question};
use super::scene::{Scene, Work};
use crate::due::Item;
use crate::model::{DropMethod, EventKind, Named, PartCode, Pressure, Reading, Tap, rounded};
use crate::show::legible::one_line;

/// What can be typed at any question.
pub const COMMANDS: &str = "Enter skips, or keeps what is in [brackets]; - takes it out; back; next (part of the\nvisit); \
                            quit (what was answered is kept)";

/// What is said before a question is put.
#[must_use]
pub fn before(question: &Question, scene: &Scene) -> Vec<String> {
    match question {
        Question::By => listed(scene.people.iter().map(|person| format!("{} ({})", person.person, person.name))),
        Question::Events => listed(EventKind::ALL.iter().map(ToString::to_string)),
        Question::Gauge => listed(scene.gauges.iter().map(|gauge| {
            let standing = scene.gauge_standing(gauge).map(|standing| format!(", check {standing}"));
            format!("{} ({}{})", gauge.gauge, gauge.kind, standing.unwrap_or_default())
        })),
        Question::Tap => listed(Tap::ALL.iter().map(ToString::to_string)),
        Question::Load => listed(
            scene
                .appliances
                .iter()
                .map(|appliance| format!("{}, {} Btu/h", appliance.appliance, rounded(appliance.btu_h, 0))),
        ),
        Question::Method => listed(DropMethod::ALL.iter().map(|method| {
            let minutes = rounded(scene.minutes_of(*method), 1).to_string();
            format!("{method}, {minutes} minutes")
        })),
        Question::Mark(code) => about_collar(code, scene),
        Question::Replaced => listed(scene.parts.iter().map(|part| {
            let due = scene.due_by(Work::Replacement).find(|item| item.part.as_ref() == Some(&part.part));
            let due = due.map(|item| format!("; {}: {}", item.what, scene.standing(item))).unwrap_or_default();
            format!("{}{due}", scene.part_in_words(part))
        })),
        Question::Check(rule, part) => scene
            .due()
            .filter(|item| item.rule == *rule && item.part == *part)
            .map(|item| due_line(item, scene))
            .collect(),
        _ => Vec::new(),
    }
}

/// The question itself, without what is answered already.
#[must_use]
pub fn prompt(question: &Question, scene: &Scene, answers: &Answers) -> String {
    match question {
        Question::By => "who did the work (number or code)".to_owned(),
        Question::On => "day of the visit".to_owned(),
        Question::Events => "did any of this happen (numbers)".to_owned(),
        Question::Gauge => "gauge (number or code)".to_owned(),
        Question::Tap => "gauge connected at (Enter: main)".to_owned(),
        Question::Lockup => "lock-up, nothing burning, as 11.4, 27.4mbar or 5.7+5.7".to_owned(),
        Question::LockupLater => "lock-up again while watched, as 11.6@3 (minutes)".to_owned(),
        Question::Flow => "flow, pressure under load".to_owned(),
        Question::Load if scene.appliances.is_empty() => {
            "load in percent of the connected input (no appliances on record)".to_owned()
        }
        Question::Load => "burning meanwhile (numbers), or the load as 60%".to_owned(),
        Question::Method => format!("how the drop is timed (Enter: {})", scene.usual_method()),
        Question::DropStart => "timed drop: pressure at the start".to_owned(),
        Question::Air => "air temperature now, as 58F or 15C".to_owned(),
        Question::Timer => {
            let method = answers.test.method.unwrap_or_else(|| scene.usual_method());
            let minutes = rounded(scene.minutes_of(method), 1);
            format!("timer, {minutes} minutes: start, or the minutes if you timed it yourself")
        }
        Question::Minutes => "minutes it was watched".to_owned(),
        Question::DropEnd => "pressure at the end".to_owned(),
        Question::AirAfter => "air temperature at the end".to_owned(),
        Question::Vent => "regulator vent, degrees from straight down, or unseen".to_owned(),
        Question::Mark(part) => format!("new stamp on {part}, as 11 A123 21 E"),
        Question::Replaced => "replaced by new ones (numbers)".to_owned(),
        Question::Made(part) => format!("make date of what replaces {part}, as 2026-01"),
        Question::Serial(part) => format!("serial number of what replaces {part}"),
        Question::ReplaceBy(part) => format!("replace-by date printed on what replaces {part}"),
        Question::Check(..) => "pass, or fail: and what is wrong".to_owned(),
        Question::Note => "anything else to note".to_owned(),
        Question::Summary => {
            "record this visit? yes, or a line's number to correct it, or quit to keep a draft".to_owned()
        }
    }
}

/// A heading with how the matter stands.
#[must_use]
pub fn heading(chapter: Chapter, scene: &Scene) -> String {
    let title = chapter.title();
    match (chapter, scene.gas_item()) {
        (Chapter::GasTest, Some(item)) => format!("{title}: {}", scene.standing(item)),
        _ => title.to_owned(),
    }
}

/// An item with its part, as one line.
#[must_use]
pub fn due_line(item: &Item, scene: &Scene) -> String {
    let part = item.part.as_ref().map(|part| format!("{part}: ")).unwrap_or_default();
    one_line(&format!("{part}{}: {}", item.what, scene.standing(item)))
}

/// What makes an answer hard to believe; none where nothing does. Figures are slips of the pen, not limits.
#[must_use]
pub fn doubt(question: &Question, scene: &Scene, answers: &Answers) -> Option<String> {
    let test = &answers.test;
    let method = test.method.unwrap_or_else(|| scene.usual_method());
    match question {
        Question::Lockup => outside(test.lockup.as_ref(), 5.0, 20.0),
        Question::LockupLater => test.lockup_later.iter().find_map(|later| outside(Some(&later.reading), 5.0, 20.0)),
        Question::Flow => outside(test.flow.as_ref(), 5.0, 20.0),
        Question::DropStart => {
            let (least, most) = match method {
                DropMethod::ThreeTest => (5.0, 20.0),
                DropMethod::Air1014 => (8.0, 20.0),
                DropMethod::G607 => (40.0, 80.0),
            };
            outside(test.drop_start.as_ref(), least, most)
        }
        Question::DropEnd => {
            let most = if method == DropMethod::G607 { 80.0 } else { 20.0 };
            outside(test.drop_end.as_ref(), 0.0, most)
        }
        Question::Load if test.load.is_some_and(|load| load > 100.0) => {
            Some("more than everything on the unit".to_owned())
        }
        Question::Air | Question::AirAfter => {
            let air = if *question == Question::Air { test.air } else { test.air_after };
            air.filter(|air| !(-40.0..=120.0).contains(&air.fahrenheit())).map(|air| format!("{air} of air is rare"))
        }
        Question::Timer | Question::Minutes if test.minutes.is_some_and(|minutes| minutes > 60.0) => {
            Some("more than an hour".to_owned())
        }
        Question::On if answers.on.is_some_and(|on| on.days_until(scene.today).abs() > 31) => {
            Some(format!("more than a month from today, {}", scene.today))
        }
        _ => None,
    }
}

fn outside(reading: Option<&Reading>, least_inwc: f64, most_inwc: f64) -> Option<String> {
    let pressure: Pressure = reading?.pressure();
    let inwc = pressure.inwc();
    if inwc > most_inwc {
        return Some(format!("{pressure} is over {} in. w.c.", rounded(most_inwc, 1)));
    }
    (inwc < least_inwc).then(|| format!("{pressure} is under {} in. w.c.", rounded(least_inwc, 1)))
}

fn about_collar(code: &PartCode, scene: &Scene) -> Vec<String> {
    let mut said: Vec<String> =
        scene.parts.iter().filter(|part| part.part == *code).map(|part| scene.part_in_words(part)).collect();
    match scene.marks.get(code).and_then(|marks| marks.last()) {
        Some(mark) => said.push(format!("last mark on record: {} {}", mark.month, mark.method)),
        None => said.push("no mark on record".to_owned()),
    }
    said.extend(scene.items.iter().filter(|item| item.part.as_ref() == Some(code)).map(|item| due_line(item, scene)));
    said
}

fn listed(names: impl Iterator<Item = String>) -> Vec<String> {
    names.enumerate().map(|(at, name)| format!("{:>2}  {}", at + 1, one_line(&name))).collect()
}
