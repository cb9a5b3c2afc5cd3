//! Plays the tape on standard input and answers on standard output: the host's half of the comparison.

use std::io::{stdin, stdout};
use std::process::ExitCode;

use easeoff_tape::{Broken, Stream, Unmetered, play};

fn main() -> ExitCode {
    match play(&mut Stream::new(stdin(), stdout()), &mut Unmetered, |_| {}) {
        Ok(()) => ExitCode::SUCCESS,
        Err(Broken) => {
            eprintln!("error: standard input is no whole tape; cargo xtask chip makes them");
            ExitCode::from(2)
        }
    }
}
