//! Every setting of a tune as something that can be turned: its words, unit and range, by what the driver
//! feels of it.
//!
//! Units, ranges and the names of choices are those of the core's list.

mod list;

use easeoff_core::{SETTINGS, Setting};

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
    /// A number.
    Number {
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
    /// Its row in the core's list. The switch of a number that may be left out, such as
    /// `limits.drive_a.on`, is the window's own and has none.
    fn setting(&self) -> Option<&'static Setting> {
        SETTINGS.iter().find(|setting| setting.path == self.path)
    }

    /// The unit of a number; empty for a ratio.
    pub fn unit(&self) -> &'static str {
        self.setting().map_or("", |setting| setting.unit)
    }

    /// The names of a choice; of anything else none.
    pub fn names(&self) -> &'static [&'static str] {
        match self.setting().map(|setting| setting.kind) {
            Some(easeoff_core::Kind::Choice { names, .. }) => names,
            _ => &[],
        }
    }

    /// Its value, as it is shown.
    pub fn shown(&self, sheet: &Sheet) -> String {
        match self.kind {
            Kind::Number { get, .. } => format!("{} {}", get(sheet), self.unit()).trim().into(),
            Kind::Flag { get, .. } => if get(sheet) { "on" } else { "off" }.into(),
            Kind::Choice { get, .. } => {
                self.names().get(get(sheet)).copied().unwrap_or_default().into()
            }
        }
    }
}

/// The core's range of a number.
pub fn range(knob: &Knob) -> Option<[f32; 2]> {
    knob.setting()?.range()
}

#[cfg(test)]
mod tests {
    use super::*;
    use easeoff_core::{SettingsErrorKind, TickRate};

    #[test]
    fn no_setting_of_a_tune_file_is_missing_and_none_is_there_twice() {
        for setting in SETTINGS.iter().filter(|setting| !setting.from_rig) {
            let path = setting.path;
            assert_eq!(KNOBS.iter().filter(|knob| knob.path == path).count(), 1, "{path}");
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
                Kind::Choice { get, set } => {
                    assert!(knob.names().len() > 1, "{}", knob.path);
                    for index in 0..knob.names().len() {
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
