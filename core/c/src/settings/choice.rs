//! Choices: numbers in C, which may hold anything.

use easeoff_core::{
    PackRecovery, ReversePolicy, SafeState, SettingsError, SettingsErrorKind, Shape,
};

/// As many choices as the settings have, flags among them, and the number of knots.
const MOST: usize = 16;

/// The choices that do not exist.
#[derive(Clone, Debug, PartialEq)]
pub struct Wrong(heapless::Vec<SettingsError, MOST>);

impl core::ops::Deref for Wrong {
    type Target = [SettingsError];
    fn deref(&self) -> &[SettingsError] {
        &self.0
    }
}

impl Wrong {
    pub(super) fn new() -> Self {
        Self(heapless::Vec::new())
    }

    /// The choice of this number; the default if there is none.
    pub(super) fn pick<T: Copy + Default>(
        &mut self,
        parameter: &'static str,
        number: u8,
        named: &[(&'static str, T)],
    ) -> T {
        if let Some((_, choice)) = named.get(usize::from(number)) {
            return *choice;
        }
        self.note(parameter, number, named.len());
        T::default()
    }

    /// 0 or 1.
    pub(super) fn flag(&mut self, parameter: &'static str, number: u8) -> bool {
        self.pick(parameter, number, &[("no", false), ("yes", true)])
    }

    /// One of `count` numbers was due.
    pub(super) fn note(&mut self, parameter: &'static str, number: u8, count: usize) {
        let most = u8::try_from(count.saturating_sub(1)).unwrap_or(u8::MAX);
        let (value, max) = (f32::from(number), f32::from(most));
        let kind = SettingsErrorKind::OutOfRange { value, min: 0.0, max };
        // There is room for all.
        let _ = self.0.push(SettingsError { parameter, kind });
    }
}

macro_rules! number {
    ($ours:ident) => {
        impl $ours {
            #[expect(clippy::as_conversions, reason = "the number of the variant")]
            pub(super) const fn number(self) -> u8 {
                self as u8
            }
        }
    };
}

/// The number of each of the core's choices.
macro_rules! numbers {
    ($core:ident as $ours:ident { $($variant:ident),* $(,)? }) => {
        number!($ours);

        impl $ours {
            pub(super) const fn of(choice: $core) -> u8 {
                match choice {
                    $($core::$variant => Self::$variant.number(),)*
                }
            }
        }
    };
}

/// When the far side may drive backward.
#[repr(u8)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum easeoff_reverse_policy {
    /// At once, also while rolling forward.
    Direct = 0,
    /// The far side brakes while the wheels still turn the other way, then drives.
    AfterStop,
    /// The far side only brakes.
    Never,
}

numbers!(ReversePolicy as easeoff_reverse_policy { Direct, AfterStop, Never });

/// What to do without a signal or after a fault.
#[repr(u8)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum easeoff_safe_state {
    /// The drag brake, as set.
    Drag = 0,
    /// All switches open.
    Coast,
}

numbers!(SafeState as easeoff_safe_state { Drag, Coast });

/// The path along which the drag brake comes in.
#[repr(u8)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum easeoff_shape {
    /// Constant change.
    Linear = 0,
    /// No corner at either end.
    Smooth,
    /// Most of the brake arrives early.
    FirstOrder,
}

numbers!(Shape as easeoff_shape { Linear, Smooth, FirstOrder });

/// What happens once an empty pack has cut the drive.
#[repr(u8)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum easeoff_pack_recovery {
    /// It drives again once the throttle has been let go.
    AfterNeutral = 0,
    /// It drives again by itself.
    ByVoltage,
}

numbers!(PackRecovery as easeoff_pack_recovery { AfterNeutral, ByVoltage });

/// What the drag brake's strength means.
#[repr(u8)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum easeoff_drag_law {
    /// Duty of the brake: the share of time the windings are shorted.
    Duty = 0,
    /// Braking current; strength 1 is `full_a`.
    Current,
}

number!(easeoff_drag_law);

/// How the throttle's curve is given.
#[repr(u8)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum easeoff_curve_kind {
    /// (1 - blend) x + blend x^3
    Cubic = 0,
    /// Straight lines from (0, 0) through the knots to (1, 1).
    Knots,
}

number!(easeoff_curve_kind);
