//! A digest's page as plain text.
//!
//! Owns: wrapping at 76 characters, under the 78 that RFC 5322 advises. Refuses: sentences (`digest_page`).

use super::digest_page::{Card, Cell, Month, Page, Section};

/// Longest line, in characters. A command's words are never broken, so one with an extreme code may be longer.
const WIDTH_CHARS: usize = 76;

/// The page as text, lines ended by `\n`.
#[must_use]
pub fn text(page: &Page) -> String {
    let mut out = Lines::default();
    out.wrap("", "", &page.numbers.join(" "));
    for line in &page.changes {
        out.wrap("", "", line);
    }
    out.wrap("", "", &format!("Pigtail digest for {}.", page.day));
    for depot in &page.depots {
        out.blank();
        out.rule('=');
        out.wrap("", "", &depot.title);
        out.wrap("", "", &depot.numbers.join(" "));
        depot.sections.iter().for_each(|section| out.section(section));
    }
    if !page.general.is_empty() {
        out.blank();
        out.rule('=');
        out.wrap("", "", "All depots");
        page.general.iter().for_each(|section| out.section(section));
    }
    out.blank();
    out.rule('=');
    out.month(&page.month);
    out.blank();
    out.rule('=');
    for caution in &page.cautions {
        out.wrap("- ", "  ", caution);
    }
    out.blank();
    out.wrap("", "", &page.journal);
    out.push(&page.head);
    out.0
}

#[derive(Default)]
struct Lines(String);

impl Lines {
    fn push(&mut self, line: &str) {
        self.0.push_str(line.trim_end());
        self.0.push('\n');
    }

    fn blank(&mut self) {
        self.push("");
    }

    fn rule(&mut self, mark: char) {
        self.push(&mark.to_string().repeat(WIDTH_CHARS));
    }

    fn wrap(&mut self, first: &str, next: &str, text: &str) {
        let words = text.split(' ').filter(|word| !word.is_empty()).flat_map(pieces);
        self.fill(first, next, words, "");
    }

    /// Fills lines with words; each line but the last ends with `join`.
    fn fill<'a>(&mut self, first: &str, next: &str, words: impl Iterator<Item = &'a str>, join: &str) {
        let mut line = first.to_owned();
        let mut bare = true;
        for word in words {
            let wanted = line.chars().count() + usize::from(!bare) + word.chars().count() + join.len();
            if !bare && wanted > WIDTH_CHARS {
                line.push_str(join);
                self.push(&line);
                next.clone_into(&mut line);
                bare = true;
            }
            if !bare {
                line.push(' ');
            }
            line.push_str(word);
            bare = false;
        }
        if !bare {
            self.push(&line);
        }
    }

    fn section(&mut self, section: &Section) {
        self.blank();
        self.wrap("", "", &section.title.to_uppercase());
        self.rule('-');
        self.wrap("", "", section.note);
        for card in &section.cards {
            self.card(card);
        }
        if let Some(more) = &section.more {
            self.blank();
            self.wrap("  ", "  ", more);
        }
    }

    fn card(&mut self, card: &Card) {
        self.blank();
        let fresh = if card.fresh { " [NEW]" } else { "" };
        self.wrap("* ", "  ", &format!("{}{fresh}", card.head));
        self.wrap("  ", "  ", &card.when.join(" "));
        self.wrap("  ", "  ", &card.what);
        if !card.because.is_empty() {
            self.wrap("  why: ", "       ", &card.because);
        }
        if !card.command.is_empty() {
            self.fill("  $ ", "      ", card.command.iter().map(String::as_str), " \\");
        }
    }

    fn month(&mut self, month: &Month) {
        self.wrap("", "", &month.title);
        self.blank();
        let row = |cells: Vec<String>| cells.iter().map(|cell| format!("{cell:<9} ")).collect::<String>();
        self.push(&row(["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"].map(str::to_owned).to_vec()));
        for week in &month.weeks {
            self.push(&row(week.iter().map(cell).collect()));
        }
    }
}

fn cell(cell: &Cell) -> String {
    let label = if cell.outside { "." } else { cell.label.as_str() };
    match cell.due {
        0 => label.to_owned(),
        due => format!("{label}: {due}"),
    }
}

/// A word cut into pieces that fit a line.
fn pieces(word: &str) -> Vec<&str> {
    const MOST_CHARS: usize = 60;
    let mut rest = word;
    let mut pieces = Vec::new();
    while let Some((cut, _)) = rest.char_indices().nth(MOST_CHARS) {
        let (piece, tail) = rest.split_at(cut);
        pieces.push(piece);
        rest = tail;
    }
    pieces.push(rest);
    pieces
}
