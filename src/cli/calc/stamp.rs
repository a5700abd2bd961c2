//! `calc stamp`: what a stamp on a collar says.
//!
//! Owns: the flags. Refuses: reading the stamp, which `model` does.

use super::{Answer, Complaint, Console, Day, Sheet, answer};
use crate::model::{Dated, Method, Rin, Stamp};
use serde::Serialize;

/// Read a requalification stamp
#[derive(Debug, Clone, clap::Args)]
pub struct StampArgs {
    /// The stamp as it stands on the collar, as in `11 A123 21 E`
    #[arg(required = true)]
    text: Vec<String>,
    /// Make date of the cylinder: the stamp cannot be older
    #[arg(long)]
    made: Option<Dated>,
}

#[derive(Serialize)]
struct StampJson {
    month: String,
    method: &'static str,
    rin: Option<Rin>,
}

pub(super) fn run(args: &StampArgs, today: Day, console: &mut Console<'_>) -> Answer {
    let text = args.text.join(" ");
    let stamp = Stamp::read(&text, today, args.made.map(Dated::month)).map_err(|error| {
        Complaint::refused(
            format!("stamp `{}` {error}", text.escape_debug()),
            "type month, identification number if any, year and letter: `11 A123 21 E`",
        )
    })?;
    let method = stamp.method.map_or("none", |method: Method| crate::model::Named::name(method));
    let sheet = Sheet::resting_on("49 CFR 180.213, letters read in secondary pages")
        .row("month", stamp.month)
        .row("method", method)
        .row("rin", stamp.rin.as_ref().map_or("none", Rin::as_str));
    answer(console, &StampJson { month: stamp.month.to_string(), method, rin: stamp.rin.clone() }, &sheet)
}
