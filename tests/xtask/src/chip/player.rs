//! Who plays tapes: the host's program in debug and release, and QEMU with a chip's image.

use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;

use super::Failure;
use super::answer::Answer;
use super::kind::Chip;
use super::tape::Tape;
use super::tools::QEMU;

/// A program that reads a tape and writes the answer.
#[derive(Clone, Debug)]
pub(super) struct Player {
    pub(super) name: String,
    program: PathBuf,
    arguments: Vec<String>,
}

impl Player {
    pub(super) fn host(name: &str, program: PathBuf) -> Self {
        Self { name: name.into(), program, arguments: Vec::new() }
    }

    /// `image` on the chip that QEMU plays. With `-icount` virtual time passes by 2^shift ns per
    /// instruction: with 7 by more than two ticks of the boards' timers, so that none is missed.
    pub(super) fn chip(chip: &Chip, image: &Path) -> Self {
        let [machine, core] = chip.machine;
        let fixed = [
            "-machine",
            machine,
            "-cpu",
            core,
            "-display",
            "none",
            "-serial",
            "none",
            "-monitor",
            "none",
            "-semihosting-config",
            "enable=on,target=native",
            "-icount",
            "shift=7",
            "-kernel",
        ];
        let mut arguments: Vec<String> = fixed.map(Into::into).into();
        arguments.push(image.display().to_string());
        Self { name: chip.name.into(), program: QEMU.into(), arguments }
    }

    /// Started, with its standard input and output in our hands.
    pub(super) fn command(&self) -> Command {
        let mut command = Command::new(&self.program);
        command.args(&self.arguments).stdin(Stdio::piped()).stdout(Stdio::piped());
        command
    }

    /// # Errors
    /// When it does not start, fails, or answers what is no answer.
    pub(super) fn play(&self, tape: &Tape, mark_every: u32) -> Result<Answer, Failure> {
        let bytes = tape.bytes(mark_every)?;
        let of =
            |error: &dyn std::fmt::Display| format!("{}, tape {}: {error}", self.name, tape.name);
        let mut child = self.command().spawn().map_err(|error| of(&error))?;
        let (input, output) = (child.stdin.take(), child.stdout.take());
        // It answers while it reads: whoever does one after the other waits for ever.
        let writer = thread::spawn(move || input.map(|mut input| input.write_all(&bytes)));
        let mut answer = Vec::new();
        output.map(|mut output| output.read_to_end(&mut answer)).transpose()?;
        let status = child.wait()?;
        drop(writer.join());
        if !status.success() {
            return Err(of(&status).into());
        }
        Answer::read(&answer, tape.inputs.len(), mark_every).map_err(|error| of(&error).into())
    }
}
