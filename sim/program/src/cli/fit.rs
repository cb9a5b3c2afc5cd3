//! `easeoff fit`: numbers of the rig from a log of it.

use std::path::PathBuf;

use easeoff_sim::files::folder::{Folder, read_bytes};
use easeoff_sim::files::mistake::Source;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::results::write_file;
use easeoff_sim::run::telemetry::Recording;
use easeoff_sim::study::fit::log::{DriveBy, Log, Wanted};
use easeoff_sim::study::fit::replay::Replay;
use easeoff_sim::study::fit::unknown::named;
use easeoff_sim::study::fit::{fit, words};

use super::failure::Failure;
use super::progress::Progress;
use super::scene::Scene;
use super::{Outcome, out_folder, wrote};
use crate::report::fit as report;

/// Which log to fit, and what.
#[derive(clap::Args)]
pub(super) struct Fit {
    /// The log: CSV with time_s, duty (and brake_share) or pulse_us, and what was measured; or our
    /// telemetry as it came over the line.
    log: PathBuf,
    #[command(flatten)]
    scene: Scene,
    /// The unknowns, by their keys in the rig file, separated by commas; surface.rolling for the ground.
    #[arg(long, required = true, value_delimiter = ',', value_name = "KEYS")]
    free: Vec<String>,
    /// The measured columns to hold the simulation against [default: all usual ones].
    #[arg(long, value_delimiter = ',', value_name = "COLUMNS")]
    signals: Vec<String>,
    /// What drives the simulation [default: duty if the log has it].
    #[arg(long, value_enum)]
    drive_by: Option<By>,
    /// The plant's step [us], 10 to 1000 [default: 0.9 of the rig's quickest time].
    #[arg(long, value_parser = super::measure::step)]
    step_us: Option<f64>,
    /// Write results here [default: out/ and the log's name].
    #[arg(long)]
    out: Option<PathBuf>,
    /// Write a copy of the rig file with what was found to this new file.
    #[arg(long, value_name = "FILE")]
    write: Option<PathBuf>,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum By {
    /// The column duty, straight to the bridge.
    Duty,
    /// The column pulse_us, through the controller.
    Pulse,
}

/// Some hours of frames, or some minutes of a wide table.
const MOST_LOG_BYTES: u64 = 64 << 20;
/// Firm level ground, for a log that needs no more. It goes on beyond its ends.
const LEVEL: Folder = Folder::Embedded(&[("level.toml", "profile_m = [[0, 0], [1, 0]]\n")]);

impl Fit {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        if let Some(path) = self.write.as_ref().filter(|path| path.exists()) {
            let text = format!("{} is there already; name a new file with --write", path.display());
            return Err(Failure::Usage(text));
        }
        let (_, _, mut files) = self.scene.files()?;
        if !self.scene.has_course() {
            files.course = (LEVEL, "level.toml".into());
        }
        let scenario = Scenario::load(&files)?;
        let rig_source = files.rig.0.read(&files.rig.1)?;
        let (_, asked) = easeoff_sim::files::rig::read_asked(&rig_source)?;
        let (source, losses) = self.source()?;
        let wanted = Wanted {
            drive_by: self.drive_by.map(|by| match by {
                By::Duty => DriveBy::Duty,
                By::Pulse => DriveBy::Pulse,
            }),
            signals: &self.signals,
            tick_hz: scenario.rig.board.tick_hz.into(),
        };
        let mut log = Log::read(&source, &wanted)?;
        log.notes.extend(losses);
        let mut replay = Replay::new(scenario, rig_source, &log);
        if let Some(step_us) = self.step_us {
            replay = replay.with_step(step_us * 1.0e-6);
        }
        let unknowns = named(&self.free, &replay, &asked)
            .map_err(|wrong| Failure::Usage(wrong.join("\nerror: ")))?;
        let progress = Progress::without_end("Fitting the log");
        let fitted = fit(&log, &replay, &unknowns)?;
        drop(progress);

        let stem = self.log.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let out = out_folder(self.out.as_ref(), &stem);
        let record = report::found(&log, &fitted);
        let results = report::results(&stem, &log, &fitted, &record)?;
        // What ran to the end of its range is no finding.
        let values = unknowns.iter().zip(&fitted.estimates).filter(|(_, one)| one.end.is_none());
        let rig_text = replay
            .rig_text(values.map(|(unknown, one)| (unknown.place.clone(), words::value(one))));
        if let Some(path) = &self.write {
            write_file(path, rig_text.as_bytes(), rig_text.as_bytes())?;
        }
        results.write(&out)?;

        let mut text = format!("{}.\n\n", words::done(&log, &fitted));
        let heads = words::heads();
        for row in std::iter::once(&heads).chain(&words::rows(&fitted)) {
            text.push_str(&format!("{:<28}{:>12}{:>12}   {}\n", row[0], row[1], row[2], row[3]));
        }
        text.push('\n');
        for sentence in words::met(&fitted).iter().chain(&fitted.doubts) {
            text.push_str(&format!("- {sentence}\n"));
        }
        text.push_str(&format!("\nFor the rig file:\n\n{}\n", words::patch(&fitted)));
        if let Some(path) = &self.write {
            text.push_str(&format!("Wrote the rig with these values to {}\n", path.display()));
        }
        text.push_str(&wrote(&out, "fit.svg fit.png fit.csv run.json report.html"));
        Ok(Outcome { text, record })
    }

    /// The log as a table, and what was lost of it.
    fn source(&self) -> Result<(Source, Vec<String>), Failure> {
        let name = self.log.display().to_string();
        let bytes = read_bytes(&self.log, MOST_LOG_BYTES)?;
        // Frames end in a byte of 0, which no text has.
        if bytes.contains(&0) {
            let recording = Recording::read(&bytes);
            if recording.frames.is_empty() {
                let source = Source::new(name, "");
                let remedy = "give a CSV table, or telemetry as it came over the line";
                return Err(source.refuse("it holds no good frame of telemetry", remedy).into());
            }
            return Ok((Source::new(name, recording.to_csv()), recording.losses()));
        }
        let text = String::from_utf8(bytes).map_err(|_| {
            let source = Source::new(name.clone(), "");
            source.refuse("it is not text", "save it as plain UTF-8 text")
        })?;
        Ok((Source::new(name, text), Vec::new()))
    }
}
