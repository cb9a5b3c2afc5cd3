//! Sixth stage, driving: duty from the demand, with or without a loop that holds the speed.
//!
//! ```text
//! open loop   duty = demand
//! with hold   duty = feed_forward demand + added
//!             added = PI(demand - speed / full_speed - droop added), |added| <= authority
//! ```
//!
//! `added` is the power the driver did not ask for. Its bound is the *authority*; the speed given
//! up for it is the *droop* (the governor's definition: relative speed change per relative power
//! change). The duty never points against the demand. The loop fades in when driving begins and
//! fades out when the speed is no longer known, so that neither is felt as a jolt.

use fixed::types::I16F16;

use crate::error::Check;
use crate::pi::{Pi, PiState};
use crate::ramp::{Phase, Ramp, TickRate};
use crate::units::{Demand, Duty, Factor, Speed, prepared};

/// The speed loop; [`crate::Settings::hold`] is `None` to drive open loop.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct HoldSettings {
    /// Wheel speed that full demand means \[rad/s\], 1 to 2000.
    pub full_speed_rad_s: f32,
    /// Duty per demand before the loop adds its part, 0 to 1.
    pub feed_forward: f32,
    /// Duty added per speed error, both relative to full, 0 to 20.
    pub gain: f32,
    /// Duty added per second and speed error \[1/s\], 0 to 100.
    pub gain_per_s: f32,
    /// Relative speed given up per added duty, 0 (holds exactly) to 2.
    pub droop: f32,
    /// The most duty the loop may add or take away, 0 to 1.
    pub authority: f32,
    /// Time over which the loop fades in and out \[ms\], 0 to 2000.
    pub fade_ms: f32,
}

impl Default for HoldSettings {
    /// Full authority, no droop, gain 2 and 8 per second; 30 rad/s; fades in 200 ms.
    fn default() -> Self {
        Self {
            full_speed_rad_s: 30.0,
            feed_forward: 1.0,
            gain: 2.0,
            gain_per_s: 8.0,
            droop: 0.0,
            authority: 1.0,
            fade_ms: 200.0,
        }
    }
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Hold {
    per_speed: Factor,
    feed_forward: I16F16,
    pi: Pi,
    authority: I16F16,
    fade: Ramp,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct HoldState {
    pi: PiState,
    faded_in: Phase,
    added: I16F16,
}

/// The duty of one tick.
pub(crate) struct HoldOutput {
    pub(crate) duty: Duty,
    /// The part of it that the loop added, in the demand's direction positive.
    pub(crate) added: Duty,
    /// The loop is set but has no speed to work with.
    pub(crate) without_speed: bool,
    /// The loop wants more than its authority.
    pub(crate) at_authority: bool,
}

impl HoldSettings {
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    pub(crate) fn prepare(&self, rate: TickRate, check: &mut Check) -> Hold {
        let full = check.range("hold.full_speed_rad_s", self.full_speed_rad_s, 1.0..=2_000.0);
        let feed = check.range("hold.feed_forward", self.feed_forward, 0.0..=1.0);
        let gain = check.range("hold.gain", self.gain, 0.0..=20.0);
        let per_s = check.range("hold.gain_per_s", self.gain_per_s, 0.0..=100.0);
        let droop = check.range("hold.droop", self.droop, 0.0..=2.0);
        let authority = check.range("hold.authority", self.authority, 0.0..=1.0);
        let fade = check.range("hold.fade_ms", self.fade_ms, 0.0..=2_000.0);
        check.rule(
            "hold.gain_per_s",
            self.gain_per_s,
            gain > 0.0 || per_s > 0.0,
            "with both gains 0 there is no loop; leave the hold out instead",
        );
        Hold {
            per_speed: Factor::prepare(1.0 / full),
            feed_forward: prepared(feed),
            pi: Pi::prepare(gain, per_s, droop, rate),
            authority: prepared(authority),
            fade: Ramp::prepare(fade, rate),
        }
    }
}

/// Drives open loop: no hold is set.
pub(crate) fn open_loop(demand: Demand) -> HoldOutput {
    HoldOutput {
        duty: Duty::saturate(demand.raw()),
        added: Duty::ZERO,
        without_speed: false,
        at_authority: false,
    }
}

impl Hold {
    /// `driving` is false while a brake is still on or the rig coasts: the loop then starts afresh.
    pub(crate) fn step(
        &self,
        state: &mut HoldState,
        demand: Demand,
        speed: Option<Speed>,
        driving: bool,
    ) -> HoldOutput {
        // At neutral there is no direction to add power in, whichever way the wheels turn.
        if !driving || demand.is_neutral() {
            *state = HoldState::default();
            return open_loop(Demand::ZERO);
        }
        // Work on the demand's own side, so that one direction is written once.
        let backward = demand < Demand::ZERO;
        let size = demand.raw().saturating_abs();
        let open = size.saturating_mul(self.feed_forward);
        let mut at_authority = false;
        if let Some(speed) = speed {
            state.faded_in = self.fade.forward(state.faded_in);
            let relative = self.per_speed.of(speed.raw());
            let relative = if backward { I16F16::ZERO.saturating_sub(relative) } else { relative };
            let bound = self.authority.saturating_mul(state.faded_in.share().raw());
            let low = I16F16::ZERO.saturating_sub(bound.min(open));
            let high = bound.min(I16F16::ONE.saturating_sub(open));
            let error = size.saturating_sub(relative);
            state.added = self.pi.step(&mut state.pi, error, low, high);
            at_authority =
                state.faded_in == Phase::END && state.added >= high && error > I16F16::ZERO;
        } else {
            state.faded_in = self.fade.back(state.faded_in);
            let bound = self.authority.saturating_mul(state.faded_in.share().raw());
            state.added = state.added.min(bound).max(I16F16::ZERO.saturating_sub(bound.min(open)));
            state.pi = PiState::default();
        }
        let total = Duty::saturate(open.saturating_add(state.added).max(I16F16::ZERO));
        HoldOutput {
            duty: if backward { Duty::ZERO - total } else { total },
            added: Duty::saturate(state.added),
            without_speed: speed.is_none(),
            at_authority,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hold(settings: HoldSettings) -> Hold {
        let mut check = Check::new();
        let hold = settings.prepare(TickRate::new(1_000).unwrap(), &mut check);
        check.finish(hold).unwrap()
    }

    fn settle(hold: &Hold, demand: f32, relative_speed: f32, ticks: u32) -> HoldOutput {
        let mut state = HoldState::default();
        let speed = Speed::new(relative_speed * 30.0);
        let demand = Demand::new(demand).unwrap();
        let mut output = open_loop(Demand::ZERO);
        for _ in 0..ticks {
            output = hold.step(&mut state, demand, speed, true);
        }
        output
    }

    /// Two worked examples of governor droop (https://dkr.kr/Brain/droop.html, 1 and 2): a generator of
    /// 180 MW with 6 % droop at 60 Hz falls to 165 MW at 60.3 Hz; one of 240 MW set to 180 MW
    /// falls to 160 MW. Relative speed is the frequency, relative power the duty. With pure
    /// integral action the loop settles where error = droop * added.
    #[test]
    fn droop_is_the_governors_droop() {
        let settings = HoldSettings {
            gain: 0.0,
            gain_per_s: 20.0,
            droop: 0.06,
            fade_ms: 0.0,
            ..HoldSettings::default()
        };
        let hold = hold(settings);
        // One unit of the error's 16 fraction bits is 1.5e-5 / 0.06 of rated power here; two of
        // them may be lost in rounding.
        let tolerance = 2.0 / 65_536.0 / 0.06;
        let first = settle(&hold, 1.0, 60.3 / 60.0, 30_000);
        assert!(
            (first.duty.to_f32() * 180.0 - 165.0).abs() < 180.0 * tolerance,
            "{}",
            first.duty.to_f32()
        );
        let second = settle(&hold, 1.0, 60.3 / 60.0, 30_000).added.to_f32();
        assert!((180.0 + second * 240.0 - 160.0).abs() < 240.0 * tolerance, "{second}");
    }

    #[test]
    fn never_beyond_authority_and_never_against_the_demand() {
        let settings = HoldSettings { authority: 0.2, fade_ms: 0.0, ..HoldSettings::default() };
        let hold = hold(settings);
        let bogged = settle(&hold, 0.3, 0.0, 5_000);
        assert!((bogged.duty.to_f32() - 0.5).abs() < 1e-4);
        assert!(bogged.at_authority);
        let overrun = settle(&hold, 0.1, 1.0, 5_000);
        assert_eq!(overrun.duty, Duty::ZERO);
        let backward = settle(&hold, -0.3, 0.0, 5_000);
        assert!((backward.duty.to_f32() + 0.5).abs() < 1e-4);
    }

    #[test]
    fn fades_in_from_nothing_and_out_without_a_jump() {
        let hold = hold(HoldSettings { fade_ms: 100.0, ..HoldSettings::default() });
        let mut state = HoldState::default();
        let demand = Demand::new(0.3).unwrap();
        let mut before = demand.to_f32();
        for tick in 0..400 {
            let speed = if tick < 200 { Speed::new(3.0) } else { None };
            let duty = hold.step(&mut state, demand, speed, true).duty.to_f32();
            assert!((duty - before).abs() <= 0.0101, "tick {tick}: {before} to {duty}");
            before = duty;
        }
        assert!((before - 0.3).abs() < 1e-4, "open loop in the end");
    }
}
