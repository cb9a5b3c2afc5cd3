//! The program: started without a shell, asked and answering line by line, ended with the run.

use std::io::{self, BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStderr, ChildStdin, ChildStdout, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, TryRecvError, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use thiserror::Error;

use super::line::quoted;

/// Longer lines are no answer \[bytes\].
const LONGEST: u64 = 4_096;
/// A program whose input has ended has so long to end itself.
const PATIENCE: Duration = Duration::from_millis(500);

/// Why there is no answer.
#[derive(Debug, Error)]
pub enum NoAnswer {
    /// Nothing came in time.
    #[error("does not answer within {} ms; answer each line, and flush", .0.as_millis())]
    Silence(Duration),
    /// The program has ended: how, and the last line of what it said on standard error.
    #[error("ended ({how}){}", after(.1), how = .0)]
    Ended(String, String),
    /// A line without an end.
    #[error("sends a line of more than {LONGEST} bytes")]
    TooLong,
    /// A line before it was asked.
    #[error("sends {} before it is asked; answer each line with one", quoted(.0))]
    Ahead(String),
}

fn after(last: &str) -> String {
    if last.is_empty() { String::new() } else { format!(" after saying {}", quoted(last)) }
}

/// What came at one time.
#[derive(Debug)]
struct Heard {
    /// `None` for a line that is too long.
    line: Option<String>,
    /// The next line, or the beginning of it, where it came with this one.
    next: Option<String>,
}

/// A running program.
#[derive(Debug)]
pub(super) struct Process {
    child: Child,
    /// `None` once its input has ended.
    to: Option<ChildStdin>,
    from: Receiver<Heard>,
    said: Said,
    /// What it has for each tick.
    pub(super) limit: Duration,
}

impl Process {
    /// Starts it.
    pub(super) fn start(words: &[String], limit: Duration) -> Result<Self, String> {
        let Some((program, arguments)) = words.split_first() else {
            return Err("the controller's command is empty; name a program".into());
        };
        let mut command = std::process::Command::new(program);
        command.args(arguments);
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        // A group of its own, so that what a wrapper starts ends with it.
        #[cfg(unix)]
        std::os::unix::process::CommandExt::process_group(&mut command, 0);
        let mut child = command.spawn().map_err(|error| {
            format!("the controller's program {program} cannot be started: {error}; check its name")
        })?;
        let to = child.stdin.take();
        // Of one: a program that runs ahead waits.
        let (lines, from) = sync_channel(1);
        if let Some(out) = child.stdout.take() {
            thread::spawn(move || listen(out, &lines));
        }
        let (ended, end) = sync_channel(1);
        let last = Arc::new(Mutex::new(String::new()));
        let said = Said { last: Arc::clone(&last), end };
        if let Some(error) = child.stderr.take() {
            thread::spawn(move || {
                overhear(error, &last);
                let _ = ended.send(());
            });
        }
        Ok(Self { child, to, from, said, limit })
    }

    /// Tells it something and waits for one line.
    pub(super) fn ask(&mut self, text: &str, limit: Duration) -> Result<String, NoAnswer> {
        match self.from.try_recv() {
            Ok(Heard { line: Some(line), .. }) => return Err(NoAnswer::Ahead(line)),
            Ok(Heard { line: None, .. }) => return Err(NoAnswer::TooLong),
            Err(TryRecvError::Empty | TryRecvError::Disconnected) => {}
        }
        if self.to.as_ref().is_some_and(|to| !takes_more(to, limit)) {
            return Err(NoAnswer::Silence(limit));
        }
        // Where the program has ended the line breaks; the other end says how.
        let written = self.to.as_mut().map(|to| to.write_all(text.as_bytes()));
        match (self.from.recv_timeout(limit), written) {
            (Ok(Heard { line: None, .. }), _) => Err(NoAnswer::TooLong),
            (Ok(Heard { next: Some(next), .. }), _) => Err(NoAnswer::Ahead(next)),
            (Ok(Heard { line: Some(line), .. }), Some(Ok(()))) => Ok(line),
            (Err(RecvTimeoutError::Timeout), _) => Err(NoAnswer::Silence(limit)),
            _ => Err(self.ended()),
        }
    }

    fn ended(&mut self) -> NoAnswer {
        self.to = None;
        let how = match self.wait() {
            Some(Ok(status)) => status.to_string(),
            Some(Err(error)) => error.to_string(),
            None => "it closed its output".into(),
        };
        NoAnswer::Ended(how, self.said.last())
    }

    /// How it ended, if it does in a while.
    fn wait(&mut self) -> Option<io::Result<std::process::ExitStatus>> {
        let until = Instant::now() + PATIENCE;
        loop {
            match self.child.try_wait() {
                Ok(None) if Instant::now() < until => thread::sleep(Duration::from_millis(1)),
                Ok(None) => return None,
                Ok(Some(status)) => return Some(Ok(status)),
                Err(error) => return Some(Err(error)),
            }
        }
    }
}

impl Drop for Process {
    /// Ends its input, and after a while the program; with it, or after it, what it started.
    fn drop(&mut self) {
        self.to = None;
        let ended = self.wait().is_some();
        #[cfg(unix)]
        if let Some(group) =
            i32::try_from(self.child.id()).ok().and_then(rustix::process::Pid::from_raw)
        {
            let _ = rustix::process::kill_process_group(group, rustix::process::Signal::KILL);
        }
        if !ended {
            let _ = self.child.kill();
            let _ = self.child.wait();
        }
    }
}

/// Passes on every whole line, one that is too long without its text, and nothing after it.
fn listen(out: ChildStdout, lines: &SyncSender<Heard>) {
    let mut out = BufReader::new(out);
    loop {
        let mut line = Vec::new();
        let read = (&mut out).take(LONGEST).read_until(b'\n', &mut line);
        let whole = line.pop() == Some(b'\n');
        let text = match read {
            Ok(_) if whole => Some(String::from_utf8_lossy(&line).into_owned()),
            Ok(length) if length as u64 == LONGEST => None,
            // A line that its end cuts off is none.
            _ => return,
        };
        let over = text.is_none();
        let behind = out.buffer();
        let next = behind.split(|byte| *byte == b'\n').next().filter(|_| !behind.is_empty());
        let next = next.map(|next| String::from_utf8_lossy(next).into_owned());
        if lines.send(Heard { line: text, next }).is_err() || over {
            return;
        }
    }
}

/// What the program says beside its answers goes on to the user; a long line in pieces.
fn overhear(error: ChildStderr, last: &Mutex<String>) {
    let mut error = BufReader::new(error);
    loop {
        let mut line = Vec::new();
        match (&mut error).take(LONGEST).read_until(b'\n', &mut line) {
            Ok(length) if length > 0 => {}
            _ => return,
        }
        // Nobody reads it any more: no harm.
        let _ = io::stderr().write_all(&line);
        let line = String::from_utf8_lossy(&line);
        if !line.trim().is_empty() {
            *last.lock().unwrap_or_else(PoisonError::into_inner) = line.trim_end().to_owned();
        }
    }
}

/// The last line of what the program said on standard error.
#[derive(Debug)]
struct Said {
    last: Arc<Mutex<String>>,
    end: Receiver<()>,
}

impl Said {
    fn last(&self) -> String {
        // It comes by another way than the answers, perhaps later.
        let _ = self.end.recv_timeout(PATIENCE);
        self.last.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

/// Whether a line can be written at once, or in so long a time; else the program does not read, and writing would
/// wait for ever. A pipe that takes anything takes a whole line.
#[cfg(unix)]
fn takes_more(to: &ChildStdin, limit: Duration) -> bool {
    use rustix::event::{PollFd, PollFlags, Timespec, poll};
    let until = Instant::now() + limit;
    loop {
        let left = until.saturating_duration_since(Instant::now());
        let left = Timespec { tv_sec: left.as_secs() as i64, tv_nsec: left.subsec_nanos().into() };
        match poll(&mut [PollFd::new(to, PollFlags::OUT)], Some(&left)) {
            Err(rustix::io::Errno::INTR) => {}
            // Also where the other end is closed: writing says so.
            other => return other.is_ok_and(|ready| ready > 0),
        }
    }
}

/// Elsewhere it is not known.
#[cfg(not(unix))]
fn takes_more(_: &ChildStdin, _: Duration) -> bool {
    true
}

#[cfg(all(test, unix))]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests panic")]

    use super::*;

    /// Questions are not written to where nobody reads them, once there is no room: that would wait for ever.
    #[test]
    fn a_full_pipe_is_silence_too() {
        let words = ["sleep", "600"].map(str::to_owned);
        let limit = Duration::from_millis(5);
        let mut process = Process::start(&words, limit).unwrap();
        let (ended, end) = sync_channel(1);
        thread::spawn(move || {
            // A pipe holds 64 KiB on Linux, elsewhere less.
            let said = (0..40).all(|_| {
                let reported = process.ask(&"x".repeat(4_000), limit);
                matches!(reported, Err(NoAnswer::Silence(_)))
            });
            ended.send(said)
        });
        assert_eq!(end.recv_timeout(Duration::from_secs(30)), Ok(true));
    }
}
