//! What a setting is, for everything that reads, writes, shows, draws or describes settings.

use super::Settings;
use super::list::SETTINGS;
use crate::shared::choice::Choice;
use crate::shared::error::Allowed;
use crate::stages::curve::CurveSettings;
use crate::stages::drag::DragLaw;

/// Where a value lies in the settings; `None` while what it belongs to is switched off or another
/// choice is made.
pub type At<T> = fn(&mut Settings) -> Option<&mut T>;

/// One setting.
///
/// ```
/// use easeoff_core::{Setting, Settings};
/// let onset = Setting::of("drag.onset_ms");
/// assert_eq!(onset.range(), Some([0.0, 10_000.0]));
/// assert_eq!(onset.number(&Settings::default()), Some(300.0));
/// let mut tune = Settings::default();
/// onset.set_number(&mut tune, 450.0);
/// assert_eq!(tune.drag.onset_ms, 450.0);
/// ```
#[derive(Clone, Copy, Debug)]
pub struct Setting {
    /// Its path in a tune file, such as `drag.onset_ms`.
    pub path: &'static str,
    /// Its unit; empty for a ratio, a word or a switch.
    pub unit: &'static str,
    /// Its name where settings are turned, as in the window; no other has it.
    pub label: &'static str,
    /// What it does, in one line.
    pub words: &'static str,
    /// Told by the rig, and so not in a tune file.
    pub from_rig: bool,
    /// What it holds.
    pub kind: Kind,
}

/// What a setting holds, and where.
#[derive(Clone, Copy, Debug)]
pub enum Kind {
    /// A number.
    Number {
        /// The least value and the greatest.
        range: [f32; 2],
        /// Where it lies.
        at: At<f32>,
    },
    /// A number that may be left out.
    Optional {
        /// The least value and the greatest.
        range: [f32; 2],
        /// A value to begin with where there was none.
        usual: f32,
        /// The label of the switch that says whether there is one.
        switch: &'static str,
        /// Where it lies.
        at: At<Option<f32>>,
    },
    /// A whole number.
    Whole {
        /// The least value and the greatest.
        range: [f32; 2],
        /// Where it lies.
        at: At<u8>,
    },
    /// Yes or no.
    Flag {
        /// Where it lies.
        at: At<bool>,
    },
    /// One of several.
    Choice {
        /// What there is to choose between.
        of: &'static Choice,
        /// Which it is.
        get: fn(&Settings) -> usize,
        /// Makes it that one; a number without a name changes nothing.
        set: fn(&mut Settings, usize),
    },
    /// A part with settings of its own, its path ending in `.on`: switched on by its table in a file
    /// unless that says otherwise.
    Part {
        /// Whether it is on; `None` while what it belongs to is switched off.
        get: fn(&mut Settings) -> Option<bool>,
        /// Switches it on, with the default of each of its settings unless it is on already; or off.
        /// `None` while what it belongs to is switched off.
        set: fn(&mut Settings, bool) -> Option<()>,
    },
    /// A curve by points, in place of its number.
    Knots {
        /// The least travel of a point and the greatest.
        travel: [f32; 2],
        /// The least demand of a point and the greatest.
        demand: [f32; 2],
        /// Where it lies.
        at: fn(&mut Settings) -> &mut CurveSettings,
    },
}

impl Setting {
    /// The row of a path of [`SETTINGS`]. In a `const` block it is looked up while compiling.
    ///
    /// # Panics
    /// If there is none.
    #[expect(
        clippy::panic,
        clippy::indexing_slicing,
        clippy::arithmetic_side_effects,
        reason = "for a constant path: one without a row must fail; the index stays below the length"
    )]
    pub const fn of(path: &str) -> &'static Self {
        let mut index = 0;
        while index < SETTINGS.len() {
            if same(SETTINGS[index].path, path) {
                return &SETTINGS[index];
            }
            index += 1;
        }
        panic!("this path has no row in SETTINGS");
    }

    /// The part before the last point of the path, and the key after it. A setting that lies in no
    /// table has an empty first half.
    pub fn table_and_key(&self) -> (&'static str, &'static str) {
        self.path.rsplit_once('.').unwrap_or(("", self.path))
    }

    /// The least value and the greatest, of a number.
    pub const fn range(&self) -> Option<[f32; 2]> {
        match self.kind {
            Kind::Number { range, .. }
            | Kind::Optional { range, .. }
            | Kind::Whole { range, .. } => Some(range),
            _ => None,
        }
    }

    /// Its value in these settings, if it is a number and there is one.
    pub fn number(&self, settings: &Settings) -> Option<f32> {
        let mut copy = *settings;
        match self.kind {
            Kind::Number { at, .. } => at(&mut copy).copied(),
            Kind::Optional { at, .. } => at(&mut copy).copied().flatten(),
            Kind::Whole { at, .. } => at(&mut copy).copied().map(f32::from),
            _ => None,
        }
    }

    /// Sets a number, a whole one to the nearest there is. Anything else, and what is switched off,
    /// stays as it is.
    pub fn set_number(&self, settings: &mut Settings, number: f32) {
        match self.kind {
            Kind::Number { at, .. } => put(at(settings), number),
            Kind::Optional { at, .. } => put(at(settings), Some(number)),
            Kind::Whole { at, .. } => put(at(settings), nearest(number)),
            _ => {}
        }
    }

    /// Whether a part is on; `None` for anything else, and while what it belongs to is off.
    pub fn is_on(&self, settings: &Settings) -> Option<bool> {
        let Kind::Part { get, .. } = self.kind else { return None };
        let mut copy = *settings;
        get(&mut copy)
    }

    /// Which it is by its name in files, if it is a choice.
    pub fn name(&self, settings: &Settings) -> Option<&'static str> {
        let Kind::Choice { of, get, .. } = self.kind else { return None };
        of.names.get(get(settings)).copied()
    }

    /// Its value, if it is a flag.
    pub fn flag(&self, settings: &Settings) -> Option<bool> {
        let Kind::Flag { at } = self.kind else { return None };
        let mut copy = *settings;
        at(&mut copy).copied()
    }
}

fn put<T>(place: Option<&mut T>, value: T) {
    if let Some(place) = place {
        *place = value;
    }
}

#[expect(clippy::as_conversions, reason = "saturates, and NaN is 0: wanted")]
#[expect(clippy::float_arithmetic, reason = "changes settings; never called by step()")]
fn nearest(number: f32) -> u8 {
    (number + 0.5) as u8
}

impl Settings {
    /// The defaults with every part switched on and every number that may be left out at its usual
    /// value: here every number of [`SETTINGS`] has one.
    pub fn in_full() -> Self {
        let mut settings = Self::default();
        settings.drag.law = DragLaw::USUAL_CURRENT;
        for setting in SETTINGS {
            match setting.kind {
                Kind::Part { set, .. } => {
                    set(&mut settings, true);
                }
                Kind::Optional { usual, at, .. } => put(at(&mut settings), Some(usual)),
                _ => {}
            }
        }
        if let Some(hold) = &mut settings.hold {
            // The one number without a default.
            hold.full_speed_rad_s = 30.0;
        }
        settings
    }
}

/// What is allowed of the number at a path of [`SETTINGS`].
///
/// The row is looked up while compiling: a chip carries its path and its range, and no list.
macro_rules! allowed {
    ($path:literal) => {
        const { &$crate::settings::find($path) }
    };
}
pub(crate) use allowed;

#[expect(clippy::panic, reason = "runs while compiling, where a path without a range must fail")]
pub(crate) const fn find(path: &str) -> Allowed {
    let setting = Setting::of(path);
    match setting.range() {
        Some(range) => Allowed::new(setting.path, range),
        None => panic!("this path is no number of SETTINGS"),
    }
}

#[expect(
    clippy::indexing_slicing,
    clippy::arithmetic_side_effects,
    reason = "runs while compiling; the index stays below both lengths"
)]
const fn same(one: &str, other: &str) -> bool {
    let (one, other) = (one.as_bytes(), other.as_bytes());
    let mut index = 0;
    while index < one.len() && index < other.len() && one[index] == other[index] {
        index += 1;
    }
    index == one.len() && index == other.len()
}
