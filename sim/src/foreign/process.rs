//! The program: started without a shell, asked and answering line by line, ended with the run.

use std::fmt;
use std::io::{self, BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStderr, ChildStdin, ChildStdout, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

use super::line::quoted;

/// Longer lines are no answer \[bytes\].
const LONGEST: u64 = 4_096;
/// A program whose input has ended has so long to end itself.
const PATIENCE: Duration = Duration::from_millis(500);

/// Why there is no answer.
#[derive(Debug)]
pub enum Told {
    /// Nothing came in time.
    Silence(Duration),
    /// The program has ended: how, and the last line of what it said on standard error.
    Ended(String, String),
    /// A line without an end.
    TooLong,
}

impl fmt::Display for Told {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Silence(limit) => {
                write!(
                    out,
                    "does not answer within {} ms; answer each line, and flush",
                    limit.as_millis()
                )
            }
            Self::Ended(how, last) if last.is_empty() => write!(out, "ended ({how})"),
            Self::Ended(how, last) => write!(out, "ended ({how}) after saying {}", quoted(last)),
            Self::TooLong => write!(out, "sends a line of more than {LONGEST} bytes"),
        }
    }
}

/// A running program.
#[derive(Debug)]
pub(super) struct Process {
    child: Child,
    /// `None` once its input has ended.
    to: Option<ChildStdin>,
    from: Receiver<Option<String>>,
    said: Receiver<String>,
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
        let (lines, from) = channel();
        if let Some(out) = child.stdout.take() {
            thread::spawn(move || listen(out, &lines));
        }
        let (last, said) = channel();
        if let Some(error) = child.stderr.take() {
            thread::spawn(move || overhear(error, &last));
        }
        Ok(Self { child, to, from, said, limit })
    }

    /// Tells it something and waits for one line.
    pub(super) fn ask(&mut self, text: &str, limit: Duration) -> Result<String, Told> {
        // Where the program has ended the line breaks; the other end says how.
        let written = self.to.as_mut().map(|to| to.write_all(text.as_bytes()));
        match (self.from.recv_timeout(limit), written) {
            (Ok(Some(line)), Some(Ok(()))) => Ok(line),
            (Ok(None), _) => Err(Told::TooLong),
            (Err(RecvTimeoutError::Timeout), _) => Err(Told::Silence(limit)),
            _ => Err(self.ended()),
        }
    }

    fn ended(&mut self) -> Told {
        self.to = None;
        let how = match self.wait() {
            Some(Ok(status)) => status.to_string(),
            Some(Err(error)) => error.to_string(),
            None => "it closed its output".into(),
        };
        // What it said comes by another way, perhaps later.
        let mut last = String::new();
        let until = Instant::now() + PATIENCE;
        while let Ok(line) = self.said.recv_timeout(until.saturating_duration_since(Instant::now()))
        {
            if !line.trim().is_empty() {
                last = line;
            }
        }
        Told::Ended(how, last)
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
    /// Ends its input, and after a while the program.
    fn drop(&mut self) {
        self.to = None;
        if self.wait().is_none() {
            #[cfg(unix)]
            if let Some(group) =
                i32::try_from(self.child.id()).ok().and_then(rustix::process::Pid::from_raw)
            {
                let _ = rustix::process::kill_process_group(group, rustix::process::Signal::KILL);
            }
            let _ = self.child.kill();
            let _ = self.child.wait();
        }
    }
}

/// Passes on every whole line; `None` for one that is too long, and nothing after it.
fn listen(out: ChildStdout, lines: &Sender<Option<String>>) {
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
        if lines.send(text).is_err() || over {
            return;
        }
    }
}

/// What the program says beside its answers goes on to the user.
fn overhear(error: ChildStderr, last: &Sender<String>) {
    for line in BufReader::new(error).split(b'\n').map_while(Result::ok) {
        let line = String::from_utf8_lossy(&line).into_owned();
        // Nobody listens any more: no harm.
        let _ = writeln!(io::stderr(), "{line}");
        let _ = last.send(line);
    }
}
