//! `pigtail rules`: the rules in force, and house rules tried and adopted.
//!
//! Owns: options and reading rule files. Refuses: deciding what may be loosened, which `rules` does.

use super::complaint::{Answer, Complaint, Status};
use super::console::{Console, Format};
use super::session::Session;
use crate::journal::Change;
use crate::model::{Named, PackId, PersonCode, RuleId, nearest};
use crate::rules::{
    Difference, MAX_RULE_FILE_BYTES, Pack, RuleBook, RuleError, differences, is_pack, parse_house, parse_pack,
};
use crate::show::legible::counted;
use crate::show::rules::{RULE_COLUMNS, RuleRecord, difference_page, limit_records, limits_page, rule_page, rule_row};
use serde::Serialize;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

/// What falls due and on whose word; house rules
#[derive(Debug, Clone, clap::Subcommand)]
pub enum RulesCommand {
    /// List the rules in force
    List(ListArgs),
    /// Show one rule whole, or `limits`
    Show(ShowArgs),
    /// Try a rule file without adopting it; needs no fleet file
    Check(CheckArgs),
    /// Adopt house rules in place of any earlier ones for their pack
    Adopt(AdoptArgs),
}

/// Options of `rules list`.
#[derive(Debug, Clone, clap::Args)]
pub struct ListArgs {
    /// us, ca or de [default: those the depots are under]
    #[arg(long)]
    pack: Option<PackId>,
}

/// Options of `rules show`.
#[derive(Debug, Clone, clap::Args)]
pub struct ShowArgs {
    /// Name of a rule, or `limits` for what gas tests are judged by
    #[arg(value_name = "RULE")]
    rule: String,
    /// us, ca or de [default: the first that has it of those the depots are under]
    #[arg(long)]
    pack: Option<PackId>,
}

/// Options of `rules check`.
#[derive(Debug, Clone, clap::Args)]
pub struct CheckArgs {
    /// A house file or a whole pack, as in docs/rules.md
    #[arg(value_name = "FILE")]
    file: PathBuf,
}

/// Options of `rules adopt`.
#[derive(Debug, Clone, clap::Args)]
pub struct AdoptArgs {
    /// A house file, as in docs/rules.md
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Who decides
    #[arg(long, value_name = "PERSON")]
    by: Option<PersonCode>,
}

/// Runs the command. Without a fleet file the shipped rules are listed and shown.
///
/// # Errors
/// [`Complaint`] naming the rule, file or line that is at fault.
pub fn run(command: &RulesCommand, session: &Session, console: &mut Console<'_>) -> Answer {
    match command {
        RulesCommand::List(args) => {
            let (rules, in_use) = in_force(session)?;
            list(args, &rules, &in_use, console)
        }
        RulesCommand::Show(args) => {
            let (rules, in_use) = in_force(session)?;
            show(args, &rules, &in_use, console)
        }
        RulesCommand::Check(args) => check(&args.file, console),
        RulesCommand::Adopt(args) => adopt(args, session, console),
    }
}

/// The rules of the fleet file, and the packs its depots are under.
fn in_force(session: &Session) -> Result<(RuleBook, Vec<PackId>), Complaint> {
    if !session.db().is_ok_and(|path| path.exists()) {
        return Ok((shipped()?, Vec::new()));
    }
    let book = session.book()?;
    let in_use = book.depots()?.into_iter().map(|depot| depot.rules).collect();
    Ok((book.rules().clone(), in_use))
}

fn shipped() -> Result<RuleBook, Complaint> {
    RuleBook::new(&[]).map_err(|error| Complaint::fault(format!("the shipped rules cannot be read: {error}")))
}

fn adopt(args: &AdoptArgs, session: &Session, console: &mut Console<'_>) -> Answer {
    let format = console.format_among(&[Format::Table, Format::Json])?;
    let text = read(&args.file)?;
    let origin = args.file.display().to_string();
    let house = parse_house(&origin, &text).map_err(|error| complaint(&error))?;
    let mut after = shipped()?.pack(house.pack).clone();
    house.apply(&mut after).map_err(|error| complaint(&error))?;
    let mut book = session.book()?;
    let before = book.rules().pack(house.pack);
    let changes = differences(before, &after);
    if before.rules == after.rules && before.limits == after.limits {
        writeln!(console.talk, "{origin}: in force already")?;
        return if format == Format::Json {
            console.json(&Checked::of(&after, true, &changes))
        } else {
            Ok(Status::Done)
        };
    }
    session.record(&mut book, args.by.as_ref(), [Change::HouseRules { pack: house.pack, toml: text }.into()])?;
    if format == Format::Json {
        return console.json(&Checked::of(&after, true, &changes));
    }
    writeln!(console.out, "adopted house rules over pack {}", house.pack)?;
    say_changes(&changes, console)
}

/// Width of text where nobody looks at a terminal.
const PLAIN_WIDTH: usize = 80;

/// Lists rules; `in_use` are the packs the fleet's depots are under.
///
/// # Errors
/// [`Complaint`] where the answer cannot be written.
pub fn list(args: &ListArgs, rules: &RuleBook, in_use: &[PackId], console: &mut Console<'_>) -> Answer {
    let packs = packs(args.pack, rules, in_use);
    let listed: Vec<_> = packs.iter().flat_map(|pack| pack.rules.iter().map(move |rule| (*pack, rule))).collect();
    if console.format_among(&[Format::Table, Format::Json, Format::Csv])? == Format::Json {
        let records: Vec<_> = listed.iter().map(|(pack, rule)| RuleRecord::of(pack, rule)).collect();
        return console.list("rules", &RULE_COLUMNS, &records, |_| Vec::new());
    }
    console.width = console.width.or(Some(PLAIN_WIDTH));
    let rows: Vec<_> = listed.iter().map(|(pack, rule)| rule_row(pack, rule)).collect();
    console.list("rules", &RULE_COLUMNS, &rows, Clone::clone)
}

/// Shows one rule, or the limits of a pack.
///
/// # Errors
/// [`Complaint`] where no pack has the rule.
pub fn show(args: &ShowArgs, rules: &RuleBook, in_use: &[PackId], console: &mut Console<'_>) -> Answer {
    let format = console.format_among(&[Format::Table, Format::Json])?;
    let packs = packs(args.pack, rules, in_use);
    let width = console.width.unwrap_or(PLAIN_WIDTH);
    if args.rule == "limits"
        && let Some(pack) = packs.first()
    {
        if format == Format::Json {
            return console.list("limits", &[], &limit_records(pack), |_| Vec::new());
        }
        console.out.write_all(limits_page(pack, width).as_bytes())?;
        return Ok(Status::Done);
    }
    let id: Option<RuleId> = args.rule.parse().ok();
    let found = packs.iter().find_map(|pack| Some((*pack, pack.rule(id.as_ref()?)?)));
    let Some((pack, rule)) = found else { return Err(no_such_rule(&args.rule, &packs)) };
    if format == Format::Json {
        return console.json(&RuleRecord::of(pack, rule));
    }
    console.out.write_all(rule_page(pack, rule, width).as_bytes())?;
    Ok(Status::Done)
}

fn packs<'r>(wanted: Option<PackId>, rules: &'r RuleBook, in_use: &[PackId]) -> Vec<&'r Pack> {
    match (wanted, in_use) {
        (Some(pack), _) => vec![rules.pack(pack)],
        (None, []) => vec![rules.pack(PackId::default())],
        (None, in_use) => PackId::ALL.iter().filter(|id| in_use.contains(id)).map(|&id| rules.pack(id)).collect(),
    }
}

fn no_such_rule(name: &str, packs: &[&Pack]) -> Complaint {
    let known = || packs.iter().flat_map(|pack| pack.rules.iter().map(|rule| rule.id.as_str()));
    let names: Vec<String> = packs.iter().map(|pack| pack.id.to_string()).collect();
    let what = format!("no rule `{}` in {}", name.escape_debug(), names.join(", "));
    match nearest(name, known()) {
        Some(near) => Complaint::refused(format!("{what}; nearest is `{near}`"), format!("pigtail rules show {near}")),
        None => Complaint::refused(what, "pigtail rules list"),
    }
}

/// What trying or adopting a rule file came to, as JSON has it.
#[derive(Serialize)]
struct Checked<'a> {
    ok: bool,
    pack: PackId,
    house: bool,
    rules: usize,
    changes: Vec<Changed<'a>>,
}

impl<'a> Checked<'a> {
    fn of(pack: &Pack, house: bool, changes: &'a [Difference]) -> Self {
        let changes = changes.iter().map(Changed::of).collect();
        Self { ok: true, pack: pack.id, house, rules: pack.rules.len(), changes }
    }
}

#[derive(Serialize)]
struct Changed<'a> {
    rule: &'a str,
    term: &'a str,
    before: Option<&'a str>,
    after: Option<&'a str>,
}

impl<'a> Changed<'a> {
    fn of(found: &'a Difference) -> Self {
        Self { rule: &found.rule, term: &found.term, before: found.before.as_deref(), after: found.after.as_deref() }
    }
}

/// Tries a rule file: reads a pack, or lays a house file over the shipped pack it names. Changes nothing.
///
/// # Errors
/// [`Complaint`] with the first problem, its line and a caret; or where the file cannot be read.
pub fn check(path: &Path, console: &mut Console<'_>) -> Answer {
    let format = console.format_among(&[Format::Table, Format::Json])?;
    let text = read(path)?;
    let origin = path.display().to_string();
    let (pack, found) = if is_pack(&text) {
        (parse_pack(&origin, &text).map_err(|error| complaint(&error))?, None)
    } else {
        let house = parse_house(&origin, &text).map_err(|error| complaint(&error))?;
        let shipped = shipped()?;
        let before = shipped.pack(house.pack);
        let mut after = before.clone();
        house.apply(&mut after).map_err(|error| complaint(&error))?;
        let found = differences(before, &after);
        (after, Some(found))
    };
    let changes = found.as_deref().unwrap_or_default();
    if format == Format::Json {
        return console.json(&Checked::of(&pack, found.is_some(), changes));
    }
    let kind = if found.is_some() { "house rules over pack" } else { "pack" };
    writeln!(console.out, "{origin}: ok, {kind} {}, {}", pack.id, counted(pack.rules.len(), "rule", "rules"))?;
    say_changes(changes, console)
}

fn say_changes(changes: &[Difference], console: &mut Console<'_>) -> Answer {
    if !changes.is_empty() {
        let text = difference_page(changes, console.width.unwrap_or(PLAIN_WIDTH));
        write!(console.out, "\n{text}")?;
    }
    Ok(Status::Done)
}

/// The text of a rule file, which is at most so long that reading it cannot hurt.
///
/// # Errors
/// [`Complaint`] where it cannot be read or is not UTF-8.
pub fn read(path: &Path) -> Result<String, Complaint> {
    let name = path.display();
    let unreadable =
        |error: std::io::Error| Complaint::refused(format!("{name}: {error}"), "give the path of a TOML file");
    let mut bytes = Vec::new();
    // One byte more than allowed, so that a longer file is seen to be longer.
    let most = u64::try_from(MAX_RULE_FILE_BYTES).unwrap_or(u64::MAX).saturating_add(1);
    File::open(path).map_err(unreadable)?.take(most).read_to_end(&mut bytes).map_err(unreadable)?;
    if bytes.len() > MAX_RULE_FILE_BYTES {
        return Err(Complaint::refused(
            format!("{name}: longer than the {MAX_RULE_FILE_BYTES} bytes a rule file may have"),
            "a house file holds only what differs from its pack",
        ));
    }
    String::from_utf8(bytes).map_err(|error| {
        let line =
            error.as_bytes()[..error.utf8_error().valid_up_to()].iter().filter(|&&byte| byte == b'\n').count() + 1;
        Complaint::refused(format!("{name}:{line}: not UTF-8 text"), "save the file as UTF-8")
    })
}

/// A rule error as a command says it: what is wrong with line and caret, and what to write instead.
#[must_use]
pub fn complaint(error: &RuleError) -> Complaint {
    let shown = error.snippet();
    let shown = shown.strip_prefix("error: ").unwrap_or(&shown).trim_end().to_owned();
    // The excerpt and its caret keep their lines and spaces.
    Complaint { what: vec![shown], ..Complaint::refused("", error.problem.hint()) }
}
