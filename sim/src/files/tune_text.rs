//! Settings written as a tune file: the demo's, with its comments, holding these values.

use easeoff_core::{Calibration, CurveSettings, Kind, SETTINGS, Setting, Settings};
use easeoff_plant::rig::Rig;
use toml_edit::Array;

use crate::files::folder::Folder;
use crate::files::full_speed::{FULL_SPEED, is_derived};
use crate::files::mistake::Refusal;
use crate::files::tune_edit::{TuneFile, number_text};

/// The text of a tune file that reads as `settings` with a rig that [fits](crate::files::tune::misfits).
///
/// Motor, gears and cells are the rig's to tell and are not written; nor is a full speed that is the one derived from
/// `rig`. What is switched off stands there
/// with the demo's numbers and `on = false`, to be tried.
///
/// # Errors
/// None in a program that passed its tests: the demo's file is part of it.
pub fn text(settings: &Settings, rig: Option<&Rig>) -> Result<String, Refusal> {
    let demo = Folder::Embedded(crate::files::demo::DEMOS[0].files).read("tune.toml")?;
    let mut file = TuneFile::parse(&demo)?;
    file.keep_columns();
    put(&mut file, settings, rig);
    Ok(file.text())
}

/// Sets every value of `settings` in a tune file; motor, gears and cells are not in it. A full speed that is the one
/// derived from `rig` is taken out, so that it follows the rig.
pub fn put(file: &mut TuneFile, settings: &Settings, rig: Option<&Rig>) {
    let follows = rig.is_some_and(|rig| is_derived(settings, rig));
    for setting in SETTINGS {
        if follows && setting.path == FULL_SPEED {
            let (table, key) = setting.table_and_key();
            file.remove(table, key);
            continue;
        }
        put_one(file, setting, settings);
    }
}

/// Sets the throttle's end points.
pub fn calibration(file: &mut TuneFile, calibration: &Calibration) {
    let settings = Settings { calibration: *calibration, ..Settings::default() };
    for setting in SETTINGS.iter().filter(|setting| setting.table_and_key().0 == "calibration") {
        put_one(file, setting, &settings);
    }
}

/// Of what is switched off nothing is said but that: it stays as it was.
fn put_one(file: &mut TuneFile, setting: &Setting, settings: &Settings) {
    let (table, key) = setting.table_and_key();
    if setting.from_rig {
        return;
    }
    match setting.kind {
        Kind::Number { .. } | Kind::Whole { .. } => {
            if let Some(number) = setting.number(settings) {
                file.number(table, key, number);
            }
        }
        // Without a value there is no such key.
        Kind::Optional { .. } => match setting.number(settings) {
            Some(number) => file.number(table, key, number),
            None => file.remove(table, key),
        },
        Kind::Flag { .. } => {
            if let Some(flag) = setting.flag(settings) {
                file.set(table, key, flag);
            }
        }
        Kind::Choice { .. } => {
            if let Some(name) = setting.name(settings) {
                file.set(table, key, name);
            }
        }
        Kind::Part { .. } => {
            if let Some(on) = setting.is_on(settings) {
                file.set(table, key, on);
            }
        }
        Kind::Knots { .. } => match settings.curve {
            CurveSettings::Cubic { .. } => file.remove(table, key),
            CurveSettings::Knots(knots) => {
                let pair = |point: &[f32; 2]| -> Array {
                    let values = point.iter().filter_map(|x| number_text(*x).parse().ok());
                    values.collect::<Vec<toml_edit::Value>>().into_iter().collect()
                };
                file.remove(table, "blend");
                file.set(table, key, knots.points().iter().map(pair).collect::<Array>());
            }
        },
    }
}
