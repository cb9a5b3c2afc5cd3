//! When is a pulse steady, and where?

use crate::shared::units::Microseconds;

/// Fewer pulses than this say nothing about noise, however long they took.
const LEAST_PULSES: u32 = 5;

/// Where the pulse was steady, and how far it wandered there.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Place {
    pub(super) mean: Microseconds,
    pub(super) spread: Microseconds,
}

/// What counts as steady: for so many ticks, within so much.
#[derive(Clone, Copy, Debug)]
pub(super) struct Steady {
    pub(super) ticks: u32,
    pub(super) spread: Microseconds,
}

/// Pulses that lie within the spread so far.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Window {
    low: Microseconds,
    high: Microseconds,
    sum: i64,
    pulses: u32,
    /// Since the first of them.
    ticks: u32,
}

impl Window {
    pub(super) fn tick(&mut self) {
        self.ticks = self.ticks.saturating_add(1);
    }

    /// The steady place, once there is one; the window then begins anew, as it does with a pulse
    /// outside the spread.
    pub(super) fn take(&mut self, width: Microseconds, steady: &Steady) -> Option<Place> {
        let (low, high) = (self.low.min(width), self.high.max(width));
        let bits = i64::from(width.to_bits());
        if self.pulses == 0 || high - low > steady.spread {
            *self = Self { low: width, high: width, sum: bits, pulses: 1, ticks: 0 };
            return None;
        }
        let sum = self.sum.saturating_add(bits);
        let pulses = self.pulses.saturating_add(1);
        *self = Self { low, high, sum, pulses, ticks: self.ticks };
        if self.ticks < steady.ticks || pulses < LEAST_PULSES {
            return None;
        }
        *self = Self::default();
        // A mean of 32-bit numbers is one itself.
        let mean = sum.checked_div(i64::from(pulses)).unwrap_or_default();
        let mean = Microseconds::from_bits(i32::try_from(mean).unwrap_or_default());
        Some(Place { mean, spread: high - low })
    }
}
