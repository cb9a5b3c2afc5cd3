//! Fourth stage: how fast the demand may grow and how fast it may ease.

use fixed::types::I2F30;

use crate::error::Check;
use crate::ramp::TickRate;
use crate::units::Demand;

/// The demand's largest rates of change.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct SlewSettings {
    /// Away from neutral \[1/s\], 0.1 to 1000: 4 means full throttle in a quarter of a second.
    pub rise_per_s: f32,
    /// Toward neutral \[1/s\], 0.1 to 1000.
    pub ease_per_s: f32,
}

impl Default for SlewSettings {
    /// Full throttle in 0.25 s, back in 0.05 s.
    fn default() -> Self {
        Self { rise_per_s: 4.0, ease_per_s: 20.0 }
    }
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Slew {
    rise: I2F30,
    ease: I2F30,
}

/// The demand with 30 fraction bits, so that slow rates do not round away.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct SlewState {
    demand: I2F30,
}

impl SlewState {
    /// The demand as the last tick left it.
    pub(crate) fn demand(self) -> Demand {
        Demand::from_bits(self.demand.to_bits() >> 14)
    }
}

impl SlewSettings {
    pub(crate) fn prepare(&self, rate: TickRate, check: &mut Check) -> Slew {
        let rise = check.range("slew.rise_per_s", self.rise_per_s, 0.1..=1_000.0);
        let ease = check.range("slew.ease_per_s", self.ease_per_s, 0.1..=1_000.0);
        // A step of 2 or more crosses the whole range in one tick; saturating says the same.
        let step = |per_s| I2F30::checked_from_num(rate.per_tick(per_s)).unwrap_or(I2F30::MAX);
        Slew { rise: step(rise), ease: step(ease) }
    }
}

impl Slew {
    /// Moves toward `wish`: first back to neutral at the easing rate, then out at the rising rate.
    /// Neutral is never crossed within a tick.
    pub(crate) fn step(&self, state: &mut SlewState, wish: Demand) -> Demand {
        // 14 more fraction bits; |demand| <= 1, so nothing is lost at the top.
        let wish = I2F30::from_bits(wish.to_bits().saturating_mul(1 << 14));
        let now = state.demand;
        let same_side = (wish >= I2F30::ZERO) == (now >= I2F30::ZERO) || now == I2F30::ZERO;
        let growing = same_side && wish.saturating_abs() >= now.saturating_abs();
        let (target, step) = match (same_side, growing) {
            (true, true) => (wish, self.rise),
            (true, false) => (wish, self.ease),
            (false, _) => (I2F30::ZERO, self.ease),
        };
        state.demand = target.max(now.saturating_sub(step)).min(now.saturating_add(step));
        state.demand()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn slew(rise_per_s: f32, ease_per_s: f32, hz: u16) -> Slew {
        SlewSettings { rise_per_s, ease_per_s }
            .prepare(TickRate::new(hz).unwrap(), &mut Check::new())
    }

    #[test]
    fn full_travel_takes_the_stated_time_at_every_rate() {
        for hz in [250_u16, 1_000, 8_000] {
            let slew = slew(0.5, 2.0, hz);
            let mut state = SlewState::default();
            let mut ticks = 0_u32;
            while slew.step(&mut state, Demand::HIGHEST) < Demand::HIGHEST {
                ticks += 1;
            }
            assert!(ticks.abs_diff(2 * u32::from(hz)) <= 1, "{ticks} ticks up at {hz} Hz");
            ticks = 0;
            while slew.step(&mut state, Demand::ZERO) > Demand::ZERO {
                ticks += 1;
            }
            assert!(ticks.abs_diff(u32::from(hz) / 2) <= 1, "{ticks} ticks down at {hz} Hz");
        }
    }

    #[test]
    fn a_reversed_wish_stops_at_neutral_first() {
        let slew = slew(1_000.0, 10.0, 1_000);
        let mut state = SlewState::default();
        slew.step(&mut state, Demand::HIGHEST);
        let mut touched_neutral = false;
        for _ in 0..200 {
            let demand = slew.step(&mut state, Demand::LOWEST);
            touched_neutral |= demand.is_neutral();
            assert!(demand >= Demand::ZERO || touched_neutral);
        }
        assert!(touched_neutral);
    }
}
