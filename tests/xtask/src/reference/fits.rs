//! For `fit.py`: a log with noise, what the fit made of it, and what is needed to fit it once more.

use std::path::Path;

use easeoff_core::Command;
use easeoff_sim::files::demo;
use easeoff_sim::files::mistake::Source;
use easeoff_sim::run::DEFAULT_STEP_S;
use easeoff_sim::study::fit::log::{Log, Wanted};
use easeoff_sim::study::fit::replay::Replay;
use easeoff_sim::study::fit::unknown::named;
use easeoff_sim::study::fit::{Fitted, fit};
use easeoff_tests::made_log::{MadeLog, Noise, csv, level};
use serde_json::{Value, json};

use super::drives::{Case, reported};
use super::{Failure, put};

const ROLLING: f64 = 0.02;
const UNKNOWNS: [&str; 2] = ["motor.resistance_ohm", "vehicle.mass_kg"];

/// A log of the demo rig with noise, read, and fitted from guesses that are 12 and 8 % off.
///
/// # Errors
/// When the demo or the fit is broken.
pub(crate) fn fitted() -> Result<(Log, Fitted, Replay), Failure> {
    let drive = vec![(0.3, 0.3), (0.7, 0.8), (0.0, 1.0), (0.4, 1.3), (-0.5, 1.6)];
    let broken = |_| "the demo rig is broken";
    let rig = demo::rig().map_err(broken)?;
    let made = MadeLog { rig, rolling: ROLLING, start_rad_s: 0.0, drive, every_s: 0.01 };
    let noise = Noise { deviations: [0.4, 0.5, f64::NAN], alike: 0.0, seed: 1 };
    let text = csv(&made.rows(DEFAULT_STEP_S)?, noise);
    let mut file = demo::folder("garden").ok_or("no garden")?.read("rig.toml").map_err(broken)?;
    file.text = file.text.replace("mass_kg = 2.4 ", "mass_kg = 2.2 ");
    file.text = file.text.replace("resistance_ohm = 0.08 ", "resistance_ohm = 0.09 ");
    let (guess, asked) = easeoff_sim::files::rig::read_asked(&file).map_err(broken)?;
    let log = Log::read(&Source::new("made", text), &Wanted::default()).map_err(|_| "a bad log")?;
    let replay = Replay::new(level(guess, ROLLING), file, &log);
    let unknowns =
        named(&UNKNOWNS.map(String::from), &replay, &asked).map_err(|bad| bad.join("; "))?;
    let fitted = fit(&log, &replay, &unknowns)?;
    Ok((log, fitted, replay))
}

/// Writes the case.
///
/// # Errors
/// As [`fitted`], or when the file cannot be written.
pub(crate) fn write(folder: &Path) -> Result<Vec<&'static str>, Failure> {
    let (log, found, replay) = fitted()?;
    let scenario = replay.scenario();
    let tick_s = 1.0 / f64::from(scenario.rig.board.tick_hz);
    let ticks: Vec<usize> = log.time_s.iter().map(|t| (t / tick_s).round() as usize).collect();
    let commands: &[Command] = match &log.driven {
        easeoff_sim::study::fit::log::Driven::Bridge(commands) => commands,
        easeoff_sim::study::fit::log::Driven::Pulses(_) => &[],
    };
    let mut actions = Vec::new();
    for (command, stretch) in commands.iter().zip(ticks.windows(2)) {
        actions.extend(vec![easeoff_sim::run::action(*command); stretch[1] - stretch[0]]);
    }
    actions.extend(commands.last().map(|last| easeoff_sim::run::action(*last)));
    let case = Case {
        name: "fit",
        synchronous: scenario.rig.bridge.synchronous,
        cogging_n_m: 0.0,
        course: scenario.course.clone(),
        actions,
    };
    let mut value = reported(&scenario.rig, &case)?;
    value["ticks"] = json!(ticks);
    let signals = log.signals.iter().zip(&found.signals).map(|(signal, met)| {
        let measured: Vec<f64> = signal.samples.iter().map(|(_, y)| *y).collect();
        json!({ "name": signal.name, "rms": met.noise, "measured": measured })
    });
    value["signals"] = signals.collect::<Vec<Value>>().into();
    let unknowns = found.estimates.iter().map(
        |one| json!({ "name": one.name, "guess": one.guess, "value": one.value, "half": one.half }),
    );
    value["unknowns"] = unknowns.collect::<Vec<Value>>().into();
    value["freedom"] = json!(found.freedom);
    put(folder, "fit", &value)?;
    Ok(vec!["fit"])
}
