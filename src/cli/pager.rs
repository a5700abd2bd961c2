//! Long answers through the user's own pager.
//!
//! Owns: starting what `PAGER` names, without a shell, when an answer is longer than the terminal is high. Refuses:
//! paging where nobody looks or no pager is named.

use std::io::{self, Write};
use std::process::{Child, Command, Stdio};

/// Standard output, kept back until it is longer than the terminal is high.
pub struct Out {
    kept: Vec<u8>,
    lines: usize,
    height: Option<usize>,
    pager: Option<Child>,
    failed: Option<io::ErrorKind>,
}

impl Out {
    /// Standard output; `seen` where it is a terminal.
    #[must_use]
    pub fn new(seen: bool) -> Self {
        let height = terminal_size::terminal_size().map(|(_, height)| usize::from(height.0));
        let wanted = seen && named().is_some();
        Self { kept: Vec::new(), lines: 0, height: height.filter(|_| wanted), pager: None, failed: None }
    }

    /// Writes out what was kept back and waits until the pager is left.
    pub fn finish(mut self) {
        let kept = std::mem::take(&mut self.kept);
        let _ = io::stdout().write_all(&kept);
        let _ = io::stdout().flush();
        if let Some(mut pager) = self.pager.take() {
            drop(pager.stdin.take());
            let _ = pager.wait();
        }
    }

    fn start(&mut self) {
        let Some(words) = named() else { return };
        let mut words = words.into_iter();
        let Some(program) = words.next() else { return };
        self.pager = Command::new(program).args(words).stdin(Stdio::piped()).spawn().ok();
        self.height = None;
    }
}

/// The words of `PAGER`; none where it is unset or blank.
fn named() -> Option<Vec<String>> {
    let words: Vec<String> = std::env::var("PAGER").ok()?.split_whitespace().map(str::to_owned).collect();
    (!words.is_empty()).then_some(words)
}

impl Write for Out {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if let Some(kind) = self.failed {
            return Err(kind.into());
        }
        if let Some(height) = self.height {
            self.kept.extend_from_slice(bytes);
            self.lines += bytes.iter().filter(|&&byte| byte == b'\n').count();
            if self.lines < height {
                return Ok(bytes.len());
            }
            self.start();
            let kept = std::mem::take(&mut self.kept);
            self.through(&kept)?;
            return Ok(bytes.len());
        }
        self.through(bytes)?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        if self.height.is_some() { Ok(()) } else { io::stdout().flush() }
    }
}

impl Out {
    fn through(&mut self, bytes: &[u8]) -> io::Result<()> {
        let done = match self.pager.as_mut().and_then(|pager| pager.stdin.as_mut()) {
            Some(pager) => pager.write_all(bytes),
            None => io::stdout().write_all(bytes),
        };
        done.inspect_err(|error| self.failed = Some(error.kind()))
    }
}
