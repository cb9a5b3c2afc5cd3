//! `easeoff throttle`: a calibration from a recording of pulses.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use easeoff_core::{Calibration, CalibratorSettings, PulseSettings, Settings, TickRate};
use easeoff_plant::rig::Rig;
use easeoff_sim::files::folder::{folder_and_name, read_bytes};
use easeoff_sim::files::mistake::{Mistake, Refusal, Source};
use easeoff_sim::files::tune_edit::TuneFile;
use easeoff_sim::files::{demo, tune, tune_text};
use easeoff_sim::results::{Results, WriteError, pretty, record, write_file};
use easeoff_sim::study::throttle::recording::Pulses;
use easeoff_sim::study::throttle::verdict::Finding;
use easeoff_sim::study::throttle::{Measuring, Throttle as Found, words};
use serde_json::json;

use super::failure::Failure;
use super::scene::read_rig;
use super::{Outcome, wrote};
use crate::draw::throttle as sheet;
use crate::report::html::Figure;
use crate::report::publish::draw;
use crate::report::throttle::{page, record as throttle_record};

/// What to read, how to look at it, and where to write.
#[derive(clap::Args)]
pub(super) struct Throttle {
    /// A table time_s,pulse_us, or telemetry as a board sent it: the throttle at rest, fully forward, fully the
    /// other way, at rest again, each held still for 3 s.
    recording: PathBuf,
    /// Write the calibration into this tune file; all else in it stays as it is.
    #[arg(long)]
    tune: Option<PathBuf>,
    /// The rig, for its tick rate and to check the tune [default: rig.toml beside the tune, else the demo's].
    #[arg(long)]
    rig: Option<PathBuf>,
    /// The most that a steady hand and radio wander [us], 2 to 50.
    #[arg(long, default_value_t = CalibratorSettings::default().spread_us)]
    spread_us: f32,
    /// The least travel from rest to either end [us], 60 to 500.
    #[arg(long, default_value_t = CalibratorSettings::default().least_travel_us)]
    least_travel_us: f32,
    /// How long a place must be held [ms], 200 to 5000.
    #[arg(long, default_value_t = CalibratorSettings::default().steady_ms)]
    steady_ms: f32,
    /// Write pictures and report here.
    #[arg(long, default_value = "out/throttle")]
    out: PathBuf,
}

/// Some hours of frames.
const MOST_BYTES: u64 = 64 << 20;

/// A tune file that takes the calibration.
struct Tune {
    path: PathBuf,
    source: Source,
    settings: Settings,
}

impl Throttle {
    pub(super) fn run(&self) -> Result<Outcome, Failure> {
        let rig = self.rig()?;
        let tune = self.tune.as_ref().map(|path| read_tune(path, &rig)).transpose()?;
        let (found, measuring) = self.measure(&rig, tune.as_ref())?;
        let name = self.recording.display().to_string();
        // All that can be refused is, before anything is written.
        let edited = tune.as_ref().map(|tune| edited(&name, tune, &found, &rig)).transpose()?;

        results(&self.recording, &found, &measuring)?.write(&self.out)?;
        let mut text = words::text(&found);
        if let (Some(tune), Some((new, calibration))) = (&tune, edited) {
            let old = words::values(&tune.settings.calibration);
            let shown = tune.path.display();
            let change = format!("{shown}\n  old: {old}\n  new: {}\n", words::values(&calibration));
            let _ = std::io::stderr().write_all(change.as_bytes());
            replace(&tune.path, &tune.source.text, &new)?;
            text.push_str(&format!("Wrote the calibration into {shown}\n"));
        }
        text.push_str("Try it with the wheels off the ground.\n");
        text.push_str(&wrote(
            &self.out,
            "throttle.svg throttle.png rest.svg rest.png run.json report.html",
        ));
        Ok(Outcome { text, record: throttle_record(&found, &measuring) })
    }

    fn rig(&self) -> Result<Rig, Failure> {
        let usual = self.tune.as_ref().map(|tune| tune.with_file_name("rig.toml"));
        let path = self.rig.clone().or(usual.filter(|path| path.is_file()));
        Ok(path.map_or_else(demo::rig, |path| read_rig(&path))?)
    }

    fn measure(&self, rig: &Rig, tune: Option<&Tune>) -> Result<(Found, Measuring), Failure> {
        let name = self.recording.display().to_string();
        let bytes = read_bytes(&self.recording, MOST_BYTES)?;
        let pulses = Pulses::read(&name, bytes, rig.board.tick_hz)?;
        let calibrator = CalibratorSettings {
            steady_ms: self.steady_ms,
            spread_us: self.spread_us,
            least_travel_us: self.least_travel_us,
        };
        let rate = TickRate::new(rig.board.tick_hz)
            .ok_or_else(|| Failure::Usage("board.tick_hz is out of range".into()))?;
        let pulse = tune.map_or(PulseSettings::default(), |tune| tune.settings.pulse);
        let measuring = Measuring { calibrator, pulse, rate };
        let found = measuring.measure(pulses).map_err(|errors| {
            let options: Vec<String> = errors
                .iter()
                .map(|error| error.to_string().replace("calibrator.", "--").replace('_', "-"))
                .collect();
            Failure::Usage(options.join("; "))
        })?;
        Ok((found, measuring))
    }
}

fn read_tune(path: &Path, rig: &Rig) -> Result<Tune, Failure> {
    let (folder, name) = folder_and_name(path);
    let source = folder.read(&name)?;
    let settings = tune::read(&source, rig)?;
    // A link is followed, so that the file behind it is replaced and not the link.
    let path = path.canonicalize().unwrap_or_else(|_| path.to_owned());
    Ok(Tune { path, source, settings })
}

/// The tune's text with the calibration in it, read once more as a check.
fn edited(
    name: &str,
    tune: &Tune,
    found: &Found,
    rig: &Rig,
) -> Result<(String, Calibration), Failure> {
    let Some(calibration) = found.verdict.calibration else {
        let stopping = found.verdict.findings.iter().filter(|finding| finding.stops);
        let mistake = |finding: &Finding| Mistake {
            what: finding.what.clone(),
            span: None,
            remedy: finding.remedy.clone(),
        };
        let source = Source::new(name, "");
        return Err(Refusal { source, mistakes: stopping.map(mistake).collect() }.into());
    };
    let mut file = TuneFile::parse(&tune.source)?;
    tune_text::calibration(&mut file, &calibration);
    let text = file.text();
    let with_it = format!("{} with the calibration in it", tune.source.name);
    let read = tune::read(&Source::new(with_it, text.clone()), rig)?;
    let expected = Settings { calibration, ..tune.settings };
    if read != expected {
        let what = "with the calibration in it, it would read as another tune";
        let remedy = "write [calibration] as a table of its own";
        return Err(tune.source.clone().refuse(what, remedy).into());
    }
    Ok((text, calibration))
}

/// Replaces a file that still is as it was read; it keeps its permissions.
fn replace(path: &Path, old: &str, new: &str) -> Result<(), WriteError> {
    let permissions = fs::metadata(path).map(|facts| facts.permissions());
    write_file(path, new.as_bytes(), old.as_bytes())?;
    permissions
        .and_then(|permissions| fs::set_permissions(path, permissions))
        .map_err(|error| WriteError { path: path.to_owned(), what: error.to_string() })
}

fn results(recording: &Path, found: &Found, measuring: &Measuring) -> Result<Results, Failure> {
    let mut results = Results::default();
    let name = recording.file_name().map(|name| name.to_string_lossy().into_owned());
    let title = format!("Throttle: {}", name.unwrap_or_default());
    let over_time = sheet::over_time(&title, found);
    let svg = draw(&mut results, "throttle", &over_time)?;
    let caption = "Blue: the pulses. Grey: when a board's calibration would ask for what. Red: what was found.";
    let mut figures = vec![Figure { caption: caption.into(), svg }];
    if let Some(rest) = &found.levels.rest {
        let at_rest = sheet::at_rest(found, rest);
        let svg = draw(&mut results, "rest", &at_rest)?;
        figures.push(Figure { caption: at_rest.subtitle, svg });
    }
    results.add("report.html", page(&title, found, &figures));
    let fields = json!({ "throttle": throttle_record(found, measuring) });
    results.add("run.json", pretty(&record(fields)));
    Ok(results)
}
