//! Every setting of a tune as something that can be turned, by what the driver feels of it. All but the
//! groups is the core's list: labels, units, ranges, and the names of choices.

use std::sync::LazyLock;

use easeoff_core::{Kind, SETTINGS, Setting};

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
    /// All groups with their words and the stages of theirs, in the order in which they are shown.
    pub const ALL: [(Self, &'static str, &'static [&'static str]); 5] = [
        (Self::EasingOff, "Easing off", &["drag", "rest"]),
        (Self::PullingAway, "Pulling away", &["curve", "slew", "mode"]),
        (Self::HoldingSpeed, "Holding speed", &["hold"]),
        (Self::Protection, "Protection", &["limits", "safe_state"]),
        (Self::Throttle, "Throttle and signal", &["calibration", "pulse", "motor"]),
    ];
}

/// Where something is turned to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Value {
    /// A number.
    Number(f32),
    /// On or off.
    Flag(bool),
    /// Which of several.
    Choice(usize),
}

/// One setting, or the switch of a number that may be left out.
#[derive(Debug)]
pub struct Knob {
    /// Its words; no other knob has them.
    pub label: &'static str,
    /// Where it is shown.
    pub group: Group,
    /// Its row in the core's list.
    pub setting: &'static Setting,
    row: usize,
    switch: bool,
}

/// Every setting, in the order in which it is shown.
pub static KNOBS: LazyLock<Vec<Knob>> = LazyLock::new(|| {
    let stages =
        Group::ALL.iter().flat_map(|(group, _, stages)| stages.iter().map(|s| (*group, *s)));
    let rows = stages.flat_map(|(group, stage)| {
        let theirs = move |setting: &Setting| {
            !setting.from_rig && setting.path.split('.').next() == Some(stage)
        };
        let all = SETTINGS.iter().enumerate().filter(move |(_, setting)| theirs(setting));
        all.map(move |(row, setting)| (group, row, setting))
    });
    let knobs = rows.flat_map(|(group, row, setting)| {
        let one = move |label, switch| Knob { label, group, setting, row, switch };
        let switch = match setting.kind {
            Kind::Optional { switch, .. } => Some(one(switch, true)),
            _ => None,
        };
        switch.into_iter().chain([one(setting.label, false)])
    });
    knobs.collect()
});

impl Knob {
    /// The unit of a number; empty for a ratio.
    pub fn unit(&self) -> &'static str {
        self.setting.unit
    }

    /// The names of a choice; of anything else none.
    pub fn names(&self) -> &'static [&'static str] {
        match self.setting.kind {
            Kind::Choice { of, .. } => of.names,
            _ => &[],
        }
    }

    /// Where it is turned to.
    pub fn get(&self, sheet: &Sheet) -> Value {
        match self.setting.kind {
            Kind::Choice { .. } => Value::Choice(sheet.way(self.row)),
            Kind::Flag { .. } => Value::Flag(self.setting.flag(&sheet.full).unwrap_or_default()),
            Kind::Part { .. } | Kind::Knots { .. } => Value::Flag(sheet.way(self.row) == 1),
            Kind::Optional { .. } if self.switch => Value::Flag(sheet.way(self.row) == 1),
            Kind::Number { .. } | Kind::Whole { .. } | Kind::Optional { .. } => {
                Value::Number(self.setting.number(&sheet.full).unwrap_or_default())
            }
        }
    }

    /// Turns it. A value of another kind turns nothing.
    pub fn set(&self, sheet: &mut Sheet, value: Value) {
        match (value, self.setting.kind) {
            (Value::Number(number), _) => self.setting.set_number(&mut sheet.full, number),
            (Value::Flag(flag), Kind::Flag { at }) => {
                if let Some(place) = at(&mut sheet.full) {
                    *place = flag;
                }
            }
            (Value::Flag(on), _) => sheet.switch(self.setting.path, on),
            (Value::Choice(index), _) => sheet.choose(self.row, index),
        }
    }

    /// Whether turning it does anything now: what it belongs to is switched on.
    pub fn heard(&self, sheet: &Sheet) -> bool {
        let mut tune = sheet.settings();
        match self.setting.kind {
            Kind::Number { .. } | Kind::Whole { .. } => self.setting.number(&tune).is_some(),
            Kind::Optional { at, .. } => {
                at(&mut tune).is_some_and(|number| self.switch || number.is_some())
            }
            Kind::Flag { .. } => self.setting.flag(&tune).is_some(),
            Kind::Part { .. } => self.setting.is_on(&tune).is_some(),
            Kind::Choice { .. } | Kind::Knots { .. } => true,
        }
    }

    /// Its value, as it is shown.
    pub fn shown(&self, sheet: &Sheet) -> String {
        match self.get(sheet) {
            Value::Number(number) => format!("{number} {}", self.unit()).trim().into(),
            Value::Flag(on) => if on { "on" } else { "off" }.into(),
            Value::Choice(index) => self.names().get(index).copied().unwrap_or_default().into(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use easeoff_core::{SettingsErrorKind, TickRate};

    #[test]
    fn no_setting_of_a_tune_file_is_missing_and_none_is_there_twice() {
        for setting in SETTINGS.iter().filter(|setting| !setting.from_rig) {
            let path = setting.path;
            let knobs = KNOBS.iter().filter(|knob| knob.setting.path == path && !knob.switch);
            assert_eq!(knobs.count(), 1, "{path}: its stage is in one group");
        }
        for knob in KNOBS.iter() {
            let same = KNOBS.iter().filter(|other| other.label == knob.label).count();
            assert_eq!(same, 1, "{} comes twice", knob.label);
            assert!(knob.label.len() < 36, "{} is no label", knob.label);
        }
    }

    #[test]
    fn every_number_has_the_cores_range_and_its_ends_are_accepted() {
        for knob in KNOBS.iter() {
            let mut sheet = Sheet::from(easeoff_core::Settings::default());
            let (path, Value::Number(_)) = (knob.setting.path, knob.get(&sheet)) else { continue };
            let [min, max] = knob.setting.range().unwrap_or_else(|| panic!("{path} has no range"));
            assert!(min < max, "{path}");
            for value in [min, max] {
                knob.set(&mut sheet, Value::Number(value));
                assert_eq!(knob.get(&sheet), Value::Number(value), "{path}");
                let refused = sheet.settings().prepare(TickRate::new(1_000).unwrap()).err();
                let out = refused.iter().flat_map(|errors| errors.iter()).find(|error| {
                    error.parameter == path
                        && matches!(error.kind, SettingsErrorKind::OutOfRange { .. })
                });
                assert_eq!(out, None);
            }
        }
    }

    #[test]
    fn every_choice_and_flag_reads_back() {
        for knob in KNOBS.iter() {
            let mut sheet = Sheet::from(easeoff_core::Settings::default());
            let values: Vec<Value> = match knob.get(&sheet) {
                Value::Choice(_) => (0..knob.names().len()).map(Value::Choice).collect(),
                Value::Flag(_) => [true, false].map(Value::Flag).into(),
                Value::Number(_) => continue,
            };
            assert!(values.len() > 1, "{}", knob.label);
            for value in values {
                knob.set(&mut sheet, value);
                assert_eq!(knob.get(&sheet), value, "{}", knob.label);
            }
        }
    }
}
