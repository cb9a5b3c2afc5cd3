//! Every setting of a tune as something that can be turned: its words, unit and range, by what the driver
//! feels of it.
//!
//! The ranges are not repeated here: the core is asked with a value that no range holds.

mod list;

use std::sync::OnceLock;

use easeoff_core::{SettingsErrorKind, TickRate};

use super::sheet::Sheet;
pub use list::KNOBS;

/// What the driver feels of a setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Letting go of the throttle.
    EasingOff,
    /// Getting under way.
    PullingAway,
    /// Keeping the speed.
    HoldingSpeed,
    /// What spares pack, motor and gears.
    Protection,
    /// The throttle itself and its signal.
    Throttle,
}

impl Group {
    /// All groups with their words, in the order in which they are shown.
    pub const ALL: [(Self, &'static str); 5] = [
        (Self::EasingOff, "Easing off"),
        (Self::PullingAway, "Pulling away"),
        (Self::HoldingSpeed, "Holding speed"),
        (Self::Protection, "Protection"),
        (Self::Throttle, "Throttle and signal"),
    ];
}

/// What is turned.
#[derive(Clone, Copy)]
pub enum Kind {
    /// A number with its unit; empty for a ratio.
    Number {
        /// Its unit.
        unit: &'static str,
        /// Reads it.
        get: fn(&Sheet) -> f32,
        /// Sets it.
        set: fn(&mut Sheet, f32),
    },
    /// On or off.
    Flag {
        /// Reads it.
        get: fn(&Sheet) -> bool,
        /// Sets it.
        set: fn(&mut Sheet, bool),
    },
    /// One of several, by their names in files.
    Choice {
        /// The names.
        names: &'static [&'static str],
        /// Which of them.
        get: fn(&Sheet) -> usize,
        /// Sets it.
        set: fn(&mut Sheet, usize),
    },
}

/// One setting.
pub struct Knob {
    /// Its path in a tune file.
    pub path: &'static str,
    /// Its words.
    pub label: &'static str,
    /// Where it is shown.
    pub group: Group,
    /// What is turned.
    pub kind: Kind,
    /// Whether turning it does anything now: what it belongs to is switched on.
    pub heard: fn(&Sheet) -> bool,
}

impl Knob {
    /// Its value, as it is shown.
    pub fn shown(&self, sheet: &Sheet) -> String {
        match self.kind {
            Kind::Number { unit, get, .. } => format!("{} {unit}", get(sheet)).trim().into(),
            Kind::Flag { get, .. } => if get(sheet) { "on" } else { "off" }.into(),
            Kind::Choice { names, get, .. } => {
                names.get(get(sheet)).copied().unwrap_or_default().into()
            }
        }
    }
}

/// The most bad pulses in a row that the reader of tune files lets be bridged.
const MOST_BRIDGED: f32 = 100.0;

/// The core's range of a number.
pub fn range(knob: &Knob) -> Option<[f32; 2]> {
    static RANGES: OnceLock<Vec<Option<[f32; 2]>>> = OnceLock::new();
    let ranges = RANGES.get_or_init(|| KNOBS.iter().map(asked).collect());
    let index = KNOBS.iter().position(|known| known.path == knob.path)?;
    ranges.get(index).copied().flatten()
}

fn asked(knob: &Knob) -> Option<[f32; 2]> {
    let Kind::Number { set, .. } = knob.kind else { return None };
    if knob.path == "pulse.bridge" {
        return Some([0.0, MOST_BRIDGED]);
    }
    let mut sheet = Sheet::from(easeoff_core::Settings::default());
    (sheet.rest.on, sheet.hold.on, sheet.give_way.on, sheet.stall.on) = (true, true, true, true);
    (sheet.drive_a.on, sheet.brake_a.on) = (true, true);
    (sheet.estimate_from_a.on, sheet.full_a.on) = (true, true);
    set(&mut sheet, f32::INFINITY);
    let errors = sheet.settings().prepare(TickRate::new(1_000)?).err()?;
    errors.iter().find(|error| error.parameter == knob.path).and_then(|error| match error.kind {
        SettingsErrorKind::OutOfRange { min, max, .. } => Some([min, max]),
        SettingsErrorKind::Contradicts { .. } => None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use easeoff_sim::files::demo::DEMOS;

    /// Every key of the demo's tune, which has them all, but the parts' switches and the curve's points.
    #[test]
    fn no_setting_of_a_tune_file_is_missing_and_none_is_there_twice() {
        let text = DEMOS[0].files.iter().find(|(name, _)| *name == "tune.toml").unwrap().1;
        let file: toml::Table = toml::from_str(text).unwrap();
        let mut keys = Vec::new();
        fn walk(table: &toml::Table, under: &str, keys: &mut Vec<String>) {
            for (key, value) in table {
                let path = if under.is_empty() { key.clone() } else { format!("{under}.{key}") };
                match value.as_table() {
                    Some(inner) => walk(inner, &path, keys),
                    None => keys.push(path),
                }
            }
        }
        walk(&file, "", &mut keys);
        assert!(keys.len() > 50, "{}", keys.len());
        for key in &keys {
            assert_eq!(KNOBS.iter().filter(|knob| knob.path == key).count(), 1, "{key}");
        }
        for knob in KNOBS {
            let same = KNOBS.iter().filter(|other| other.label == knob.label).count();
            assert_eq!(same, 1, "{} stands twice", knob.label);
        }
    }

    #[test]
    fn every_number_has_the_cores_range_and_its_ends_are_accepted() {
        for knob in KNOBS {
            let Kind::Number { get, set, .. } = knob.kind else { continue };
            let [min, max] = range(knob).unwrap_or_else(|| panic!("{} has no range", knob.path));
            assert!(min < max, "{}", knob.path);
            for value in [min, max] {
                let mut sheet = Sheet::from(easeoff_core::Settings::default());
                set(&mut sheet, value);
                assert_eq!(get(&sheet), value, "{}", knob.path);
                let refused = sheet.settings().prepare(TickRate::new(1_000).unwrap()).err();
                let out = refused.iter().flat_map(|errors| errors.iter()).find(|error| {
                    error.parameter == knob.path
                        && matches!(error.kind, SettingsErrorKind::OutOfRange { .. })
                });
                assert_eq!(out, None);
            }
        }
        let onset = KNOBS.iter().find(|knob| knob.path == "drag.onset_ms").unwrap();
        assert_eq!(range(onset), Some([0.0, 10_000.0]), "as documented at DragSettings");
    }

    #[test]
    fn every_choice_and_flag_reads_back() {
        for knob in KNOBS {
            let mut sheet = Sheet::from(easeoff_core::Settings::default());
            match knob.kind {
                Kind::Choice { names, get, set } => {
                    for index in 0..names.len() {
                        set(&mut sheet, index);
                        assert_eq!(get(&sheet), index, "{}", knob.path);
                    }
                }
                Kind::Flag { get, set } => {
                    for value in [true, false] {
                        set(&mut sheet, value);
                        assert_eq!(get(&sheet), value, "{}", knob.path);
                    }
                }
                Kind::Number { .. } => {}
            }
        }
    }
}
