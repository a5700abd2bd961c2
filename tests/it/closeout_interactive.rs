//! The close-out that asks, in a real pseudo-terminal: from start to end, interrupted, resumed, corrected, left.
//!
//! Owns: one way to sit before a terminal. Refuses: looking inside; what counts is what is on the screen and in the
//! journal.

use crate::program::Desk;
use portable_pty::{Child, CommandBuilder, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

/// Longest wait for a prompt; a machine under load is slow.
const PATIENCE: Duration = Duration::from_secs(60);

/// Typed nothing: only waited for.
pub const LOOK: &str = "<look>";

/// A terminal with `pigtail` in it.
pub struct Seat {
    child: Box<dyn Child + Send + Sync>,
    writer: Box<dyn Write + Send>,
    pieces: Receiver<Vec<u8>>,
    /// Everything on the screen so far.
    pub seen: String,
    /// How much of it has been waited for.
    read: usize,
}

impl Seat {
    /// Types `pigtail …` at `desk` in a terminal.
    pub fn at(desk: &Desk, words: &[&str]) -> Self {
        let size = PtySize { rows: 60, cols: 110, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).unwrap();
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_pigtail"));
        command.env("TERM", "xterm");
        command.env("PIGTAIL_DB", desk.db());
        command.env("PIGTAIL_TODAY", desk.today);
        command.env_remove("PAGER");
        command.env_remove("PIGTAIL_AUTHOR");
        command.args(words);
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let mut reader = pair.master.try_clone_reader().unwrap();
        let writer = pair.master.take_writer().unwrap();
        let (sender, pieces) = channel();
        std::thread::spawn(move || {
            // The master lives as long as somebody reads.
            let _master = pair.master;
            let mut bytes = [0; 4096];
            while let Ok(read) = reader.read(&mut bytes) {
                if read == 0 || sender.send(bytes[..read].to_vec()).is_err() {
                    return;
                }
            }
        });
        Self { child, writer, pieces, seen: String::new(), read: 0 }
    }

    /// Waits until `text` stands on the screen after what was waited for before.
    pub fn waits_for(&mut self, text: &str) {
        let end = Instant::now() + PATIENCE;
        loop {
            if let Some(at) = self.seen[self.read..].find(text) {
                self.read += at + text.len();
                return;
            }
            let left = end.saturating_duration_since(Instant::now());
            match self.pieces.recv_timeout(left) {
                Ok(piece) => self.seen.push_str(&String::from_utf8_lossy(&piece)),
                Err(_) => panic!("waited for `{text}`; the screen shows\n{}", self.seen),
            }
        }
    }

    /// Types a line.
    pub fn types(&mut self, line: &str) {
        self.writer.write_all(format!("{line}\n").as_bytes()).unwrap();
        self.writer.flush().unwrap();
    }

    /// Waits for each prompt and answers it.
    pub fn goes_through(&mut self, steps: &[(&str, &str)]) {
        for (prompt, line) in steps {
            self.waits_for(prompt);
            if *line != LOOK {
                self.types(line);
            }
        }
    }

    /// Presses Ctrl-C.
    pub fn interrupts(&mut self) {
        self.writer.write_all(b"\x03").unwrap();
        self.writer.flush().unwrap();
    }

    /// Waits for the end; the exit status, none where a signal ended it.
    pub fn ends(&mut self) -> Option<u32> {
        let status = self.child.wait().unwrap();
        while let Ok(piece) = self.pieces.recv_timeout(Duration::from_millis(300)) {
            self.seen.push_str(&String::from_utf8_lossy(&piece));
        }
        status.signal().is_none().then(|| status.exit_code())
    }
}

fn desk() -> Desk {
    let mut desk = Desk::with_demo_fleet();
    desk.today = "2026-03-22";
    desk
}

/// What the journal has gained since the demo fleet was imported, in words.
fn recorded(desk: &Desk) -> Vec<String> {
    let ran = desk.types(&["journal", "list", "--format", "json"]);
    let entries: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    let entries = entries["entries"].as_array().unwrap();
    entries.iter().skip(690).map(|entry| entry["says"].as_str().unwrap().to_owned()).collect()
}

const FIRST_HALF: [(&str, &str); 8] = [
    ("who did the work", "brand"),
    ("`brand` is not on the list; nearest is brandt", "1"),
    ("day of the visit [2026-03-22]", ""),
    ("did any of this happen", ""),
    ("gauge (number or code)", "tube-1"),
    ("gauge connected at", ""),
    ("lock-up, nothing burning", "27.4mbar"),
    ("lock-up again while watched", "11.2@2"),
];

const SECOND_HALF: [(&str, &str); 17] = [
    ("flow, pressure under load", "109"),
    ("109 in. w.c. is over 20 in. w.c.: type it again to keep it", "5.5+5.4"),
    ("= 5.5+5.4 = 10.9 in. w.c.", LOOK),
    ("burning meanwhile", "back"),
    ("flow, pressure under load [5.5+5.4 = 10.9 in. w.c.]", ""),
    ("burning meanwhile", "1 2"),
    ("how the drop is timed", ""),
    ("timed drop: pressure at the start", "9.0"),
    ("air temperature now", "58F"),
    ("timer, 3 minutes", "start"),
    ("Enter or done stops", "9.0"),
    ("9 in. w.c. after 0 minutes", "done"),
    ("minutes it was watched [0]", "4"),
    ("pressure at the end", "9.0"),
    ("air temperature at the end", "58F"),
    ("regulator vent", "10"),
    ("new stamp on CY-1101", "03 K204 26 E"),
];

const END: [(&str, &str); 9] = [
    ("read as 2026-03 external-visual by K204", LOOK),
    ("new stamp on CY-1102", ""),
    ("replaced by new ones", "5"),
    ("make date of what replaces HS-4101", "2026-01"),
    ("serial number of what replaces HS-4101", "0077"),
    ("replace-by date printed on what replaces HS-4101", ""),
    ("pass, or fail: and what is wrong", "fail"),
    ("say what is wrong", "fail: pin missing"),
    ("anything else to note", "wind from the sea"),
];

#[test]
fn interrupted_half_way_and_resumed_it_records_the_whole_visit() {
    let desk = desk();
    let draft = desk.path("fleet.db.R-001.draft.toml");
    let mut seat = Seat::at(&desk, &["closeout", "R-001"]);
    seat.waits_for("CY-1101: requalify or replace cylinder: overdue since 2026-03-01");
    seat.goes_through(&FIRST_HALF);
    seat.waits_for("flow, pressure under load");
    seat.interrupts();
    assert_eq!(seat.ends(), None, "{}", seat.seen);
    assert_eq!(recorded(&desk), Vec::<String>::new());
    assert!(draft.exists());
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(std::fs::metadata(&draft).unwrap().permissions().mode() & 0o777, 0o600);
    }

    let mut seat = Seat::at(&desk, &["closeout", "R-001"]);
    seat.goes_through(&[("a draft of 2026-03-22 is kept: go on with it?", "")]);
    seat.goes_through(&SECOND_HALF);
    seat.goes_through(&END);
    seat.goes_through(&[
        ("not answered:", LOOK),
        ("the gas test would be recorded as: pass", LOOK),
        ("record this visit?", ""),
        ("nothing is recorded until you type yes", LOOK),
        ("record this visit?", "17"),
        ("regulator vent, degrees from straight down, or unseen [10]", "20"),
        ("record this visit?", "yes"),
    ]);
    seat.waits_for("still overdue or undated on R-001");
    assert_eq!(seat.ends(), Some(1), "{}", seat.seen);
    assert!(!draft.exists());
    insta::assert_snapshot!("the_whole_visit", recorded(&desk).join("\n"));
}
