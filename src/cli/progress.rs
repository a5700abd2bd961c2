//! A progress bar where somebody watches.
//!
//! Owns: not being there where nobody does. Refuses: prompts.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// A bar on the terminal, or nothing.
pub struct Bar(ProgressBar);

impl Bar {
    /// A bar that says what is being done.
    #[must_use]
    pub fn new(watched: bool, doing: &'static str) -> Self {
        let target = if watched { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
        let bar = ProgressBar::with_draw_target(None, target);
        if let Ok(style) = ProgressStyle::with_template("{msg} {wide_bar} {percent}% {eta}") {
            bar.set_style(style);
        }
        bar.set_message(doing);
        Self(bar)
    }

    /// How far it is.
    pub fn at(&self, done: u64, total: u64) {
        self.0.set_length(total);
        self.0.set_position(done);
    }

    /// Takes the bar away.
    pub fn done(&self) {
        self.0.finish_and_clear();
    }
}
