//! `easeoff telemetry`: what a board sent, as a table.

use std::io::Write;
use std::path::PathBuf;

use easeoff_sim::files::folder::read_bytes;
use easeoff_sim::results::write_file;
use easeoff_sim::run::telemetry::{BEGINNING, Recording};
use serde_json::json;

use super::Outcome;
use super::failure::Failure;

/// What to read, and where to write it.
#[derive(clap::Args)]
pub(super) struct Telemetry {
    /// The bytes as they came over the line.
    file: PathBuf,
    /// Write the table here [default: beside the file, its name ending in .csv].
    #[arg(long)]
    out: Option<PathBuf>,
}

/// Some hours of frames.
const MOST_TELEMETRY_BYTES: u64 = 64 << 20;

impl Telemetry {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        let shown = self.file.display();
        let bytes = read_bytes(&self.file, MOST_TELEMETRY_BYTES)?;
        let recording = Recording::read(&bytes);
        let losses: String = recording.losses().iter().map(|loss| format!("- {loss}\n")).collect();
        if recording.frames.is_empty() {
            let text = format!("{shown} holds no good frame of telemetry\n{losses}");
            return Err(Failure::Usage(text.trim_end().into()));
        }
        let out = self.out.clone().unwrap_or_else(|| self.file.with_extension("csv"));
        if out
            .canonicalize()
            .is_ok_and(|out| self.file.canonicalize().is_ok_and(|file| file == out))
        {
            let text =
                format!("{shown} would be replaced by its table; name another file with --out");
            return Err(Failure::Usage(text));
        }
        write_file(&out, recording.to_csv().as_bytes(), BEGINNING.as_bytes())?;
        let _ = std::io::stderr().write_all(losses.as_bytes());
        let frames = recording.frames.len();
        Ok(Outcome {
            text: format!("Wrote {frames} frames to {}\n", out.display()),
            record: json!({ "frames": frames, "losses": recording.losses(), "table": out }),
        })
    }
}
