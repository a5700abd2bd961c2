//! What somebody types, line by line.
//!
//! Owns: waiting for a line for ever or for a while. Refuses: editing keys, which are the terminal's.

use std::io::BufRead;
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::time::Duration;

/// Longest line taken, in bytes; longer than any text that is kept.
const MOST_BYTES: usize = 16 * 1024;

/// Lines as they are typed.
pub struct Lines(Receiver<String>);

/// What came while somebody waited.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Waited {
    /// A line.
    Line(String),
    /// Nothing yet.
    Nothing,
    /// Nothing will come any more.
    Closed,
}

impl Lines {
    /// Lines from standard input. One thread reads them, since a timer must go on while it waits.
    #[must_use]
    pub fn typed() -> Self {
        let (sender, receiver) = sync_channel(0);
        std::thread::spawn(move || pass_on(&mut std::io::stdin().lock(), &sender));
        Self(receiver)
    }

    /// The next line without its end; none where input has ended.
    pub fn next_line(&mut self) -> Option<String> {
        self.0.recv().ok()
    }

    /// The next line, if it comes within `wait`.
    pub fn within(&mut self, wait: Duration) -> Waited {
        match self.0.recv_timeout(wait) {
            Ok(line) => Waited::Line(line),
            Err(RecvTimeoutError::Timeout) => Waited::Nothing,
            Err(RecvTimeoutError::Disconnected) => Waited::Closed,
        }
    }
}

/// Ends where input ends, or where nobody listens any more.
fn pass_on(input: &mut impl BufRead, sender: &SyncSender<String>) {
    let mut bytes = Vec::new();
    while matches!(input.read_until(b'\n', &mut bytes), Ok(read) if read > 0) {
        bytes.truncate(MOST_BYTES);
        let line = String::from_utf8_lossy(&bytes).trim_end_matches(['\r', '\n']).to_owned();
        if sender.send(line).is_err() {
            return;
        }
        bytes.clear();
    }
}
