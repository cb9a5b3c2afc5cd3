//! What the monitor makes of the pulses, by itself.

use super::envelope::{Monitor, Side};
use super::{FINER, MonitorState, ONE};
use crate::shared::units::Microseconds;

impl Monitor {
    /// The pulse in force, by the rules of the tune.
    pub(super) fn listen(&self, state: &mut MonitorState, pulse: Option<Microseconds>) {
        let sample = pulse.map(Microseconds::to_bits);
        let plausible = sample.filter(|at| *at >= self.plausible.0 && *at <= self.plausible.1);
        let near = |other: i32, at: i32| at.saturating_sub(other).saturating_abs() <= self.jump;
        let good = plausible.filter(|at| {
            state.believed.is_none_or(|other| near(other, *at))
                || state.unconfirmed.is_some_and(|other| near(other, *at))
        });
        if let Some(at) = good {
            (state.believed, state.unconfirmed) = (Some(at), None);
            (state.silent_ticks, state.bad_in_a_row) = (0, 0);
            self.understand(state, at);
        } else {
            state.silent_ticks = state.silent_ticks.saturating_add(1);
            if sample.is_some() {
                state.unconfirmed = plausible;
                state.bad_in_a_row = state.bad_in_a_row.saturating_add(1);
            }
        }
        if state.silent_ticks > self.loss_ticks || state.bad_in_a_row > self.bridge {
            (state.believed, state.unconfirmed, state.armed) = (None, None, false);
            (state.asks_forward, state.asks_backward, state.neutral) = (0, 0, false);
        }
        state.neutral_ticks = if state.neutral { state.neutral_ticks.saturating_add(1) } else { 0 };
        if state.believed.is_some() && state.neutral_ticks >= self.arm_ticks {
            (state.armed, state.ever_armed, state.fault) = (true, true, false);
        }
        let eased = |may: i32| may.saturating_sub(self.ease_step).max(0);
        state.may_forward = eased(state.may_forward).max(state.asks_forward);
        state.may_backward = eased(state.may_backward).max(state.asks_backward);
        state.hand_brake = state.hand_brake.max(state.may_forward).max(state.may_backward);
    }

    pub(super) fn understand(&self, state: &mut MonitorState, at: i32) {
        let longer = at.saturating_sub(self.neutral);
        let beyond = |side: &Side| if side.longer { longer } else { longer.saturating_neg() };
        let (forward, backward) = (beyond(&self.forward), beyond(&self.backward));
        state.neutral =
            forward <= self.forward.neutral_within && backward <= self.backward.neutral_within;
        state.asks_forward = self.forward.most(forward);
        state.asks_backward = self.backward.most(backward);
    }
}

impl Side {
    /// The largest demand a pulse so far beyond neutral may mean.
    fn most(&self, beyond: i32) -> i32 {
        let travelled = i64::from(beyond.saturating_sub(self.dead).max(0));
        // 31 bits by 31 bits.
        let demand = travelled.wrapping_mul(self.per_us.into()) >> 16;
        i32::try_from(demand).unwrap_or(i32::MAX).min(ONE << FINER)
    }
}
