//! The command line: what to read, what to run, what to write and what to say.
//!
//! Exit codes: 0 done; 2 the command line or a file is refused, nothing was written; 3 the run could
//! not be finished, nothing was written; 4 the results could not be written; 5 a controller of the user's
//! own failed in the middle, the rig coasted from there, and that was written.

mod beside;
mod compare;
mod drive;
mod export;
mod failure;
mod gearing;
mod inspect;
mod import;
mod fit;
mod measure;
mod other;
mod merge;
mod scene;
mod start;
mod sweep;
mod telemetry;
mod throttle;

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

pub use beside::beside;
use clap::{Parser, Subcommand};

use self::failure::Failure;
use crate::publish::pretty;

/// Try throttle and drag-brake settings of a small electric vehicle before flashing them.
#[derive(Parser)]
#[command(name = "easeoff", version, arg_required_else_help = true)]
struct Arguments {
    #[command(subcommand)]
    command: Task,
    /// Print what was found as JSON instead of words.
    #[arg(long, global = true)]
    json: bool,
}

#[derive(Subcommand)]
enum Task {
    /// Drive one rig over one course and write pictures, scores and the whole trace.
    ///
    /// Without a folder or files it drives the built-in demo. Example: easeoff drive my-rig
    Drive(drive::Drive),
    /// Drive other tunes or rigs over the same course by the same hand, and say what they do otherwise.
    ///
    /// Example: easeoff compare my-rig --against softer.toml --against other-rig
    Compare(compare::Compare),
    /// Write a tune for a board: as a blob, as Rust source or as a C header.
    ///
    /// Example: easeoff export my-rig --as c
    Export(export::Export),
    /// Read a blob back into a commented tune file.
    ///
    /// Example: easeoff import tune.blob --rig my-rig/rig.toml --out board.toml
    Import(import::Import),
    /// Find numbers of the rig from a log of it.
    ///
    /// Example: easeoff fit log.csv my-rig --free motor.resistance_ohm,vehicle.drag_area_m2
    Fit(fit::Fit),
    /// Write the demo's files into a folder, commented, ready to edit.
    ///
    /// Example: easeoff new my-rig, edit my-rig/tune.toml, easeoff drive my-rig
    New(start::New),
    /// Say what each pinion does: speed, torque, heat on a grade, and whether its teeth stand it.
    ///
    /// Example: easeoff gearing my-rig --teeth 10..20 --grade-deg 15
    Gearing(gearing::Gearing),
    /// Look over rig and tune before first power: what does not go together, and what to do about it.
    ///
    /// Example: easeoff inspect my-rig
    Inspect(inspect::Inspect),
    /// Run a grid of settings on all cores and write the scores as a table.
    ///
    /// Example: easeoff sweep my-rig --vary tune.drag.onset_ms=0..900:7 --scores lurch,run-on
    Sweep(sweep::Sweep),
    /// Put the shards of a sweep together: the same bytes as of the sweep in one piece.
    ///
    /// Example: easeoff merge part1 part2 part3 --out whole
    Merge(merge::Merge),
    /// Read telemetry that a board sent and write it as a table.
    ///
    /// Example: easeoff telemetry board.bin
    Telemetry(telemetry::Telemetry),
    /// Measure a throttle from a recording of its pulses: end points, noise, dead band, missing frames.
    ///
    /// Example: easeoff throttle pulses.csv --tune my-rig/tune.toml
    Throttle(throttle::Throttle),
}

/// What a command has to say: to a person, and to a program.
struct Outcome {
    text: String,
    record: serde_json::Value,
}

/// Runs the program on its arguments.
pub fn main() -> ExitCode {
    let Arguments { command, json } = Arguments::parse();
    let result = match command {
        Task::Compare(task) => task.run(),
        Task::Drive(task) => task.run(),
        Task::Export(task) => task.run(),
        Task::Import(task) => task.run(),
        Task::Fit(task) => task.run(),
        Task::New(task) => task.run(),
        Task::Gearing(task) => task.run(),
        Task::Inspect(task) => task.run(),
        Task::Sweep(task) => task.run(),
        Task::Merge(task) => task.run(),
        Task::Telemetry(task) => task.run(),
        Task::Throttle(task) => task.run(),
    };
    tell(result, json)
}

/// Says how it ended.
fn tell(result: Result<Outcome, Failure>, json: bool) -> ExitCode {
    if let Ok(outcome) | Err(Failure::Controller(outcome, _)) = &result {
        let text = if json { pretty(&outcome.record) } else { outcome.text.clone() };
        // A reader that closed the pipe has seen enough.
        let _ = std::io::stdout().write_all(text.as_bytes());
    }
    match result {
        Ok(_) => ExitCode::SUCCESS,
        Err(failure) => {
            let (text, code) = failure.tell();
            let _ = writeln!(std::io::stderr(), "{text}");
            ExitCode::from(code)
        }
    }
}

/// Where results go: as asked, or under `out` by their usual name.
fn out_folder(asked: Option<&PathBuf>, usual: &str) -> PathBuf {
    asked.cloned().unwrap_or_else(|| Path::new("out").join(usual))
}

/// The last line of what is said: where the results are.
fn wrote(out: &Path, names: &str) -> String {
    format!("Wrote to {}: {names}\n", out.display())
}
