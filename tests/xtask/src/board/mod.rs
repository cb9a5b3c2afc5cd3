//! `cargo xtask board`: the firmwares to flash, built; the one for the RP2040 played in an emulator of the
//! chip, its pins and its telemetry looked at.

pub(crate) mod emulator;
mod stories;
mod story;

use std::path::PathBuf;

use crate::at_a_time::at_a_time;
use crate::chip::build::{PROFILE, chip_folder, top};
use crate::chip::tools::Tools;

pub(crate) type Failure = Box<dyn std::error::Error>;

/// A firmware: its folder and name, and its target.
const FIRMWARES: [(&str, &str); 2] =
    [("rp2040", "thumbv6m-none-eabi"), ("stm32f411", "thumbv7em-none-eabihf")];

/// Builds a firmware; where it is.
///
/// # Errors
/// When it does not build.
fn build(tools: &Tools, name: &str, target: &str) -> Result<PathBuf, String> {
    let folder = chip_folder(target);
    let mut cargo = tools.cargo(&["build", "--profile", PROFILE], target, &folder);
    cargo.current_dir(top().join("core/chips").join(name));
    let status = cargo.status().map_err(|error| format!("{name}: cargo: {error}"))?;
    if !status.success() {
        return Err(format!("the firmware {name} does not build"));
    }
    println!("{name}: builds");
    Ok(folder.join(target).join(PROFILE).join(format!("easeoff-{name}")))
}

/// Builds both firmwares and plays the stories.
///
/// # Errors
/// Whatever is missing, does not build or goes otherwise than told.
pub(crate) fn check() -> Result<(), Failure> {
    let tools = Tools::find()?;
    emulator::install()?;
    let images: Result<Vec<_>, _> =
        at_a_time(&FIRMWARES, |(name, target)| build(&tools, name, target)).into_iter().collect();
    let images = images?;
    let [image, ..] = &images[..] else { return Err("no firmware".into()) };
    // Two at a time: they share nothing.
    let stories = stories::all()?;
    for pair in stories.chunks(2) {
        let results = at_a_time(pair, |story| story.check(image));
        for (story, result) in pair.iter().zip(results) {
            result.map_err(|error| format!("rp2040, {}: {error}", story.name))?;
            println!("rp2040, {}: as told", story.name);
        }
    }
    Ok(())
}
