//! Beside the drag brake, optional: holding the rig where it came to rest.
//!
//! A shorted motor brakes with its own back-EMF, so on a slope it always creeps. Where the wheels'
//! speed is measured, a little duty can hold the place instead:
//!
//! ```text
//! x[n] = x[n-1] + w T,   duty = -(gain x + damping w),   |duty| <= authority,  |gain x| <= authority
//! ```
//!
//! This drives the motor with the throttle at neutral. It is off unless set. It begins once the
//! brake is fully in and the wheels are slow, lets go when they are pulled away faster than twice
//! that speed, and draws current for as long as it holds: heat and pack limits apply. It is no
//! parking brake.
//!
//! Source: a proportional and derivative law on the wheels' place, textbook form.

use fixed::types::I16F16;

use crate::settings::allowed;
use crate::shared::error::Check;
use crate::shared::ramp::TickRate;
use crate::shared::units::{Duty, Factor, Speed, prepared, product};

/// Holding still at neutral; [`crate::Settings::rest`] is `None` to creep as a shorted motor does.
///
/// ```
/// use easeoff_core::*;
/// let mut tune = Settings::default();
/// tune.rest = Some(RestSettings::default());
/// let controller = tune.prepare(TickRate::new(1_000).unwrap()).unwrap();
/// let mut state = State::default();
/// let throttle = |us: f32| Input { pulse: Microseconds::new(us), ..Input::default() };
/// let creep = Input { speed: Speed::new(0.1), ..throttle(1_500.0) };
/// let output = controller.step_for(&mut state, &creep, 1_000); // arms, brakes, holds
/// assert!(output.command.duty() < Duty::ZERO);
/// assert!(output.trace.events.contains(Event::HoldingAtRest));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct RestSettings {
    /// Duty per roll of the wheels \[1/rad\], 0.01 to 20.
    pub gain_per_rad: f32,
    /// Duty per speed of the wheels \[s/rad\], 0 to 1.
    pub damping_s_per_rad: f32,
    /// The most duty it may use, 0.01 to 0.5.
    pub authority: f32,
    /// Wheels slower than this are held \[rad/s\], 0.05 to 5.
    pub below_rad_s: f32,
}

impl Default for RestSettings {
    /// A tenth of the duty at most, reached after a twentieth of a radian; below 0.5 rad/s.
    fn default() -> Self {
        Self { gain_per_rad: 2.0, damping_s_per_rad: 0.02, authority: 0.1, below_rad_s: 0.5 }
    }
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Rest {
    gain: I16F16,
    damping: I16F16,
    authority: I16F16,
    below: I16F16,
    tick_s: Factor,
    /// `authority / gain` \[rad\]: pulled further, the place to hold comes along.
    most_roll: i64,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct RestState {
    holding: bool,
    /// How far the wheels have rolled from their place \[rad\], 48 fraction bits.
    roll: i64,
}

impl RestState {
    /// True while a place is held; driving waits a tick for it to be let go.
    pub(crate) fn holding(self) -> bool {
        self.holding
    }
}

impl RestSettings {
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    pub(crate) fn prepare(&self, rate: TickRate, check: &mut Check) -> Rest {
        let gain = check.range(allowed!("rest.gain_per_rad"), self.gain_per_rad);
        let damping = check.range(allowed!("rest.damping_s_per_rad"), self.damping_s_per_rad);
        let authority = check.range(allowed!("rest.authority"), self.authority);
        let below = check.range(allowed!("rest.below_rad_s"), self.below_rad_s);
        Rest {
            gain: prepared(gain),
            damping: prepared(damping),
            authority: prepared(authority),
            below: prepared(below),
            tick_s: Factor::prepare(rate.per_tick(1.0)),
            most_roll: i64::from(prepared(authority / gain).to_bits()) << 32,
        }
    }
}

impl Rest {
    /// The duty that holds the place; `None` while there is nothing to hold. `braked` is true while
    /// the throttle is at neutral and the drag brake is fully in.
    pub(crate) fn step(
        &self,
        state: &mut RestState,
        braked: bool,
        speed: Option<Speed>,
    ) -> Option<Duty> {
        let below = if state.holding { self.below.saturating_mul_int(2) } else { self.below };
        let slow = speed.filter(|speed| braked && speed.raw().saturating_abs() <= below);
        let Some(speed) = slow else {
            *state = RestState::default();
            return None;
        };
        state.holding = true;
        state.roll = state
            .roll
            .saturating_add(self.tick_s.of_exact(speed.raw()))
            .max(self.most_roll.saturating_neg())
            .min(self.most_roll);
        let roll = I16F16::from_bits(i32::try_from(state.roll >> 32).unwrap_or_default());
        let pulled = product(self.gain, roll);
        let moving = product(self.damping, speed.raw());
        let duty = I16F16::ZERO.saturating_sub(pulled.saturating_add(moving));
        let least = I16F16::ZERO.saturating_sub(self.authority);
        Some(Duty::saturate(duty.max(least).min(self.authority)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rest(hz: u16) -> Rest {
        RestSettings::default().prepare(TickRate::new(hz).unwrap(), &mut Check::new())
    }

    /// A wheel that creeps at 0.2 rad/s per duty missing: it must come to stand.
    #[test]
    fn holds_against_a_slope_at_every_rate() {
        for hz in [250_u16, 1_000, 8_000] {
            let (rest, mut state) = (rest(hz), RestState::default());
            let (slope, mut speed, mut rolled) = (0.04_f32, 0.0_f32, 0.0_f32);
            for _ in 0..u32::from(hz) * 3 {
                let duty = rest.step(&mut state, true, Speed::new(speed)).unwrap().to_f32();
                // Motor and load as a lag of 50 ms: 30 rad/s per duty.
                speed += ((slope + duty) * 30.0 - speed) / (0.05 * f32::from(hz));
                rolled += speed / f32::from(hz);
            }
            assert!(speed.abs() < 0.01, "{speed} rad/s at {hz} Hz");
            // Steady: gain * roll = slope.
            assert!((rolled - 0.02).abs() < 1e-3, "{rolled} rad at {hz} Hz");
        }
    }

    #[test]
    fn never_more_than_its_authority_and_the_place_comes_along() {
        let (rest, mut state) = (rest(1_000), RestState::default());
        for _ in 0..5_000 {
            let duty = rest.step(&mut state, true, Speed::new(0.4)).unwrap();
            assert!(duty.to_f32() >= -0.1001 && duty < Duty::ZERO);
        }
        // Let go, it does not spring back the whole way: half a roll of authority / gain.
        let back = rest.step(&mut state, true, Speed::new(-0.5)).unwrap();
        assert!(back.to_f32() > -0.1, "{back:?}");
    }

    #[test]
    fn lets_go_without_brake_speed_or_at_speed() {
        let rest = rest(1_000);
        for (braked, speed) in [(false, Some(0.1)), (true, None), (true, Some(0.6))] {
            let mut state = RestState::default();
            assert_eq!(rest.step(&mut state, braked, speed.and_then(Speed::new)), None);
        }
        let mut state = RestState::default();
        assert!(rest.step(&mut state, true, Speed::new(0.5)).is_some());
        assert!(rest.step(&mut state, true, Speed::new(0.9)).is_some());
        assert!(rest.step(&mut state, true, Speed::new(-1.1)).is_none());
        assert_eq!(state, RestState::default());
    }
}
