//! The command line: what to read, what to run, what to write and what to say.

mod own_controller;
mod controller_crate;
mod compare;
mod check;
mod completions;
mod drive;
mod export;
mod failure;
mod gearing;
mod goals;
mod inspect;
mod import;
mod interrupt;
mod fit;
mod man;
mod many;
mod measure;
mod other;
mod merge;
mod parquet;
mod progress;
mod scene;
mod start;
mod sweep;
mod telemetry;
mod throttle;
mod trials;

use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};
pub use own_controller::run_alongside;

use self::failure::Failure;
use easeoff_sim::results::Asked;
use easeoff_sim::results::{pretty, record};

/// What the program's exit codes mean.
const EXIT_CODES: &[(u8, &str)] = &[
    (0, "Done. A reader who closes the pipe early has seen enough: that is no failure."),
    (2, "The command line or a file is refused; nothing was written."),
    (3, "The run could not be finished; nothing was written."),
    (4, "The results, or what was to be said, could not be written."),
    (
        5,
        "Interrupted, as by Ctrl-C. What was finished is kept; the same command with --resume goes on.",
    ),
    (6, "The goals cannot be met; every try was written, and no tune."),
    (
        7,
        "A controller of the user's own failed in the middle; the rig coasted from there, and that was written.",
    ),
];

/// Try throttle and drag-brake settings of a small electric vehicle before flashing them.
#[derive(Parser)]
#[command(name = "easeoff", version, arg_required_else_help = true, after_long_help = exit_codes())]
struct Arguments {
    #[command(subcommand)]
    command: Task,
    /// Print what was found as JSON instead of words.
    #[arg(long, global = true)]
    json: bool,
    /// Write also into a folder, or over a file, that is not this command's own. Files of the same names are
    /// replaced, and so are results of another command; all else stays.
    #[arg(long, global = true)]
    force: bool,
}

#[derive(Subcommand)]
enum Task {
    /// Drive one rig over one course and write pictures, scores and the whole trace.
    ///
    /// Without a folder or files it drives the built-in demo.
    ///
    /// Example: easeoff drive my-rig
    Drive(drive::Drive),
    /// Drive other tunes or rigs over the same course by the same driver, and say what they do otherwise.
    ///
    /// Example: easeoff compare my-rig --against softer.toml --against other-rig
    Compare(compare::Compare),
    /// Put a rig and its tune through ten standard trials: starts, let-offs, a slope, loads, heat, lost signal.
    ///
    /// Example: easeoff trials my-rig --against softer.toml
    Trials(trials::Trials),
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
    /// Edit my-rig/tune.toml, then drive it with easeoff drive my-rig.
    ///
    /// Example: easeoff new my-rig
    New(start::New),
    /// Say what each pinion does: speed, torque, heat on a grade, and whether its teeth stand it.
    ///
    /// Example: easeoff gearing my-rig --teeth 10..20 --grade-deg 15
    Gearing(gearing::Gearing),
    /// Find the settings with which one score is best while others keep their limits, and write the tune.
    ///
    /// Example: easeoff goals --demo let-off --vary tune.drag.onset_ms=0..900 --smallest lurch --keep "run-on<=0.6"
    Goals(goals::Goals),
    /// Look over rig and tune before first power: what is not compatible, and what to do about it.
    ///
    /// Example: easeoff inspect my-rig
    Inspect(inspect::Inspect),
    /// Run a grid of settings on all cores and write the scores as a table and as pictures.
    ///
    /// Ctrl-C stops it with what is done; the same command with --resume goes on.
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
    /// Say whether a folder's results are whole, one run's, and as they were written.
    ///
    /// What a killed run left is finished or thrown away first.
    ///
    /// Example: easeoff check out/garden
    Check(check::Check),
    /// Print what makes a shell complete easeoff's commands and options.
    ///
    /// For bash: source <(easeoff completions bash), in ~/.bashrc to keep it.
    ///
    /// Example: easeoff completions bash
    Completions(completions::Completions),
    /// Print the manual page, all commands in it.
    ///
    /// To read it: easeoff man > easeoff.1, then man -l easeoff.1
    ///
    /// Example: easeoff man
    Man(man::Man),
}

/// What a command has to say: to a person, and to a program.
struct Outcome {
    text: String,
    record: serde_json::Value,
}

/// The command line as it is defined: for completions, the manual and whoever checks them.
pub fn definition() -> clap::Command {
    Arguments::command()
}

fn exit_codes() -> String {
    let lines = EXIT_CODES.iter().map(|(code, meaning)| format!("\n  {code}  {meaning}"));
    format!("Exit codes:{}", lines.collect::<String>())
}

/// Runs the program on its arguments.
pub fn main() -> ExitCode {
    let matches = definition().try_get_matches();
    let read = matches.and_then(|matches| {
        let command = matches.subcommand_name().unwrap_or_default().to_owned();
        Arguments::from_arg_matches(&matches).map(|arguments| (command, arguments))
    });
    let (command, Arguments { command: task, json, force }) = match read {
        Ok(read) => read,
        // Help and version come this way too.
        Err(asked) => return said(asked.print(), u8::try_from(asked.exit_code()).unwrap_or(2)),
    };
    Asked { command: command.clone(), force }.by_this_process();
    let result = match task {
        Task::Compare(task) => task.run(),
        Task::Drive(task) => task.run(),
        Task::Trials(task) => task.run(),
        Task::Export(task) => task.run(),
        Task::Import(task) => task.run(),
        Task::Fit(task) => task.run(),
        Task::New(task) => task.run(),
        Task::Gearing(task) => task.run(),
        Task::Goals(task) => task.run(),
        Task::Inspect(task) => task.run(),
        Task::Sweep(task) => task.run(),
        Task::Merge(task) => task.run(),
        Task::Telemetry(task) => task.run(),
        Task::Throttle(task) => task.run(),
        Task::Check(task) => task.run(),
        Task::Completions(task) => task.run(),
        Task::Man(task) => task.run(),
    };
    end(&command, result, json)
}

/// Says how a command ended, and gives the exit code.
fn end(command: &str, result: Result<Outcome, Failure>, json: bool) -> ExitCode {
    let print = |outcome: &Outcome| {
        let text = if json {
            let mut found = record(outcome.record.clone());
            found["command"] = command.into();
            pretty(&found)
        } else {
            outcome.text.clone()
        };
        let mut out = io::stdout().lock();
        out.write_all(text.as_bytes()).and_then(|()| out.flush())
    };
    match result {
        Ok(outcome) => said(print(&outcome), 0),
        Err(failure) => {
            // What was run all the same; that it went wrong is told next, and is the exit code.
            if let Some(outcome) = failure.outcome() {
                let _ = print(outcome);
            }
            tell(&failure)
        }
    }
}

/// Where results go: as asked, or under `out` by their usual name.
fn out_folder(asked: Option<&PathBuf>, usual: &str) -> PathBuf {
    asked.cloned().unwrap_or_else(|| Path::new("out").join(usual))
}

/// The exit code, unless what was to be said could not be.
fn said(done: io::Result<()>, code: u8) -> ExitCode {
    match done {
        // A reader that closed the pipe has seen enough.
        Err(error) if error.kind() != ErrorKind::BrokenPipe => tell(&Failure::Output(error)),
        _ => ExitCode::from(code),
    }
}

fn tell(failure: &Failure) -> ExitCode {
    let (text, code) = failure.tell();
    let _ = writeln!(io::stderr(), "{text}");
    ExitCode::from(code)
}

/// The last line of what is said: where the results are.
fn wrote(out: &Path, names: &str) -> String {
    format!("Wrote to {}: {names}\n", out.display())
}
