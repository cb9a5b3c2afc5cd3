//! The drive so far as a run folder that `easeoff drive` replays to the same bits.
//!
//! A drive is its rig, course, tune and hand from the start; a state in the middle of it has no file
//! format. So the folder begins at the last reset, and `last-minute.csv` holds the rows of the last minute
//! as the replay gives them. Before anything is written the folder's own texts are read and driven, and
//! every value of every tick is compared with what was driven by hand.

use std::path::{Path, PathBuf};

use easeoff_sim::columns::to_csv;
use easeoff_sim::folder::Folder;
use easeoff_sim::hand::Motion;
use easeoff_sim::mistake::Refusal;
use easeoff_sim::output::Results;
use easeoff_sim::publish::{pretty, record};
use easeoff_sim::retune;
use easeoff_sim::run::{DEFAULT_STEP_S, simulate};
use easeoff_sim::scenario::{Files, Scenario};
use easeoff_sim::tune_text;
use serde_json::json;
use sha2::{Digest, Sha256};

use super::session::{Session, hex, take};
use super::trace::KEPT_S;

/// Shorter drives have nothing to replay \[s\].
const SHORTEST_S: f64 = 0.1;

/// The texts of a drive so far, by their names.
///
/// # Errors
/// When it is too short, or the replay is not the drive: nothing is to be written then.
pub fn files(session: &Session) -> Result<Vec<(String, String)>, String> {
    let mut files = inputs(session)?;
    let rows = replay(&files)?;
    let mut digest = Sha256::new();
    rows.iter().for_each(|row| take(&mut digest, row));
    let digest: [u8; 32] = digest.finalize().into();
    if digest != session.digest() {
        return Err(
            "the replay is not the drive; nothing was written. This is a mistake of the program"
                .into(),
        );
    }
    let to_s = rows.last().map_or(0.0, |row| row.time_s);
    let first = rows.partition_point(|row| row.time_s < to_s - KEPT_S);
    files.push(("last-minute.csv".into(), to_csv(&rows[first..])));
    let about = json!({
        "driven": "by hand",
        "ticks": session.ticks(),
        "values_sha256": hex(&digest),
        "replay": "easeoff drive FOLDER",
    });
    files.push(("run.json".into(), pretty(&record(about))));
    Ok(files)
}

/// Writes the drive so far to `folder`.
///
/// # Errors
/// As [`files`], or when the folder holds something else or the disk refuses.
pub fn write(session: &Session, folder: &Path) -> Result<(), String> {
    let mut results = Results::default();
    for (name, text) in files(session)? {
        results.add(name, text);
    }
    results.write(folder).map_err(|error| error.to_string())
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
    let hand = &scenario.hand;
    let Motion::Recording(pulses) = &hand.motion else {
        return Err("the drive has no pulses".into());
    };
    let mut text =
        format!("# Driven by hand.\nduration_s = {duration_s}\nrecording_csv = \"pulses.csv\"\n");
    if !hand.retunes.is_empty() {
        text.push_str("retunes_csv = \"retunes.csv\"\n");
    }
    for (key, pairs) in [("lost_s", &hand.lost_s), ("steer", &hand.steer)] {
        if !pairs.is_empty() {
            text.push_str(&format!("{key} = {pairs:?}\n"));
        }
    }
    let radio = &hand.radio;
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
    let tune = tune_text::text(&scenario.tune).map_err(|refusal| refusal.render())?;
    let mut files = vec![
        ("rig.toml".into(), session.loaded().rig.clone()),
        ("tune.toml".into(), tune),
        ("hand.toml".into(), text),
        ("pulses.csv".into(), table),
    ];
    if !hand.retunes.is_empty() {
        files.push(("retunes.csv".into(), retune::to_csv(&hand.retunes)));
    }
    course(session, &mut files)?;
    Ok(files)
}

/// The course, with the profile that it names.
fn course(session: &Session, files: &mut Vec<(String, String)>) -> Result<(), String> {
    let mut text = session.course_text().to_owned();
    let table: toml::Table = toml::from_str(&text).map_err(|error| error.to_string())?;
    for key in ["profile_csv", "profile_gpx"] {
        let Some(name) = table.get(key).and_then(|name| name.as_str()) else { continue };
        let profile = session.loaded().folder.read(name).map_err(|refusal| refusal.render())?;
        let plain = Path::new(name).file_name().map_or(name.into(), |name| name.to_string_lossy());
        text = text.replace(&format!("\"{name}\""), &format!("\"{plain}\""));
        files.push((plain.into_owned(), profile.text));
    }
    files.push(("course.toml".into(), text));
    Ok(())
}

/// Drives what the texts say, exactly as `easeoff drive` does.
fn replay(files: &[(String, String)]) -> Result<Vec<easeoff_sim::run::Row>, String> {
    let empty = Folder::Embedded(&[]);
    let folder = files.iter().fold(empty, |under, (name, text)| Folder::Changed {
        under: Box::new(under),
        name: name.clone(),
        text: text.clone(),
    });
    let refused = |refusals: Vec<Refusal>| {
        refusals.iter().map(Refusal::render).collect::<Vec<_>>().join("\n")
    };
    let scenario = Scenario::load(&Files::in_folder(&folder)).map_err(refused)?;
    let run = simulate(&scenario, DEFAULT_STEP_S).map_err(|error| error.to_string())?;
    Ok(run.rows)
}
