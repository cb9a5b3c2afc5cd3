//! The drive so far as a run folder that `easeoff drive` replays to the same bits.
//!
//! A drive is its rig, course, tune and driver from the start; a state in the middle of it has no file
//! format. So the folder begins at the last reset, and `last-minute.csv` holds the rows of the last minute
//! as the replay gives them. Before anything is written the folder's own texts are read and driven, and
//! every value of every tick is compared with what was driven by hand. That takes seconds for a long drive, so
//! the texts are made first and the rest can be done beside the window.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};

use easeoff_sim::files::driver::Motion;
use easeoff_sim::files::folder::Folder;
use easeoff_sim::files::mistake::render;
use easeoff_sim::files::scenario::{Files, Scenario};
use easeoff_sim::files::{retune, tune_text};
use easeoff_sim::results::{Results, pretty, record};
use easeoff_sim::run::columns::to_csv;
use easeoff_sim::run::{DEFAULT_STEP_S, Row, Simulation};
use serde_json::json;
use sha2::{Digest, Sha256};

use super::session::{Session, take};
use super::trace::KEPT_S;

/// Shorter drives have nothing to replay \[s\].
const SHORTEST_S: f64 = 0.1;

/// A drive so far, on its way out.
pub struct Export {
    files: Vec<(String, String)>,
    ticks: u64,
    digest: [u8; 32],
    step_s: f64,
}

impl Export {
    /// Takes down what was driven.
    ///
    /// # Errors
    /// When it is too short.
    pub fn of(session: &Session) -> Result<Self, String> {
        let (ticks, digest) = (session.ticks(), session.digest());
        Ok(Self { files: inputs(session)?, ticks, digest, step_s: session.step_s() })
    }

    /// The command that drives it again from `folder`.
    pub fn replay(&self, folder: &str) -> String {
        if self.step_s == DEFAULT_STEP_S {
            format!("easeoff drive {folder}")
        } else {
            format!("easeoff drive {folder} --step-us {}", 1.0e6 * self.step_s)
        }
    }

    /// Drives it again, compares, and writes it to `folder`.
    ///
    /// # Errors
    /// When the replay is not the drive, the folder holds something else, or the disk refuses.
    pub fn write(mut self, folder: &Path) -> Result<(), String> {
        let again = Again::drive(&self.files, self.step_s)?;
        if again.digest != self.digest {
            return Err(
                "the replay is not the drive; nothing was written. This is a mistake of the program".into(),
            );
        }
        let about = json!({
            "driven": "by hand",
            "ticks": self.ticks,
            "values_sha256": hex::encode(again.digest),
            "replay": self.replay("FOLDER"),
        });
        self.files.push(("last-minute.csv".into(), again.table));
        self.files.push(("run.json".into(), pretty(&record(about))));
        let mut results = Results::default();
        for (name, text) in self.files {
            results.add(name, text);
        }
        results.write(folder).map_err(|error| error.to_string())
    }
}

/// What a replay gave; of its rows only the last minute's are ever kept.
struct Again {
    digest: [u8; 32],
    table: String,
}

impl Again {
    /// Drives what the texts say, exactly as `easeoff drive` does.
    fn drive(files: &[(String, String)], step_s: f64) -> Result<Self, String> {
        let empty = Folder::Embedded(&[]);
        let folder = files.iter().fold(empty, |under, (name, text)| Folder::Changed {
            under: Box::new(under),
            name: name.clone(),
            text: text.clone(),
        });
        let scenario =
            Scenario::load(&Files::in_folder(&folder)).map_err(|refusals| render(&refusals))?;
        let mut simulation =
            Simulation::new(&scenario, step_s).map_err(|error| error.to_string())?;
        let end_m = simulation.plant.ground.end_m();
        let count = (scenario.driver.duration_s / simulation.tick_s()).round() as u64;
        let (mut digest, mut last) = (Sha256::new(), VecDeque::<Row>::new());
        for _ in 0..count {
            let row = simulation.tick().map_err(|error| error.to_string())?;
            take(&mut digest, &row);
            last.push_back(row);
            while last.front().is_some_and(|first| first.time_s < row.time_s - KEPT_S) {
                last.pop_front();
            }
            if row.plant.now.place_m > end_m {
                break;
            }
        }
        let table = to_csv(last.make_contiguous());
        Ok(Self { digest: digest.finalize().into(), table })
    }
}

/// The first name of `out/NAME-live-N` that is not there yet.
pub fn free_folder(name: &str) -> PathBuf {
    (1..)
        .map(|n: u32| Path::new("out").join(format!("{name}-live-{n}")))
        .find(|path| !path.exists())
        .unwrap_or_default()
}

fn inputs(session: &Session) -> Result<Vec<(String, String)>, String> {
    let scenario = session.scenario();
    let duration_s = session.ticks() as f64 * session.simulation().tick_s();
    if duration_s < SHORTEST_S {
        return Err(format!(
            "there are {duration_s} s to export; allowed is {SHORTEST_S} s or more: drive first"
        ));
    }
    let driver = &scenario.driver;
    let Motion::Recording(pulses) = &driver.motion else {
        return Err("the drive has no pulses".into());
    };
    let mut text =
        format!("# Driven by hand.\nduration_s = {duration_s}\nrecording_csv = \"pulses.csv\"\n");
    if !driver.retunes.is_empty() {
        text.push_str("retunes_csv = \"retunes.csv\"\n");
    }
    for (key, pairs) in [("lost_s", &driver.lost_s), ("steer", &driver.steer)] {
        if !pairs.is_empty() {
            text.push_str(&format!("{key} = {pairs:?}\n"));
        }
    }
    let radio = &driver.radio;
    text.push_str(&format!(
        "\n[radio]\nframe_ms = {}\nneutral_us = {}\ntravel_us = {}\njitter_us = {}\nmissing_share = {}\n",
        radio.frame_ms, radio.neutral_us, radio.travel_us, radio.jitter_us, radio.missing_share
    ));
    let mut table = String::from("time_s,pulse_us\n");
    for [time_s, pulse_us] in pulses {
        table.push_str(&format!("{time_s},{pulse_us}\n"));
    }
    if pulses.len() == 1 {
        // A file has two rows or more; the second is never reached.
        table.push_str(&format!("{},{}\n", duration_s, pulses[0][1]));
    }
    let tune =
        tune_text::text(&scenario.tune, Some(&scenario.rig)).map_err(|refusal| refusal.render())?;
    let mut files = vec![
        ("rig.toml".into(), session.loaded().rig.clone()),
        ("tune.toml".into(), tune),
        ("driver.toml".into(), text),
        ("pulses.csv".into(), table),
    ];
    if !driver.retunes.is_empty() {
        files.push(("retunes.csv".into(), retune::to_csv(&driver.retunes)));
    }
    let course = session.course_text()?;
    files.push(("course.toml".into(), course.text));
    files.extend(course.profile.map(|(name, text)| (name.into(), text)));
    Ok(files)
}
