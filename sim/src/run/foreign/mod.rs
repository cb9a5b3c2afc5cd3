//! A controller in another language: a program of its own, told one line per tick and answering with one.
//!
//! Lines are comma-separated, because every language splits those without a library, also C and
//! MicroPython on a board. What they say is in `line.rs`. Program and simulator go in lock-step: neither
//! is ever ahead, so the same program gives the same run.

mod line;
mod process;

use std::time::Duration;

use easeoff_core::TickRate;

pub use self::process::NoAnswer;
use self::process::Process;
use crate::run::RunError;
use crate::run::controller::{Command, Control, Fault, Input};

/// How long a program may take until it answers the greeting; interpreters take their time \[s\].
const GREETING_S: u64 = 10;

/// A program that controls.
#[derive(Debug)]
pub struct Foreign {
    /// `None` once it failed.
    process: Option<Process>,
    name: String,
    columns: Vec<String>,
    values: Vec<f64>,
    tick: u64,
    hz: u16,
    question: String,
    fault: Option<Fault>,
}

impl Foreign {
    /// Starts the program, without a shell, and greets it. `limit` is the time it has for each tick.
    ///
    /// # Errors
    /// When it cannot be started, or does not answer the greeting as a controller should.
    pub fn start(words: &[String], rate: TickRate, limit: Duration) -> Result<Self, RunError> {
        let hz = rate.hz();
        let greet = |process: &mut Process| {
            let answer = process.ask(&line::greeting(hz), Duration::from_secs(GREETING_S));
            answer
                .map_err(|reported| reported.to_string())
                .and_then(|answer| line::greeted(&answer))
        };
        let mut process = Process::start(words, limit).map_err(RunError::Controller)?;
        let (name, columns) = greet(&mut process).map_err(|what| {
            RunError::Controller(format!("the controller `{}` {what}", words.join(" ")))
        })?;
        let values = vec![f64::NAN; columns.len()];
        let question = String::new();
        Ok(Self {
            process: Some(process),
            name,
            columns,
            values,
            tick: 0,
            hz,
            question,
            fault: None,
        })
    }

    fn answer(&mut self, input: &Input) -> Result<Command, String> {
        let Some(process) = &mut self.process else { return Ok(Command::Coast) };
        line::question(&mut self.question, self.tick, self.hz, input);
        let limit = process.limit;
        let answer = process.ask(&self.question, limit).map_err(|reported| reported.to_string())?;
        line::answer(&answer, self.tick, &mut self.values)
    }
}

impl Control for Foreign {
    fn name(&self) -> String {
        self.name.clone()
    }

    fn step(&mut self, input: &Input) -> Command {
        let command = self.answer(input).unwrap_or_else(|what| {
            self.fault = Some(Fault { tick: self.tick, what });
            self.process = None;
            self.values.fill(f64::NAN);
            Command::Coast
        });
        self.tick += 1;
        command
    }

    fn columns(&self) -> Vec<String> {
        self.columns.clone()
    }

    fn values(&self) -> Vec<f64> {
        self.values.clone()
    }

    fn fault(&self) -> Option<Fault> {
        self.fault.clone()
    }
}
