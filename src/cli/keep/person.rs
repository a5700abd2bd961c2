//! `pigtail person`: people who do and sign work.
//!
//! Owns: its options. Refuses: working hours, which belong to a depot (`depot hours`).

use super::{say_recorded, set, set_some, taken};
use crate::book::Codes;
use crate::cli::complaint::{Answer, Status};
use crate::cli::console::{Console, Format};
use crate::cli::session::{Session, unknown};
use crate::journal::Change;
use crate::model::{Day, Email, Person, PersonCode, Rin, Skill, Text};
use crate::show::table::{elastic, fixed};

/// Keep people: skills, identification number, credential.
#[derive(Debug, clap::Subcommand)]
pub enum PersonCommand {
    /// Enter a person
    Add(PersonArgs),
    /// Change what is on record; options left out stay as they are
    Amend(PersonArgs),
    /// List people
    List,
    /// Show one person
    Show {
        /// Their code
        person: PersonCode,
    },
}

/// A person's fields.
#[derive(Debug, clap::Args)]
pub struct PersonArgs {
    /// Their code
    person: PersonCode,
    /// Name
    #[arg(long)]
    name: Option<Text>,
    /// E-mail address
    #[arg(long)]
    email: Option<Email>,
    /// Skill: gas, requalifier, electrical; give it again for more
    #[arg(long)]
    skill: Vec<Skill>,
    /// Requalifier's identification number
    #[arg(long)]
    rin: Option<Rin>,
    /// Last day of the credential
    #[arg(long, value_name = "DATE")]
    credential_until: Option<Day>,
}

impl PersonArgs {
    fn onto(&self, mut person: Person) -> Person {
        set(&mut person.name, self.name.as_ref());
        set_some(&mut person.email, self.email.as_ref());
        if !self.skill.is_empty() {
            person.skills.clone_from(&self.skill);
        }
        set_some(&mut person.rin, self.rin.as_ref());
        set_some(&mut person.credential_until, self.credential_until.as_ref());
        person
    }
}

/// Runs the command.
///
/// # Errors
/// [`crate::cli::complaint::Complaint`] where a code is taken, unknown or refused.
pub fn run(command: &PersonCommand, session: &Session, console: &mut Console<'_>) -> Answer {
    let mut book = session.book()?;
    let person = match command {
        PersonCommand::Add(args) => {
            if book.person(&args.person)?.is_some() {
                return Err(taken("person", args.person.as_str()));
            }
            let person = args.person.clone();
            let nobody = Person {
                person,
                name: Text::default(),
                email: None,
                skills: Vec::new(),
                rin: None,
                credential_until: None,
            };
            args.onto(nobody)
        }
        PersonCommand::Amend(args) => match book.person(&args.person)? {
            Some(person) => args.onto(person),
            None => return unknown(&book, Codes::People, "person", args.person.as_str()),
        },
        PersonCommand::List => return list(&book.people()?, console),
        PersonCommand::Show { person } => {
            return match book.person(person)? {
                None => unknown(&book, Codes::People, "person", person.as_str()),
                Some(found) if console.format_among(&[Format::Table, Format::Json])? == Format::Json => {
                    console.json(&found)
                }
                Some(found) => list(&[found], console),
            };
        }
    };
    let recorded = session.record(&mut book, None, [Change::Person(person).into()])?;
    say_recorded(&recorded, console)?;
    Ok(Status::Done)
}

fn list(people: &[Person], console: &mut Console<'_>) -> Answer {
    let columns = [
        fixed("PERSON"),
        elastic("NAME"),
        elastic("EMAIL"),
        elastic("SKILLS"),
        fixed("RIN"),
        fixed("CREDENTIAL UNTIL"),
    ];
    console.list("people", &columns, people, |person| {
        vec![
            person.person.to_string(),
            person.name.to_string(),
            person.email.as_ref().map_or_else(String::new, ToString::to_string),
            person.skills.iter().map(ToString::to_string).collect::<Vec<_>>().join(" "),
            person.rin.as_ref().map_or_else(String::new, ToString::to_string),
            person.credential_until.map_or_else(String::new, |day| day.to_string()),
        ]
    })
}
