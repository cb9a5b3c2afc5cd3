//! Processor in the loop: the plant here, the controller on the chip, tick by tick.

use std::fs;

use easeoff_core::{Command, Input, Output, TickRate, Trace};
use easeoff_sim::files::demo;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::columns::to_csv;
use easeoff_sim::run::controller::Control;
use easeoff_sim::run::{DEFAULT_STEP_S, simulate, simulate_by};
use easeoff_tape::{ACCEPTED, END, Head, Line, Stream, write_record};

use super::Failure;
use super::answer::frame;
use super::build::top;
use super::player::Player;

/// The demo that is driven.
pub(super) const DEMO: &str = "garden";

/// Drives the demo with the core in this program, into `out/chip/`; the table.
///
/// # Errors
/// When the run cannot be finished or written.
pub(super) fn on_host() -> Result<String, Failure> {
    let table = to_csv(&simulate(&scenario()?, DEFAULT_STEP_S)?.rows);
    keep("host", &table)?;
    Ok(table)
}

/// Drives the demo with the chip as the controller, beside it; whether the table is `on_host`.
///
/// # Errors
/// When the chip falls silent or the run cannot be finished.
pub(super) fn same(player: &Player, on_host: &str) -> Result<bool, Failure> {
    let table = by_chip(player, &scenario()?)?;
    keep(&player.name, &table)?;
    Ok(table == on_host)
}

fn scenario() -> Result<Scenario, Failure> {
    demo::scenario(DEMO).ok_or_else(|| "the demo is broken".into())
}

fn keep(name: &str, table: &str) -> Result<(), Failure> {
    let folder = top().join("out/chip");
    fs::create_dir_all(&folder)?;
    fs::write(folder.join(format!("{name}.csv")), table)?;
    Ok(())
}

/// The run's table, with the chip as the controller.
fn by_chip(player: &Player, scenario: &Scenario) -> Result<String, Failure> {
    let mut child = player.command().spawn()?;
    let (Some(input), Some(output)) = (child.stdin.take(), child.stdout.take()) else {
        return Err("the chip has no line".into());
    };
    let mut line = Stream::new(output, input);
    let silent = |_| format!("{} fell silent", player.name);
    let rate = TickRate::new(scenario.rig.board.tick_hz).ok_or("the demo's rate is broken")?;
    let head = Head { tune: scenario.tune, rate, mark_every: 1 };
    head.write(&mut line).map_err(silent)?;
    if line.byte().map_err(silent)? != ACCEPTED {
        return Err("the chip refused the tune".into());
    }
    let mut chip = Chip { line, output: Output::default(), broken: None };
    let run = simulate_by(scenario, DEFAULT_STEP_S, &mut chip)?;
    let Chip { mut line, broken, .. } = chip;
    if let Some(error) = broken {
        return Err(error);
    }
    line.write(&[END]).and_then(|()| line.flush()).map_err(silent)?;
    drop(line);
    child.wait()?;
    Ok(to_csv(&run.rows))
}

/// The controller on the chip.
struct Chip<L> {
    line: L,
    output: Output,
    /// The simulator knows no broken lines: the rest of the run coasts, and is thrown away.
    broken: Option<Failure>,
}

impl<L: Line> Control for Chip<L> {
    fn name(&self) -> String {
        "chip".into()
    }

    fn step(&mut self, input: &Input) -> Command {
        if self.broken.is_none() {
            match exchange(&mut self.line, input) {
                Ok(output) => self.output = output,
                Err(error) => (self.output, self.broken) = (Output::default(), Some(error)),
            }
        }
        self.output.command
    }

    fn trace(&self) -> Option<Trace> {
        Some(self.output.trace)
    }
}

/// One tick: the input there, the output back.
fn exchange(line: &mut impl Line, input: &Input) -> Result<Output, Failure> {
    write_record(line, input).and_then(|()| line.flush()).map_err(|_| "the line is broken")?;
    line.long().map_err(|_| "the line ended")?;
    Ok(frame(line)?.output())
}
