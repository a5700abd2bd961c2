//! `pigtail watch` as a process of its own, with a mail server in this one.
//!
//! Owns: that it sends what is due once, goes on through wrong settings, lets nobody else send, and ends when told to.
//! Refuses: schedules and the outbox, which have tests of their own.

use crate::program::{Desk, path_text};
use crate::shell::{pigtail, ran};
use crate::smtp_sink::{Manners, POLITE, Sink, Tls};
use std::io::{BufRead, BufReader};
use std::process::{Child, ChildStderr, Command, Stdio};
use std::time::{Duration, Instant};

/// Those of the demo fleet who get a digest.
const RECIPIENTS: usize = 3;

/// Longer than any step takes on a busy machine.
const PATIENCE: Duration = Duration::from_secs(30);

/// Longer than it sleeps between two looks.
const LOOK: Duration = Duration::from_secs(35);

struct Yard {
    desk: Desk,
    sink: Sink,
}

/// A process that watches, killed where a test fails.
struct Watch {
    child: Child,
    talk: BufReader<ChildStderr>,
}

impl Yard {
    fn new() -> Self {
        let sink = Sink::start(Manners { tls: Tls::None, login: false, ..POLITE });
        Self { desk: Desk::with_demo_fleet(), sink }
    }

    /// Settings whose schedule has come this year and does not come again while a test runs.
    fn settings(&self, mend: impl Fn(String) -> String) {
        let text = format!(
            "[mail]\nserver = \"127.0.0.1\"\nport = {}\nsecurity = \"plain\"\nsender = \"desk@example.org\"\n\n\
             [schedules]\ndefault = \"0 0 1 1 *\"\n",
            self.sink.port
        );
        std::fs::write(self.desk.path("config.toml"), mend(text)).unwrap();
    }

    fn command(&self, words: &[&str]) -> Command {
        let mut command = pigtail(&self.desk.db());
        command.args(words).args(["--config", path_text(&self.desk.path("config.toml"))]);
        command
    }

    fn watch(&self) -> Watch {
        let mut command = self.command(&["watch"]);
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut watch = Watch { talk: BufReader::new(child.stderr.take().unwrap()), child };
        assert!(watch.line().starts_with("watching "));
        watch
    }

    /// Waits until the server took so many.
    fn taken(&self, count: usize) {
        let started = Instant::now();
        while self.sink.taken().len() < count {
            assert!(started.elapsed() < PATIENCE, "{} of {count} digests came", self.sink.taken().len());
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

impl Watch {
    /// The next line of its talk.
    fn line(&mut self) -> String {
        let mut line = String::new();
        assert!(self.talk.read_line(&mut line).unwrap() > 0, "it ended");
        line.trim_end().to_owned()
    }

    fn tell(&self, signal: &str) {
        let told = Command::new("kill").args([signal, &self.child.id().to_string()]).status().unwrap();
        assert!(told.success());
    }

    /// Tells it to stop; its status and what it had said on standard output.
    fn stops_at(mut self, signal: &str) -> (Option<i32>, String) {
        self.tell(signal);
        let started = Instant::now();
        let status = loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                break status;
            }
            assert!(started.elapsed() < PATIENCE, "it goes on watching");
            std::thread::sleep(Duration::from_millis(20));
        };
        let said = std::io::read_to_string(self.child.stdout.take().unwrap()).unwrap();
        assert_eq!(self.line(), "stopped");
        (status.code(), said)
    }
}

impl Drop for Watch {
    fn drop(&mut self) {
        self.child.kill().ok();
        self.child.wait().ok();
    }
}

#[test]
fn what_is_due_goes_out_once_and_nobody_else_sends_meanwhile() {
    let yard = Yard::new();
    yard.settings(|text| text);
    let watch = yard.watch();
    yard.taken(RECIPIENTS);
    for words in [["watch", "--once"].as_slice(), &["digest", "send"], &["digest", "send", "--again"]] {
        let refused = ran(yard.command(words).output().unwrap());
        let expected = "error: another pigtail is sending digests\nhint: wait for it to end, or stop pigtail watch\n";
        assert_eq!((refused.status, refused.err.as_str()), (3, expected), "{words:?}");
    }
    let (status, said) = watch.stops_at("-TERM");
    assert_eq!(status, Some(0));
    assert_eq!(said.lines().filter(|line| line.starts_with("sent ")).count(), RECIPIENTS, "{said}");
    let mut to: Vec<Vec<String>> = yard.sink.taken().into_iter().map(|taken| taken.to).collect();
    to.sort();
    to.dedup();
    assert_eq!(to.len(), RECIPIENTS, "each gets one: {to:?}");

    // The next process knows what went out.
    let once = ran(yard.command(&["watch", "--once"]).output().unwrap());
    assert_eq!((once.status, once.out.as_str()), (0, ""), "{}", once.err);
    let (status, said) = yard.watch().stops_at("-INT");
    assert_eq!((status, said.as_str()), (Some(0), ""));
    assert_eq!(yard.sink.taken().len(), RECIPIENTS, "nobody gets a second one");
}

#[test]
fn wrong_settings_are_said_and_do_not_end_it() {
    let yard = Yard::new();
    yard.settings(|text| text.replace("security", "securty"));
    let mut watch = yard.watch();
    assert!(watch.line().starts_with("error: "));
    while !watch.line().starts_with("hint: ") {}
    let (status, said) = watch.stops_at("-TERM");
    assert_eq!((status, said.as_str()), (Some(0), ""));
    let once = ran(yard.command(&["watch", "--once"]).output().unwrap());
    assert_eq!(once.status, 2, "{}", once.err);
    assert_eq!(yard.sink.taken(), []);
}

#[test]
#[ignore = "waits for two looks: cargo test --test it watch -- --ignored"]
fn mended_settings_are_taken_up_and_broken_ones_waited_out() {
    let yard = Yard::new();
    yard.settings(|text| text.replace("security", "securty"));
    let mut watch = yard.watch();
    while !watch.line().starts_with("hint: ") {}
    yard.settings(|text| text);
    std::thread::sleep(LOOK);
    yard.taken(RECIPIENTS);
    yard.settings(|text| text.replace("server", "sever"));
    while !watch.line().starts_with("hint: ") {}
    let (status, said) = watch.stops_at("-TERM");
    assert_eq!(status, Some(0));
    assert_eq!(said.lines().count(), RECIPIENTS, "{said}");
    assert_eq!(yard.sink.taken().len(), RECIPIENTS);
}
