//! Every setting of a tune as something that can be turned: its words, unit and range, by what the driver
//! feels of it.
//!
//! The ranges are not repeated here: the core is asked with a value that no range holds.

use std::sync::OnceLock;

use easeoff_core::{PackRecovery, ReversePolicy, SafeState, SettingsErrorKind, Shape, TickRate};

use super::sheet::Sheet;

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

macro_rules! number {
    ($group:ident, $path:literal, $label:literal, $unit:literal, |$s:ident| $field:expr) => {
        number!($group, $path, $label, $unit, |$s| $field; if |_| true)
    };
    ($group:ident, $path:literal, $label:literal, $unit:literal, |$s:ident| $field:expr; if $heard:expr) => {
        Knob {
            path: $path,
            label: $label,
            group: Group::$group,
            kind: Kind::Number {
                unit: $unit,
                get: |$s: &Sheet| $field,
                set: |$s: &mut Sheet, value| $field = value,
            },
            heard: $heard,
        }
    };
}

macro_rules! flag {
    ($group:ident, $path:literal, $label:literal, |$s:ident| $field:expr; if $heard:expr) => {
        Knob {
            path: $path,
            label: $label,
            group: Group::$group,
            kind: Kind::Flag {
                get: |$s: &Sheet| $field,
                set: |$s: &mut Sheet, value| $field = value,
            },
            heard: $heard,
        }
    };
}

macro_rules! choice {
    ($group:ident, $path:literal, $label:literal, $of:ty, $names:ident, |$s:ident| $field:expr) => {
        Knob {
            path: $path,
            label: $label,
            group: Group::$group,
            kind: Kind::Choice {
                names: &$names,
                get: |$s: &Sheet| {
                    <$of>::NAMED.iter().position(|(_, one)| *one == $field).unwrap_or(0)
                },
                set: |$s: &mut Sheet, index| {
                    if let Some((_, one)) = <$of>::NAMED.get(index) {
                        $field = *one;
                    }
                },
            },
            heard: |_| true,
        }
    };
}

const fn names<T: Copy, const N: usize>(named: &[(&'static str, T); N]) -> [&'static str; N] {
    let mut names = [""; N];
    let mut index = 0;
    while index < N {
        names[index] = named[index].0;
        index += 1;
    }
    names
}

const SHAPES: [&str; Shape::NAMED.len()] = names(&Shape::NAMED);
const SAFE_STATES: [&str; SafeState::NAMED.len()] = names(&SafeState::NAMED);
const REVERSES: [&str; ReversePolicy::NAMED.len()] = names(&ReversePolicy::NAMED);
const RECOVERIES: [&str; PackRecovery::NAMED.len()] = names(&PackRecovery::NAMED);
const LAWS: [&str; 2] = ["share", "current"];

/// Every setting, in the order in which it is shown.
pub const KNOBS: &[Knob] = &[
    number!(EasingOff, "drag.strength", "Brake strength", "", |s| s.base.drag.strength),
    number!(EasingOff, "drag.delay_ms", "Brake waits", "ms", |s| s.base.drag.delay_ms),
    number!(EasingOff, "drag.onset_ms", "Brake comes in over", "ms", |s| s.base.drag.onset_ms),
    choice!(EasingOff, "drag.shape", "Onset shape", Shape, SHAPES, |s| s.base.drag.shape),
    number!(EasingOff, "drag.follow", "Onset follows the hand", "", |s| s.base.drag.follow),
    number!(EasingOff, "drag.release_ms", "Brake lets go over", "ms", |s| s.base.drag.release_ms),
    Knob {
        path: "drag.law",
        label: "Strength means",
        group: Group::EasingOff,
        kind: Kind::Choice {
            names: &LAWS,
            get: |s| usize::from(s.full_a.on),
            set: |s, index| s.full_a.on = index == 1,
        },
        heard: |_| true,
    },
    number!(EasingOff, "drag.full_a", "Current at full strength", "A", |s| s.full_a.is; if |s| s.full_a.on),
    flag!(EasingOff, "rest.on", "Hold the place at rest", |s| s.rest.on; if |_| true),
    number!(EasingOff, "rest.gain_per_rad", "Rest: duty per roll", "1/rad", |s| s.rest.is.gain_per_rad; if |s| s.rest.on),
    number!(EasingOff, "rest.damping_s_per_rad", "Rest: damping", "s/rad", |s| s.rest.is.damping_s_per_rad; if |s| s.rest.on),
    number!(EasingOff, "rest.authority", "Rest: most duty", "", |s| s.rest.is.authority; if |s| s.rest.on),
    number!(EasingOff, "rest.below_rad_s", "Rest: slower than", "rad/s", |s| s.rest.is.below_rad_s; if |s| s.rest.on),
    number!(PullingAway, "curve.blend", "Curve around neutral", "", |s| s.blend; if |s| s.knots.is_none_or(|knots| !knots.on)),
    number!(PullingAway, "slew.rise_per_s", "Throttle may rise", "1/s", |s| s.base.slew.rise_per_s),
    number!(PullingAway, "slew.ease_per_s", "Throttle may ease", "1/s", |s| s.base.slew.ease_per_s),
    choice!(PullingAway, "mode.reverse", "Reverse", ReversePolicy, REVERSES, |s| s
        .base
        .mode
        .reverse),
    number!(PullingAway, "limits.reverse", "Most duty backward", "", |s| s.base.limits.reverse),
    number!(PullingAway, "mode.rest_rad_s", "Counts as standing below", "rad/s", |s| s
        .base
        .mode
        .rest_rad_s),
    number!(PullingAway, "mode.pause_ms", "Braking takes, unsensed", "ms", |s| s
        .base
        .mode
        .pause_ms),
    number!(PullingAway, "mode.arm_ms", "Rests before arming", "ms", |s| s.base.mode.arm_ms),
    flag!(HoldingSpeed, "hold.on", "Hold the speed", |s| s.hold.on; if |_| true),
    number!(HoldingSpeed, "hold.authority", "Most duty it may add", "", |s| s.hold.is.authority; if |s| s.hold.on),
    number!(HoldingSpeed, "hold.full_speed_rad_s", "Speed of full throttle", "rad/s", |s| s.hold.is.full_speed_rad_s; if |s| s.hold.on),
    number!(HoldingSpeed, "hold.feed_forward", "Duty per throttle", "", |s| s.hold.is.feed_forward; if |s| s.hold.on),
    number!(HoldingSpeed, "hold.gain", "Gain", "", |s| s.hold.is.gain; if |s| s.hold.on),
    number!(HoldingSpeed, "hold.gain_per_s", "Gain per second", "1/s", |s| s.hold.is.gain_per_s; if |s| s.hold.on),
    number!(HoldingSpeed, "hold.droop", "Droop", "", |s| s.hold.is.droop; if |s| s.hold.on),
    number!(HoldingSpeed, "hold.fade_ms", "Comes and goes over", "ms", |s| s.hold.is.fade_ms; if |s| s.hold.on),
    flag!(HoldingSpeed, "hold.give_way.on", "Give way to a load", |s| s.give_way.on; if |s| s.hold.on),
    number!(HoldingSpeed, "hold.give_way.share", "Adding more than", "", |s| s.give_way.is.share; if |s| s.hold.on && s.give_way.on),
    number!(HoldingSpeed, "hold.give_way.after_ms", "For longer than", "ms", |s| s.give_way.is.after_ms; if |s| s.hold.on && s.give_way.on),
    number!(HoldingSpeed, "hold.give_way.release_ms", "Takes the help away over", "ms", |s| s.give_way.is.release_ms; if |s| s.hold.on && s.give_way.on),
    flag!(Protection, "limits.drive_a.on", "Limit the driving current", |s| s.drive_a.on; if |_| true),
    number!(Protection, "limits.drive_a", "Motor current driving", "A", |s| s.drive_a.is; if |s| s.drive_a.on),
    flag!(Protection, "limits.brake_a.on", "Limit the braking current", |s| s.brake_a.on; if |_| true),
    number!(Protection, "limits.brake_a", "Motor current braking", "A", |s| s.brake_a.is; if |s| s.brake_a.on),
    number!(Protection, "limits.full_v", "A full cell", "V", |s| s.base.limits.full_v),
    number!(Protection, "limits.fade_from_v", "Cell: duty fades from", "V", |s| s
        .base
        .limits
        .fade_from_v),
    number!(Protection, "limits.fade_to_v", "Cell: nothing left at", "V", |s| s
        .base
        .limits
        .fade_to_v),
    number!(Protection, "limits.recover_v", "Cell: counts as risen by", "V", |s| s
        .base
        .limits
        .recover_v),
    choice!(
        Protection,
        "limits.pack_recovery",
        "An empty pack drives again",
        PackRecovery,
        RECOVERIES,
        |s| s.base.limits.pack_recovery
    ),
    number!(Protection, "limits.hot_from_c", "Winding: duty fades from", "\u{b0}C", |s| s
        .base
        .limits
        .hot_from_c),
    number!(Protection, "limits.hot_to_c", "Winding: nothing left at", "\u{b0}C", |s| s
        .base
        .limits
        .hot_to_c),
    number!(Protection, "limits.cool_by_c", "Winding: counts as cooler by", "K", |s| s
        .base
        .limits
        .cool_by_c),
    flag!(Protection, "limits.stall.on", "Cut the drive of wheels that stand", |s| s.stall.on; if |_| true),
    number!(Protection, "limits.stall.below_rad_s", "Stall: slower than", "rad/s", |s| s.stall.is.below_rad_s; if |s| s.stall.on),
    number!(Protection, "limits.stall.duty", "Stall: with more duty than", "", |s| s.stall.is.duty; if |s| s.stall.on),
    number!(Protection, "limits.stall.after_ms", "Stall: for longer than", "ms", |s| s.stall.is.after_ms; if |s| s.stall.on),
    choice!(Protection, "safe_state", "Without a signal", SafeState, SAFE_STATES, |s| s
        .base
        .safe_state),
    number!(Throttle, "calibration.low_us", "Throttle at its far end", "\u{b5}s", |s| s
        .base
        .calibration
        .low_us),
    number!(Throttle, "calibration.neutral_us", "Throttle let go", "\u{b5}s", |s| s
        .base
        .calibration
        .neutral_us),
    number!(Throttle, "calibration.high_us", "Full throttle", "\u{b5}s", |s| s
        .base
        .calibration
        .high_us),
    number!(Throttle, "calibration.dead_band_us", "Neutral within", "\u{b5}s", |s| s
        .base
        .calibration
        .dead_band_us),
    flag!(Throttle, "calibration.reversed", "Throttle reversed", |s| s.base.calibration.reversed; if |_| true),
    number!(Throttle, "pulse.plausible_low_us", "Shortest pulse believed", "\u{b5}s", |s| s
        .base
        .pulse
        .plausible_low_us),
    number!(Throttle, "pulse.plausible_high_us", "Longest pulse believed", "\u{b5}s", |s| s
        .base
        .pulse
        .plausible_high_us),
    number!(Throttle, "pulse.jump_us", "A jump waits beyond", "\u{b5}s", |s| s.base.pulse.jump_us),
    Knob {
        path: "pulse.bridge",
        label: "Bad pulses bridged",
        group: Group::Throttle,
        kind: Kind::Number {
            unit: "",
            get: |s| s.base.pulse.bridge.into(),
            set: |s, value| s.base.pulse.bridge = value.round().clamp(0.0, 255.0) as u8,
        },
        heard: |_| true,
    },
    number!(Throttle, "pulse.loss_after_ms", "Lost after", "ms", |s| s.base.pulse.loss_after_ms),
    flag!(Throttle, "motor.estimate_from_a.on", "Estimate the speed without a sensor", |s| s.estimate_from_a.on; if |_| true),
    number!(Throttle, "motor.estimate_from_a", "Estimate from a current of", "A", |s| s.estimate_from_a.is; if |s| s.estimate_from_a.on),
];

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
    use easeoff_sim::demo::DEMOS;

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
