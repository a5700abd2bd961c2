//! The questions of a close-out, in the order they are asked.
//!
//! Owns: which are asked at this unit with these answers, and their headings. Refuses: wording and reading of answers.

use super::answers::Answers;
use super::scene::{Scene, Work};
use crate::model::{PartCode, RuleId};

/// One question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Question {
    /// Who did the work.
    By,
    /// On which day.
    On,
    /// What happened to the unit.
    Events,
    /// Gauge used.
    Gauge,
    /// Where it is connected.
    Tap,
    /// Pressure with nothing burning.
    Lockup,
    /// The same, watched.
    LockupLater,
    /// Pressure under load.
    Flow,
    /// What burns meanwhile.
    Load,
    /// How the drop is timed.
    Method,
    /// Pressure at its start.
    DropStart,
    /// Air temperature at its start.
    Air,
    /// The clock.
    Timer,
    /// Minutes it was watched.
    Minutes,
    /// Pressure at its end.
    DropEnd,
    /// Air temperature at its end.
    AirAfter,
    /// Regulator vent.
    Vent,
    /// A new stamp on a collar.
    Mark(PartCode),
    /// Which parts were replaced.
    Replaced,
    /// Make date of the new one.
    Made(PartCode),
    /// Its serial number.
    Serial(PartCode),
    /// The replace-by date printed on it.
    ReplaceBy(PartCode),
    /// Something to look at.
    Check(RuleId, Option<PartCode>),
    /// Anything else.
    Note,
    /// Whether all of it is right.
    Summary,
}

/// Questions under one heading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Chapter {
    /// Who, when, what happened.
    Visit,
    /// Readings.
    GasTest,
    /// Collars.
    Marks,
    /// New parts.
    Parts,
    /// Things to look at.
    Checks,
    /// The rest.
    End,
}

impl Chapter {
    /// Its heading.
    #[must_use]
    pub fn title(self) -> &'static str {
        match self {
            Self::Visit => "the visit",
            Self::GasTest => "gas test",
            Self::Marks => "marks on collars",
            Self::Parts => "replaced parts",
            Self::Checks => "checks",
            Self::End => "summary",
        }
    }
}

impl Question {
    /// Every question at this unit, given what is answered already.
    #[must_use]
    pub fn all(scene: &Scene, answers: &Answers) -> Vec<Self> {
        let mut all = vec![Self::By, Self::On, Self::Events, Self::Gauge, Self::Tap, Self::Lockup];
        if answers.test.lockup.is_some() {
            all.push(Self::LockupLater);
        }
        all.push(Self::Flow);
        if answers.test.flow.is_some() {
            all.push(Self::Load);
        }
        all.extend([Self::Method, Self::DropStart, Self::Air]);
        if answers.test.drop_start.is_some() {
            all.extend([Self::Timer, Self::Minutes, Self::DropEnd, Self::AirAfter]);
        }
        all.push(Self::Vent);
        all.extend(scene.marked_parts().map(|part| Self::Mark(part.part.clone())));
        if !scene.parts.is_empty() {
            all.push(Self::Replaced);
        }
        for new in &answers.replacements {
            let part = || new.part.clone();
            all.extend([Self::Made(part()), Self::Serial(part()), Self::ReplaceBy(part())]);
        }
        let replaced = |part: &PartCode| answers.replacements.iter().any(|new| new.part == *part);
        let checks = scene.due_by(Work::Check).filter(|item| !item.part.as_ref().is_some_and(replaced));
        all.extend(checks.map(|item| Self::Check(item.rule.clone(), item.part.clone())));
        all.extend([Self::Note, Self::Summary]);
        all
    }

    /// The heading it is asked under.
    #[must_use]
    pub fn chapter(&self) -> Chapter {
        match self {
            Self::By | Self::On | Self::Events => Chapter::Visit,
            Self::Mark(_) => Chapter::Marks,
            Self::Replaced | Self::Made(_) | Self::Serial(_) | Self::ReplaceBy(_) => Chapter::Parts,
            Self::Check(..) => Chapter::Checks,
            Self::Note | Self::Summary => Chapter::End,
            _ => Chapter::GasTest,
        }
    }

    /// True for a question that only an answer before it brought up.
    #[must_use]
    pub fn follows_up(&self) -> bool {
        matches!(
            self,
            Self::LockupLater
                | Self::Load
                | Self::Timer
                | Self::Minutes
                | Self::DropEnd
                | Self::AirAfter
                | Self::Made(_)
                | Self::Serial(_)
                | Self::ReplaceBy(_)
        )
    }

    /// Its name in summaries and drafts.
    #[must_use]
    pub fn name(&self) -> String {
        match self {
            Self::By => "who".to_owned(),
            Self::On => "day".to_owned(),
            Self::Events => "what happened".to_owned(),
            Self::Gauge => "gauge".to_owned(),
            Self::Tap => "tap".to_owned(),
            Self::Lockup => "lock-up".to_owned(),
            Self::LockupLater => "lock-up later".to_owned(),
            Self::Flow => "flow".to_owned(),
            Self::Load => "load".to_owned(),
            Self::Method => "method".to_owned(),
            Self::DropStart => "drop start".to_owned(),
            Self::Air => "air at start".to_owned(),
            Self::Timer => "timer".to_owned(),
            Self::Minutes => "minutes".to_owned(),
            Self::DropEnd => "drop end".to_owned(),
            Self::AirAfter => "air at end".to_owned(),
            Self::Vent => "vent".to_owned(),
            Self::Mark(part) => format!("mark {part}"),
            Self::Replaced => "replaced".to_owned(),
            Self::Made(part) => format!("made, for {part}"),
            Self::Serial(part) => format!("serial, for {part}"),
            Self::ReplaceBy(part) => format!("replace by, for {part}"),
            Self::Check(rule, None) => rule.to_string(),
            Self::Check(rule, Some(part)) => format!("{rule} {part}"),
            Self::Note => "note".to_owned(),
            Self::Summary => "summary".to_owned(),
        }
    }
}
