//! Fourth stage: how fast the demand may grow and how fast it may ease.
//!
//! Source: algebra.

use fixed::types::{I2F30, I16F16};

use crate::settings::allowed;
use crate::shared::error::Check;
use crate::shared::ramp::TickRate;
use crate::shared::units::{Demand, Span};

/// The demand's largest rates of change.
///
/// The demand moves toward the curve's value by at most `rise / tick rate` away from neutral and
/// `ease / tick rate` toward it, and never across neutral within a tick.
///
/// ```
/// use easeoff_core::*;
/// let mut tune = Settings::default();
/// tune.slew = SlewSettings { rise_per_s: 2.0, ease_per_s: 10.0 };
/// let controller = tune.prepare(TickRate::new(1_000).unwrap()).unwrap();
/// let mut state = State::default();
/// let throttle = |us: f32| Input { pulse: Microseconds::new(us), ..Input::default() };
/// controller.step_for(&mut state, &throttle(1_500.0), 600); // arms; the brake comes in
/// let full = throttle(2_000.0);
/// while controller.step(&mut state, &full).trace.brake_level > Strength::ZERO {} // lets go
/// let output = controller.step_for(&mut state, &full, 250);
/// assert!((output.trace.slewed.to_f32() - 0.5).abs() < 0.01);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
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
        // Cut toward neutral on both sides, so that both are alike.
        let size = Demand::from_bits(self.demand.to_bits().saturating_abs() >> 14);
        if self.demand < I2F30::ZERO { Demand::ZERO - size } else { size }
    }

    /// At a demand.
    pub(crate) fn of(demand: Demand) -> Self {
        Self { demand: I2F30::from_bits(demand.to_bits().saturating_mul(1 << 14)) }
    }

    /// The same size on the one side or the other.
    pub(crate) fn on_side(self, backward: bool) -> Self {
        let size = self.demand.saturating_abs();
        Self { demand: if backward { size.saturating_neg() } else { size } }
    }
}

impl SlewSettings {
    pub(crate) fn prepare(&self, rate: TickRate, check: &mut Check) -> Slew {
        let rise = check.range(allowed!("slew.rise_per_s"), self.rise_per_s);
        let ease = check.range(allowed!("slew.ease_per_s"), self.ease_per_s);
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

    /// How far a size that obeys these rates may be in this tick.
    pub(crate) fn reach(&self, state: SlewState) -> Span {
        Span {
            low: I16F16::from_bits(state.demand.saturating_sub(self.ease).to_bits() >> 14),
            high: I16F16::from_bits(state.demand.saturating_add(self.rise).to_bits() >> 14),
        }
    }

    /// Remembers a size within reach; at the ends of the reach with its fraction bits, which a slow
    /// rate at a high tick rate needs.
    pub(crate) fn reached(&self, state: &mut SlewState, size: I16F16) {
        let (up, down) =
            (state.demand.saturating_add(self.rise), state.demand.saturating_sub(self.ease));
        state.demand = if up.to_bits() >> 14 == size.to_bits() {
            up
        } else if down.to_bits() >> 14 == size.to_bits() {
            down
        } else {
            I2F30::from_bits(size.to_bits().saturating_mul(1 << 14))
        };
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
        let slew = slew(700.0, 10.0, 1_000);
        for (from, to) in [(Demand::HIGHEST, Demand::LOWEST), (Demand::LOWEST, Demand::HIGHEST)] {
            let mut state = SlewState::default();
            slew.step(&mut state, from);
            assert_eq!(slew.step(&mut state, from), from);
            // A tenth of a second at the easing rate, to neutral; then two ticks at the rising rate,
            // and one for what rounding left.
            let way = (0..200).map(|_| slew.step(&mut state, to)).collect::<std::vec::Vec<_>>();
            let neutral = way.iter().position(|demand| demand.is_neutral()).unwrap();
            assert!(neutral.abs_diff(99) <= 1, "at neutral in tick {neutral}");
            assert!(way.iter().take(neutral).all(|demand| (*demand > Demand::ZERO) == (from > to)));
            assert_eq!(way.get(neutral + 3), Some(&to));
        }
    }

    /// As the hold uses it: a size that always takes all it may.
    #[test]
    fn a_size_at_the_end_of_its_reach_takes_the_stated_time_at_every_rate() {
        for hz in [250_u16, 1_000, 8_000] {
            let slew = slew(0.11, 0.33, hz);
            let mut state = SlewState::default();
            for _ in 0..hz {
                let most = slew.reach(state).high;
                slew.reached(&mut state, most);
            }
            assert!((state.demand().to_f32() - 0.11).abs() < 1e-4, "{state:?} up at {hz} Hz");
            for _ in 0..hz / 5 {
                let least = slew.reach(state).low;
                slew.reached(&mut state, least);
            }
            assert!((state.demand().to_f32() - 0.044).abs() < 1e-4, "{state:?} down at {hz} Hz");
            // Between the ends it is where it was put.
            slew.reached(&mut state, I16F16::from_num(0.5));
            assert_eq!(state.demand(), Demand::from_bits(32_768));
        }
    }
}
