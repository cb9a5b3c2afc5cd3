//! Helper commands of the project.
//!
//! `cargo xtask pictures` draws the pictures of README and book again, into docs/src/pictures, and computes the
//! tables of the lessons, into docs/src/lessons/made, and those of scores and settings, into docs/src/made.
//! `cargo xtask chip` holds the core on the chips that QEMU plays against the host and counts what it costs;
//! `cargo xtask chip tools` only looks for what that needs; `cargo xtask chip write` also puts the table
//! into README.
//! `cargo xtask board` builds the firmwares to flash and plays the RP2040's in an emulator.
//! `cargo xtask header` writes C's settings from the core's list, and `core/c/easeoff.h` from the source of `easeoff-c`.
//! `cargo xtask status` writes the book's tables of the board's statuses, into docs/src/made.
//! `cargo xtask walk` writes the track of the tests, `tests/data/walk.gpx`.
//! `cargo xtask settings` writes the book's tables of settings, into docs/src/made/settings, the demo's line for each
//! setting, and the tests' example of a tune.
//! `cargo xtask web` builds the window of `easeoff-live` as a page; `cargo xtask web try` drives it in Chromium.
//! `cargo xtask reference FOLDER` writes the cases for the programs in `tests/reference` there.
#![allow(
    clippy::arithmetic_side_effects,
    clippy::as_conversions,
    clippy::float_arithmetic,
    clippy::float_cmp,
    clippy::indexing_slicing,
    reason = "the host computes in f64 and usize; the strict rules guard the firmware"
)]

mod at_a_time;
mod board;
mod chip;
mod c_settings;
mod header;
mod lessons;
mod let_off_front;
mod parts;
mod reference;
mod scores;
mod settings;
mod stages;
mod status;
#[cfg(feature = "web")]
mod web;

use std::fs;
use std::path::Path;
use std::process::ExitCode;

use easeoff::draw::canvas::{Picture, png, svg};
use easeoff::draw::compare::{let_off_sheet, snag_sheet};
use easeoff::draw::gearing::sheet as gearing_sheet;
use easeoff::draw::run::run_sheet;
use easeoff_sim::files::demo;
use easeoff_sim::run::Method;
use easeoff_sim::study::compare::{onset_times, trade_offs, variants};
use easeoff_sim::study::gearing::choice::{choose, pinions};
use easeoff_sim::study::gearing::row::Trial;
use easeoff_tests::made_walk;

use chip::Readme;

fn main() -> ExitCode {
    let asked: Vec<String> = std::env::args().skip(1).collect();
    let asked: Vec<&str> = asked.iter().map(String::as_str).collect();
    let result = match asked[..] {
        ["pictures"] => pictures(Path::new("docs/src/pictures")),
        ["board"] => board::check(),
        ["chip"] => chip::check(Readme::Compare),
        ["chip", "tools"] => chip::tools(),
        ["chip", "write"] => chip::check(Readme::Write),
        ["header"] => header::write(),
        ["status"] => status::write(),
        ["walk"] => fs::write("tests/data/walk.gpx", made_walk::gpx()).map_err(Into::into),
        ["settings"] => settings::write(),
        #[cfg(feature = "web")]
        ["web"] => web::build().map(|_| ()),
        #[cfg(feature = "web")]
        ["web", "try"] => web::check(),
        #[cfg(not(feature = "web"))]
        ["web"] | ["web", "try"] => with_web(&asked),
        ["reference", folder] => cases(Path::new(folder)),
        _ => Err("usage: cargo xtask pictures, cargo xtask web [try], cargo xtask chip [tools | write], cargo xtask board, cargo xtask \
                  header, cargo xtask settings, cargo xtask status, cargo xtask walk, or cargo xtask reference FOLDER"
            .into()),
    };
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("error: {error}");
            ExitCode::from(2)
        }
    }
}

/// This program again, built with what a page takes.
#[cfg(not(feature = "web"))]
fn with_web(asked: &[&str]) -> Done {
    let mut cargo = std::process::Command::new(env!("CARGO"));
    cargo.args(["run", "--quiet", "--package", "xtask", "--features", "web", "--"]).args(asked);
    match cargo.status()?.success() {
        true => Ok(()),
        false => Err("the page was not made, as said above".into()),
    }
}

type Done = Result<(), Box<dyn std::error::Error>>;

/// Slope on which creep is measured, as the program's default, in degrees.
const SLOPE_DEG: f64 = 12.0;

fn pictures(folder: &Path) -> Done {
    fs::create_dir_all(folder)?;
    let of = |name: &str| demo::scenario(name).ok_or(format!("the demo {name} is broken"));
    let let_off = of("let-off")?;
    let runs = variants(onset_times(&let_off), Method::on_slope(SLOPE_DEG))?;
    write(folder, "let-off", &let_off_sheet(&runs, SLOPE_DEG))?;
    write(folder, "let-off-front", &let_off_front::sheet()?)?;
    let mut by_duty = let_off;
    by_duty.tune.drag.law = easeoff_core::DragLaw::Duty;
    // The setting softens this law's bite too; here it would hide it.
    by_duty.tune.drag.soft_below_rad_s = 0.0;
    let runs = variants(onset_times(&by_duty), Method::on_slope(SLOPE_DEG))?;
    let mut sheet = let_off_sheet(&runs, SLOPE_DEG);
    sheet.title = "The duty law: even a slow ramp bites at once".into();
    sheet.subtitle =
        "the ramp is of the share of time the motor is shorted, without a soft end; at speed its first tenth is all \
         that the tyres can carry"
            .into();
    write(folder, "duty-law", &sheet)?;
    let [_, runs] = trade_offs(Method::on_slope(SLOPE_DEG))?;
    write(folder, "snag", &snag_sheet(&runs))?;
    let runs = variants(vec![("garden".into(), of("garden")?)], Method::on_slope(SLOPE_DEG))?;
    for run in &runs {
        write(folder, "garden", &run_sheet("Run: garden", &run.scenario, &run.run, &run.scores))?;
    }
    let garden = of("garden")?;
    let trial = Trial::of(&garden, Some(25.0));
    let (tried, wanted_m_s) = (pinions(&garden.rig, 6..=36, &trial), Some(4.0));
    let chosen = choose(&garden.rig, &tried, wanted_m_s);
    write(folder, "gearing", &gearing_sheet(&garden.rig, &tried, &trial, wanted_m_s, chosen))?;
    let (log, fitted, _) = reference::fits::fitted()?;
    write(
        folder,
        "fit",
        &easeoff::draw::fit::sheet(
            "Simulated over measured, once the unknowns are found",
            "a made log with noise: winding resistance and mass, from guesses 12 and 8 % off",
            &log,
            &fitted,
        ),
    )?;
    for (name, sheet) in stages::sheets()?.into_iter().chain(parts::sheets()?) {
        write(folder, name, &sheet)?;
    }
    lessons::write(folder, Path::new("docs/src/lessons/made"))?;
    settings::write()?;
    fs::write("docs/src/made/soft-end.md", let_off_front::soft_ends()?)?;
    scores::write(Path::new("docs/src/made"))
}

fn cases(folder: &Path) -> Done {
    fs::create_dir_all(folder)?;
    for (program, write) in reference::PROGRAMS {
        println!("{program}: {}", write(folder)?.join(", "));
    }
    Ok(())
}

fn write(folder: &Path, name: &str, picture: &impl Picture) -> Done {
    fs::write(folder.join(name).with_extension("svg"), svg(picture)?)?;
    fs::write(folder.join(name).with_extension("png"), png(picture)?)?;
    println!("{name}");
    Ok(())
}
