//! Beside the slew: how abruptly the throttle was eased, for a brake that follows it.
//!
//! A lag of 100 ms runs behind the size of the demand. What is left of it in the tick in which the
//! demand reaches neutral is the abruptness: 1 after full throttle was snapped shut, `0.1 r` after
//! it was eased at `r` per second (for easing slower than the lag).
//!
//! ```text
//! lag[n] = lag[n-1] + (|demand| - lag[n-1]) T / (0.1 s + T)
//! ```
//!
//! Source: a first-order lag, textbook form; its use is our own.

use fixed::types::I16F16;

use crate::shared::ramp::TickRate;
use crate::shared::units::{Demand, Factor, Strength};

/// Long enough for a hand's easing over several frames, short enough to forget what came before.
const LAG_S: f32 = 0.1;

#[derive(Clone, Copy, Debug)]
pub(crate) struct Ease {
    per_tick: Factor,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct EaseState {
    /// With 48 fraction bits: at 8 kHz the steps of a slow lag are far below the 16th.
    lag: i64,
    neutral: bool,
    abruptness: Strength,
}

impl EaseState {
    /// After another tune, to which the throttle now means this `demand`: a throttle that it takes for let
    /// go was not snapped shut.
    pub(crate) fn go_on(&mut self, demand: Demand) {
        if demand.is_neutral() && !self.neutral {
            *self = Self { neutral: true, ..Self::default() };
        }
    }
}

impl Ease {
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    pub(crate) fn prepare(rate: TickRate) -> Self {
        let tick_s = rate.per_tick(1.0);
        Self { per_tick: Factor::prepare(tick_s / (LAG_S + tick_s)) }
    }

    /// The abruptness of the last easing off since there was a signal.
    pub(crate) fn step(&self, state: &mut EaseState, demand: Demand) -> Strength {
        let lag = I16F16::from_bits(i32::try_from(state.lag >> 32).unwrap_or_default());
        if demand.is_neutral() && !state.neutral {
            state.abruptness = Strength::saturate(lag);
        }
        state.neutral = demand.is_neutral();
        let ahead = demand.raw().saturating_abs().saturating_sub(lag);
        // It stays between 0 and 1, with 48 fraction bits.
        state.lag = state.lag.wrapping_add(self.per_tick.of_exact(ahead));
        state.abruptness
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Full throttle for a second, then straight down in `seconds`.
    fn abruptness(seconds: f32, hz: u16) -> f32 {
        let ease = Ease::prepare(TickRate::new(hz).unwrap());
        let mut state = EaseState::default();
        for _ in 0..hz {
            ease.step(&mut state, Demand::HIGHEST);
        }
        let mut demand = 1.0_f32;
        loop {
            demand = (demand - 1.0 / (seconds * f32::from(hz))).max(0.0);
            let abrupt = ease.step(&mut state, Demand::new(demand).unwrap());
            if demand == 0.0 {
                return abrupt.to_f32();
            }
        }
    }

    #[test]
    fn a_snap_is_abrupt_and_slow_easing_is_not_at_every_rate() {
        for hz in [250, 1_000, 8_000] {
            assert!(abruptness(0.000_1, hz) > 0.999);
            for seconds in [0.1_f32, 0.4, 2.0] {
                // A first-order lag of 0.1 s behind a straight descent.
                let exact = 0.1 / seconds * (1.0 - (-seconds / 0.1).exp());
                let ours = abruptness(seconds, hz);
                // One tick of the descent is the resolution of the moment.
                let tick = 1.0 / (seconds * f32::from(hz));
                assert!((ours - exact).abs() < tick + 1e-3, "{hz} Hz: {ours}, {exact}");
            }
        }
    }

    /// `1 - (1 - T / (0.1 s + T))^5` after five ticks of full throttle, and for as long as it rests.
    #[test]
    fn the_lag_is_the_formula_and_its_rest_stays_until_the_next_easing() {
        let ease = Ease::prepare(TickRate::new(100).unwrap());
        let mut state = EaseState::default();
        for _ in 0..5 {
            assert_eq!(ease.step(&mut state, Demand::HIGHEST), Strength::ZERO);
        }
        for _ in 0..200 {
            let abruptness = ease.step(&mut state, Demand::ZERO).to_f32();
            assert!((abruptness - (1.0 - (10.0_f32 / 11.0).powi(5))).abs() < 1e-4, "{abruptness}");
        }
    }
}
