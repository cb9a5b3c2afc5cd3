//! The tune: the controller's settings, read from a file into [`easeoff_core::Settings`].
//!
//! Keys and kinds of values are those of [`SETTINGS`]. The core checks ranges, and its complaints are
//! shown at their lines.

use easeoff_core::{
    CurveSettings, Kind, Knots, MOST_KNOTS, MotorSettings, SETTINGS, Setting, Settings,
    SettingsError, SettingsErrorKind, TickRate,
};
use easeoff_plant::rig::Rig;

use crate::files::document::Document;
use crate::files::full_speed::usual_hold;
use crate::files::mistake::{Refusal, Source, range_remedy};
use crate::files::reader::Table;

/// Reads a tune file. What the controller must know of motor, gears and pack comes from the rig, and so does the full
/// speed of a speed hold that does not set it.
///
/// # Errors
/// Every mistake in the file.
pub fn read(source: &Source, rig: &Rig) -> Result<Settings, Refusal> {
    let document = Document::parse(source)?;
    let settings = settings(&document.top(), rig);
    if let Some(rate) = TickRate::new(rig.board.tick_hz)
        && let Err(errors) = settings.prepare(rate)
    {
        for error in errors.iter() {
            document.report(error.parameter, error.to_string(), remedy(error));
        }
    }
    document.finish(settings)
}

/// What to do about a setting that the core refuses.
pub fn remedy(error: &SettingsError) -> String {
    match error.kind {
        SettingsErrorKind::OutOfRange { value, min, max } => range_remedy(value.into(), min, max),
        SettingsErrorKind::Contradicts { rule, .. } => rule.into(),
    }
}

/// What a tune says of the drive and a rig says otherwise, a sentence each: none where the tune was
/// made for this rig.
pub fn misfits(settings: &Settings, rig: &Rig) -> Vec<String> {
    let (tune, ours) = (settings.motor, motor_settings(rig));
    [
        ("kV", tune.kv_rpm_per_v, ours.kv_rpm_per_v, "rpm/V"),
        ("gearing", tune.gear_ratio, ours.gear_ratio, "motor turns per wheel turn"),
        ("resistance", tune.resistance_ohm, ours.resistance_ohm, "ohm of windings and bridge"),
        ("pack", settings.limits.cells.into(), rig.pack.cells as f32, "cells"),
    ]
    .into_iter()
    .filter(|(_, tune, ours, _)| tune != ours)
    .map(|(what, tune, ours, unit)| format!("{what}: the tune has {tune}, the rig {ours} {unit}"))
    .collect()
}

/// What the core needs to know of this rig's drive.
pub fn motor_settings(rig: &Rig) -> MotorSettings {
    MotorSettings {
        kv_rpm_per_v: rig.motor.kv_rpm_per_v as f32,
        gear_ratio: rig.gears.ratio() as f32,
        resistance_ohm: (rig.motor.resistance_ohm + rig.bridge.resistance_ohm) as f32,
        estimate_from_a: None,
    }
}

fn settings(top: &Table<'_>, rig: &Rig) -> Settings {
    let mut settings = Settings { motor: motor_settings(rig), ..Settings::default() };
    settings.limits.cells = rig.pack.cells as u8;
    settings.hold = Some(usual_hold(rig));
    read_table(top, "", &mut settings);
    settings
}

/// Reads what lies in the table `name`, and in the tables within it. The list's order is that of what
/// depends on what.
fn read_table(table: &Table<'_>, name: &str, settings: &mut Settings) {
    let mut read: Vec<&str> = Vec::new();
    for setting in SETTINGS.iter().filter(|setting| !setting.from_rig) {
        let (within, key) = setting.table_and_key();
        if within == name {
            read_value(table, key, setting, settings);
            continue;
        }
        let Some(below) = below(within, name) else { continue };
        if read.contains(&below) {
            continue;
        }
        read.push(below);
        let path = if name.is_empty() { below.into() } else { format!("{name}.{below}") };
        let part = SETTINGS.iter().find_map(|setting| match setting.kind {
            Kind::Part { set, .. } if setting.table_and_key().0 == path => Some(set),
            _ => None,
        });
        match part {
            None => read_table(&table.optional_table(below), &path, settings),
            // A part is there when its table is, unless the table says `on = false`.
            Some(set) if table.has(below) => {
                let table = table.optional_table(below);
                set(settings, true);
                read_table(&table, &path, settings);
                if !table.flag_or("on", true) {
                    set(settings, false);
                }
            }
            Some(set) => {
                set(settings, false);
            }
        }
    }
}

/// The name of the table in the table `name` on the way to the table `within`.
fn below(within: &'static str, name: &str) -> Option<&'static str> {
    let rest = match name {
        "" => within,
        name => within.strip_prefix(name)?.strip_prefix('.')?,
    };
    rest.split('.').next()
}

/// Ranges are the core's to check, but for whole numbers: those have no place for another one.
fn read_value(table: &Table<'_>, key: &'static str, setting: &Setting, settings: &mut Settings) {
    match setting.kind {
        Kind::Number { .. } | Kind::Optional { .. } => {
            if let Some(number) = table.bare_number(key) {
                setting.set_number(settings, number as f32);
            }
        }
        Kind::Whole { range: [least, most], .. } => {
            let default = setting.number(settings).unwrap_or(least);
            let whole = table.whole_or(key, least as u32..=most as u32, default as u32);
            setting.set_number(settings, whole as f32);
        }
        Kind::Flag { at } => {
            let Some(flag) = at(settings) else { return };
            *flag = table.flag_or(key, *flag);
        }
        Kind::Choice { of, get, set } => {
            let named: Vec<(&str, usize)> = of.names.iter().copied().zip(0..).collect();
            let index = table.choice_or(key, &named, get(settings));
            set(settings, index);
        }
        Kind::Knots { at, .. } => read_knots(table, key, at(settings)),
        // Read by who reads its table.
        Kind::Part { .. } => {}
    }
}

fn read_knots(table: &Table<'_>, key: &'static str, curve: &mut CurveSettings) {
    // Their places are checked by the core.
    let Some(pairs) = table.pairs(key, 0, [-1.0e9..=1.0e9, -1.0e9..=1.0e9]) else { return };
    if table.has("blend") {
        let what = "curve.knots stands beside curve.blend".into();
        table.contradiction(key, what, "keep one of them");
    }
    let points: Vec<[f32; 2]> = pairs.iter().map(|pair| pair.map(|number| number as f32)).collect();
    *curve = Knots::new(&points).map_or_else(
        || {
            let what =
                format!("curve.knots has {} pairs; allowed is 0 to {MOST_KNOTS}", pairs.len());
            table.contradiction(key, what, "leave some out");
            CurveSettings::default()
        },
        CurveSettings::Knots,
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::Value;

    fn leaves(value: &Value, path: &str, found: &mut Vec<String>) {
        match value {
            Value::Object(fields) => {
                for (name, field) in fields {
                    let dot = if path.is_empty() { "" } else { "." };
                    leaves(field, &format!("{path}{dot}{name}"), found);
                }
            }
            _ => found.push(path.into()),
        }
    }

    /// A field of the settings without a row would be read from no file, and nobody would be told.
    #[test]
    fn the_list_has_every_field_of_the_settings() {
        let mut found = Vec::new();
        leaves(&serde_json::to_value(Settings::in_full()).unwrap(), "", &mut found);
        // A choice with a number of its own holds it one level further down.
        let flat = |path: &str| match path {
            "curve.cubic.blend" => "curve.blend".into(),
            "drag.law.current.full_a" => "drag.full_a".into(),
            path => path.to_owned(),
        };
        let found: Vec<String> = found.iter().map(|path| flat(path)).collect();
        let apart = ["curve.knots", "drag.law"];
        let rows: Vec<&str> = SETTINGS
            .iter()
            .filter(|row| !matches!(row.kind, Kind::Part { .. }) && !apart.contains(&row.path))
            .map(|row| row.path)
            .collect();
        for path in &found {
            assert!(rows.contains(&path.as_str()), "{path} has no row in SETTINGS");
        }
        assert_eq!(rows.len(), found.len());
    }

    /// Its keys are the list's, and a range in a comment is the list's too.
    #[test]
    fn the_demos_tune_has_every_setting_and_says_its_range() {
        let text = crate::files::demo::DEMOS[0].files.iter().find(|(name, _)| *name == "tune.toml");
        let (mut table, mut keys, mut ranges) = (String::new(), Vec::new(), 0);
        for line in text.unwrap().1.lines() {
            if let Some(name) = line.strip_prefix('[') {
                table = format!("{}.", name.split(']').next().unwrap());
                continue;
            }
            let (code, comment) = line.split_once('#').unwrap_or((line, ""));
            let Some((key, _)) = code.split_once('=') else { continue };
            let path = format!("{table}{}", key.trim());
            let row = SETTINGS.iter().find(|row| row.path == path && !row.from_rig);
            let row = row.unwrap_or_else(|| panic!("{path} is no setting of a tune file"));
            keys.push(row.path);
            let words: Vec<&str> = comment.split([' ', ',', ';']).collect();
            for range in words.windows(3).filter(|words| words[1] == "to") {
                let number = |word: &str| word.parse::<f32>().ok();
                let (Some(least), Some(most)) = (number(range[0]), number(range[2])) else {
                    continue;
                };
                assert_eq!(row.range(), Some([least, most]), "{path}: {comment}");
                ranges += 1;
            }
            if let Kind::Choice { of, .. } = row.kind
                && comment.contains(" or ")
            {
                let all = of.names.iter().all(|name| comment.contains(&format!("\"{name}\"")));
                assert!(all || row.path == "limits.pack_recovery", "{path}: {comment}");
            }
        }
        for row in
            SETTINGS.iter().filter(|row| !row.from_rig && row.path != "motor.estimate_from_a")
        {
            let there = keys.contains(&row.path) || row.path == "curve.knots";
            assert!(there, "{} is missing: run `cargo xtask settings`", row.path);
        }
        assert!(ranges > 0);
    }
}
