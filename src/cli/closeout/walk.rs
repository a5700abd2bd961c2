//! The close-out as a conversation: one question after the other, every answer kept at once.
//!
//! Owns: going on, back and away, and the summary before anything is recorded. Refuses: recording, which `run` does.

use super::answer::{clear, shown, take};
use super::answers::Answers;
use super::draft::Draft;
use super::lines::Lines;
use super::question::{Chapter, Question};
use super::scene::Scene;
use super::timer::{Ended, watch};
use super::visit::Visit;
use super::wording::{COMMANDS, before, doubt, due_line, heading, prompt};
use crate::book::Book;
use crate::cli::complaint::Complaint;
use crate::cli::console::Console;
use crate::cli::session::Session;
use crate::journal::{Change, Fact};
use crate::model::{Unit, Verdict};
use crate::show::legible::one_line;

/// A visit somebody has confirmed, with the facts it records.
pub struct Confirmed {
    /// The visit.
    pub visit: Visit,
    /// What it records.
    pub facts: Vec<Fact>,
}

/// Walks through a close-out of `unit`, beginning with what the options told. None where it was left: then the draft holds
/// all that was answered.
///
/// # Errors
/// [`Complaint`] where the fleet file or the draft cannot be read.
pub fn walk(
    told: Answers,
    unit: Unit,
    draft: &Draft,
    book: &mut Book,
    session: &Session,
    console: &mut Console<'_>,
) -> Result<Option<Confirmed>, Complaint> {
    let today = session.today(book)?;
    let mut walk = Walk {
        scene: Scene::of(book, unit, today)?,
        answers: told,
        draft,
        lines: Lines::typed(),
        at: Question::By,
        chapter: None,
        returning: false,
        doubted: None,
        unkept: false,
    };
    walk.greet(console)?;
    if !walk.resume(console)? {
        return Ok(None);
    }
    if walk.answers.on.is_none() {
        walk.answers.on = Some(today);
    }
    loop {
        let step = if walk.at == Question::Summary { walk.sum_up(book, session, console)? } else { walk.ask(console)? };
        match step {
            Step::Go => {}
            Step::Leave => {
                walk.leave(console)?;
                return Ok(None);
            }
            Step::Record(confirmed) => return Ok(Some(*confirmed)),
        }
    }
}

enum Step {
    Go,
    Leave,
    Record(Box<Confirmed>),
}

struct Walk<'a> {
    scene: Scene,
    answers: Answers,
    draft: &'a Draft,
    lines: Lines,
    at: Question,
    chapter: Option<Chapter>,
    /// True while one line of the summary is being corrected.
    returning: bool,
    /// A line that was doubted; typed once more it stands.
    doubted: Option<String>,
    /// True once the draft could not be kept, so that it is said only once.
    unkept: bool,
}

impl Walk<'_> {
    fn greet(&self, console: &mut Console<'_>) -> Result<(), Complaint> {
        let unit = &self.scene.unit;
        writeln!(
            console.talk,
            "close-out of unit {}, {}, depot {}",
            unit.unit,
            one_line(unit.body.as_str()),
            unit.depot
        )?;
        let due: Vec<String> = self.scene.due().map(|item| due_line(item, &self.scene)).collect();
        if due.is_empty() {
            writeln!(console.talk, "nothing is due here")?;
        } else {
            writeln!(console.talk, "due here:")?;
            for line in due {
                writeln!(console.talk, "  {line}")?;
            }
        }
        writeln!(
            console.talk,
            "caution: gas work is for licensed people, and local code comes first. If you smell gas:\nno flame, no switch, \
             everybody out, call from outside."
        )?;
        writeln!(console.talk, "{COMMANDS}")?;
        Ok(())
    }

    /// Offers the draft, if there is one. False where somebody left at once.
    fn resume(&mut self, console: &mut Console<'_>) -> Result<bool, Complaint> {
        let Some(kept) = self.draft.load(&self.scene.unit.unit)? else { return Ok(true) };
        let on = kept.answers.on.map(|on| format!(" of {on}")).unwrap_or_default();
        loop {
            write!(console.talk, "\na draft{on} is kept: go on with it? Enter = yes, new = start afresh, quit: ")?;
            console.talk.flush()?;
            match self.lines.next_line().as_deref().map(str::trim) {
                None | Some("quit") => {
                    writeln!(console.talk, "\nthe draft stays as it is")?;
                    return Ok(false);
                }
                Some("new") => return Ok(true),
                Some("" | "yes" | "y") => break,
                Some(_) => {}
            }
        }
        let told = std::mem::replace(&mut self.answers, kept.answers);
        // What was typed on this command line is newer than the draft.
        self.answers.by = told.by.or(self.answers.by.take());
        self.answers.on = told.on.or(self.answers.on);
        let questions = Question::all(&self.scene, &self.answers);
        if let Some(at) = questions.iter().find(|question| Some(question.name()) == kept.at) {
            self.at = at.clone();
        }
        Ok(true)
    }

    fn ask(&mut self, console: &mut Console<'_>) -> Result<Step, Complaint> {
        let chapter = self.at.chapter();
        if self.chapter.replace(chapter) != Some(chapter) {
            writeln!(console.talk, "\n== {} ==", heading(chapter, &self.scene))?;
        }
        if self.doubted.is_none() {
            for line in before(&self.at, &self.scene) {
                writeln!(console.talk, "  {line}")?;
            }
        }
        let now = shown(&self.at, &self.scene, &self.answers);
        let now = now.map(|now| format!(" [{}]", one_line(&now))).unwrap_or_default();
        write!(console.talk, "{}{now}: ", prompt(&self.at, &self.scene, &self.answers))?;
        console.talk.flush()?;
        let Some(line) = self.lines.next_line() else { return Ok(Step::Leave) };
        match line.trim() {
            "quit" => return Ok(Step::Leave),
            "?" | "help" => writeln!(console.talk, "{COMMANDS}")?,
            "back" => self.back(),
            "next" => self.next_chapter(),
            "-" => {
                clear(&self.at, &mut self.answers);
                self.keep(console)?;
            }
            "" => self.go_on(),
            "start" if self.at == Question::Timer => return self.time(console),
            typed => self.answered(typed, console)?,
        }
        Ok(Step::Go)
    }

    fn answered(&mut self, typed: &str, console: &mut Console<'_>) -> Result<(), Complaint> {
        let mut tried = self.answers.clone();
        if let Err(error) = take(&self.at, typed, &self.scene, &mut tried) {
            writeln!(console.talk, "  {error}")?;
            return Ok(());
        }
        if let Some(doubt) = doubt(&self.at, &self.scene, &tried)
            && self.doubted.as_deref() != Some(typed)
        {
            writeln!(console.talk, "  {doubt}: type it again to keep it, or type another")?;
            self.doubted = Some(typed.to_owned());
            return Ok(());
        }
        self.answers = tried;
        if let Some(now) = shown(&self.at, &self.scene, &self.answers).filter(|now| now != typed) {
            writeln!(console.talk, "  = {}", one_line(&now))?;
        }
        self.go_on();
        self.keep(console)
    }

    fn time(&mut self, console: &mut Console<'_>) -> Result<Step, Complaint> {
        let method = self.answers.test.method.unwrap_or_else(|| self.scene.usual_method());
        let minutes = self.scene.minutes_of(method);
        let (draft, at) = (self.draft, self.at.name());
        let mut keep = |answers: &Answers| {
            // Said at the next answer if the disk refuses; the clock must not stop for it.
            let _ = draft.save(answers, &at);
        };
        let ended = watch(minutes, &mut self.answers, &mut self.lines, console.talk, &mut keep)?;
        if ended == Ended::Left {
            return Ok(Step::Leave);
        }
        self.go_on();
        self.keep(console)?;
        Ok(Step::Go)
    }

    /// To the question after this one; back to the summary where only one line was to be corrected.
    fn go_on(&mut self) {
        let questions = Question::all(&self.scene, &self.answers);
        let here = questions.iter().position(|question| *question == self.at);
        let next = here.and_then(|here| questions.get(here + 1)).cloned().unwrap_or(Question::Summary);
        let unanswered = next.follows_up() && shown(&next, &self.scene, &self.answers).is_none();
        self.doubted = None;
        self.at = if self.returning && !unanswered { Question::Summary } else { next };
    }

    fn back(&mut self) {
        let questions = Question::all(&self.scene, &self.answers);
        let here = questions.iter().position(|question| *question == self.at).unwrap_or_default();
        self.doubted = None;
        self.at = questions.get(here.saturating_sub(1)).cloned().unwrap_or(Question::By);
    }

    fn next_chapter(&mut self) {
        let questions = Question::all(&self.scene, &self.answers);
        let here = questions.iter().position(|question| *question == self.at).unwrap_or_default();
        let chapter = self.at.chapter();
        self.doubted = None;
        self.at = questions[here..]
            .iter()
            .find(|question| question.chapter() != chapter)
            .cloned()
            .unwrap_or(Question::Summary);
    }

    fn sum_up(&mut self, book: &mut Book, session: &Session, console: &mut Console<'_>) -> Result<Step, Complaint> {
        self.returning = false;
        self.chapter = Some(Chapter::End);
        writeln!(console.talk, "\n== summary of unit {} ==", self.scene.unit.unit)?;
        let questions = Question::all(&self.scene, &self.answers);
        let mut open = Vec::new();
        for (at, question) in questions.iter().enumerate().filter(|(_, question)| **question != Question::Summary) {
            match shown(question, &self.scene, &self.answers) {
                Some(now) => {
                    writeln!(console.talk, "{:>3}  {:<24} {}", at + 1, one_line(&question.name()), one_line(&now))?;
                }
                None => open.push(format!("{} {}", at + 1, one_line(&question.name()))),
            }
        }
        if !open.is_empty() {
            writeln!(console.talk, "not answered: {}", open.join(", "))?;
        }
        let confirmed = self.rehearsed(book, session, console)?;
        write!(console.talk, "{}: ", prompt(&Question::Summary, &self.scene, &self.answers))?;
        console.talk.flush()?;
        let Some(line) = self.lines.next_line() else { return Ok(Step::Leave) };
        match line.trim() {
            "quit" => Ok(Step::Leave),
            "back" => {
                self.back();
                Ok(Step::Go)
            }
            "yes" | "y" => match confirmed {
                Some(confirmed) => Ok(Step::Record(Box::new(confirmed))),
                None => {
                    writeln!(console.talk, "  it cannot be recorded like that")?;
                    Ok(Step::Go)
                }
            },
            typed => {
                let number = typed.parse::<usize>().ok().and_then(|number| number.checked_sub(1));
                match number.and_then(|at| questions.get(at)) {
                    Some(question) => {
                        self.returning = true;
                        self.at = question.clone();
                    }
                    None => writeln!(console.talk, "  nothing is recorded until you type yes")?,
                }
                Ok(Step::Go)
            }
        }
    }

    /// The visit as it would be recorded, with what the test would come to; none where the book refuses it.
    fn rehearsed(
        &self,
        book: &mut Book,
        session: &Session,
        console: &mut Console<'_>,
    ) -> Result<Option<Confirmed>, Complaint> {
        let outcome = self.answers.visit(book, self.scene.today).and_then(|visit| {
            let facts = visit.facts(book, self.scene.today, console)?;
            let recording = session.recording(book, Some(&visit.by))?;
            let recorded = book.rehearse(&recording, facts.clone(), &mut |_| {})?;
            Ok((Confirmed { visit, facts }, recorded))
        });
        match outcome {
            Ok((confirmed, recorded)) => {
                for (_, change) in &recorded.entries {
                    if let Change::GasTest { verdict, because, .. } = change {
                        writeln!(console.talk, "the gas test would be recorded as: {verdict}")?;
                        for sentence in because {
                            writeln!(console.talk, "  {}", one_line(sentence.as_str()))?;
                        }
                        if *verdict == Verdict::Inconclusive {
                            writeln!(console.talk, "  inconclusive counts as not tested")?;
                        }
                    }
                }
                Ok(Some(confirmed))
            }
            Err(complaint) => {
                for what in &complaint.what {
                    writeln!(console.talk, "  cannot be recorded: {}", one_line(what))?;
                }
                Ok(None)
            }
        }
    }

    fn keep(&mut self, console: &mut Console<'_>) -> Result<(), Complaint> {
        match self.draft.save(&self.answers, &self.at.name()) {
            Ok(()) => self.unkept = false,
            Err(_) if self.unkept => {}
            Err(error) => {
                self.unkept = true;
                writeln!(console.talk, "caution: the draft cannot be kept: {error}; leave, and what is typed is lost")?;
            }
        }
        Ok(())
    }

    fn leave(&mut self, console: &mut Console<'_>) -> Result<(), Complaint> {
        writeln!(console.talk, "\nnothing is recorded")?;
        if self.answers.by.is_none() && !self.answers.tell_work() {
            return Ok(());
        }
        self.keep(console)?;
        if !self.unkept {
            writeln!(
                console.talk,
                "what was answered is kept in {}\ngo on with: pigtail closeout {}",
                self.draft.path().display(),
                self.scene.unit.unit
            )?;
        }
        Ok(())
    }
}
