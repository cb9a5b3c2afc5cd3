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
//! change). The duty never points against the demand and changes no faster than the slew lets the
//! demand. The loop fades in when driving begins and fades out when the speed is no longer known, so
//! that neither is felt as a jolt. A speed beyond twice `full_speed_rad_s` is not believed. Under a lasting
//! load the loop may give way, see `give_way.rs`.
//!
//! Source: droop as governors define it; the rest as in `pi.rs`.

mod take_over;

use fixed::types::I16F16;

use crate::settings::allowed;
use crate::shared::error::Check;
use crate::shared::pi::{Pi, PiState};
use crate::shared::ramp::{Phase, Ramp, TickRate};
use crate::shared::units::{Demand, Duty, Factor, Span, Speed, Strength, part, prepared};
use crate::stages::give_way::{GiveWay, GiveWaySettings, GiveWayState};
use crate::stages::slew::{Slew, SlewState};

/// The speed loop; [`crate::Settings::hold`] is `None` to drive open loop.
///
/// ```text
/// duty  = feed_forward demand + added
/// added = PI(demand - speed / full_speed - droop added), |added| <= authority
/// ```
///
/// ```
/// use easeoff_core::*;
/// let mut tune = Settings::default();
/// tune.hold = Some(HoldSettings { authority: 0.2, ..HoldSettings::new(30.0) });
/// let controller = tune.prepare(TickRate::new(1_000).unwrap()).unwrap();
/// let mut state = State::default();
/// let throttle = |us: f32| Input { pulse: Microseconds::new(us), ..Input::default() };
/// controller.step_for(&mut state, &throttle(1_500.0), 600);
/// let stuck = Input { speed: Some(Speed::ZERO), ..throttle(1_760.0) }; // demand 0.5, wheels held
/// let output = controller.step_for(&mut state, &stuck, 3_000);
/// assert!((output.command.duty().to_f32() - 0.7).abs() < 0.001);
/// assert!(output.trace.events.contains(Event::HoldAtAuthority));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct HoldSettings {
    /// Wheel speed that full demand means \[rad/s\], 1 to 2000: that of this drive, about
    /// `full pack voltage / (K G)`. No number fits every drive, so there is no default: 0, not set, is refused.
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
    /// Giving way to a lasting load; `None`: never.
    pub give_way: Option<GiveWaySettings>,
}

/// Of [`HoldSettings::full_speed_rad_s`]: not set.
const NOT_SET: f32 = 0.0;

impl HoldSettings {
    /// The usual loop for a drive with this wheel speed at full demand \[rad/s\].
    pub fn new(full_speed_rad_s: f32) -> Self {
        Self { full_speed_rad_s, ..Self::default() }
    }
}

impl Default for HoldSettings {
    /// Full authority, no droop, gain 2 and 8 per second; fades in 200 ms; never gives way. The full speed is not
    /// set: too low a one takes power away, too high a one adds all that the authority allows, so it is never guessed.
    fn default() -> Self {
        Self {
            full_speed_rad_s: NOT_SET,
            feed_forward: 1.0,
            gain: 2.0,
            gain_per_s: 8.0,
            droop: 0.0,
            authority: 1.0,
            fade_ms: 200.0,
            give_way: None,
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
    give_way: Option<GiveWay>,
    /// Twice the full speed; faster is not believed.
    fastest: I16F16,
    slew: Slew,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct HoldState {
    pi: PiState,
    faded_in: Phase,
    give_way: GiveWayState,
    /// The speed was missing in the tick before.
    blind: bool,
    added: I16F16,
    /// The duty, in the demand's direction positive, which obeys the slew as the demand does.
    total: SlewState,
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
    /// The loop has given way to a load.
    pub(crate) bogged: bool,
}

impl HoldSettings {
    /// The full speed, or any in range after one that is refused.
    fn full_speed(&self, check: &mut Check) -> f32 {
        let (allowed, value) = (allowed!("hold.full_speed_rad_s"), self.full_speed_rad_s);
        if value != NOT_SET {
            return check.range(allowed, value);
        }
        check.rule(
            "hold.full_speed_rad_s",
            value,
            false,
            "that is not set: give the wheel speed of full throttle in rad/s, 1 to 2000, about full pack voltage \
             times motor.kv_rpm_per_v / (9.55 motor.gear_ratio)",
        );
        let [least, _] = allowed.range;
        least
    }

    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    pub(crate) fn prepare(&self, rate: TickRate, slew: Slew, check: &mut Check) -> Hold {
        let full = self.full_speed(check);
        let feed = check.range(allowed!("hold.feed_forward"), self.feed_forward);
        let gain = check.range(allowed!("hold.gain"), self.gain);
        let per_s = check.range(allowed!("hold.gain_per_s"), self.gain_per_s);
        let droop = check.range(allowed!("hold.droop"), self.droop);
        let authority = check.range(allowed!("hold.authority"), self.authority);
        let fade = check.range(allowed!("hold.fade_ms"), self.fade_ms);
        check.rule(
            "hold.gain_per_s",
            self.gain_per_s,
            gain > 0.0 || per_s > 0.0,
            "with both gains 0 there is no loop; leave the hold out instead",
        );
        check.rule(
            "hold.authority",
            self.authority,
            authority > 0.0 || droop > 0.0,
            "with droop 0 as well the loop may do nothing; leave the hold out instead",
        );
        Hold {
            per_speed: Factor::prepare(1.0 / full),
            feed_forward: prepared(feed),
            pi: Pi::prepare(gain, per_s, droop, rate),
            authority: prepared(authority),
            fade: Ramp::prepare(fade, rate),
            give_way: self.give_way.map(|give_way| give_way.prepare(rate, check)),
            fastest: prepared(2.0 * full),
            slew,
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
        bogged: false,
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
        let open = part(size, self.feed_forward);
        let total = self.slew.reach(state.total);
        let reach =
            Span { low: total.low.saturating_sub(open), high: total.high.saturating_sub(open) };
        let speed = speed.filter(|speed| speed.raw().saturating_abs() <= self.fastest);
        let mut at_authority = false;
        if let Some(speed) = speed {
            let relative = self.per_speed.of(speed.raw());
            let relative = if backward { I16F16::ZERO.saturating_sub(relative) } else { relative };
            let error = size.saturating_sub(relative);
            if core::mem::take(&mut state.blind) {
                // Faded out in full it begins as at first, otherwise it goes on where it is.
                state.pi = PiState::default();
                if state.faded_in > Phase::START {
                    self.pi.resume(&mut state.pi, error, state.added);
                }
            }
            state.faded_in = self.fade.forward(state.faded_in);
            let bound = part(self.authority, state.faded_in.share().raw());
            let most = self.authority.min(I16F16::ONE.saturating_sub(open));
            let slow = error > I16F16::ZERO;
            let left = self.left(&mut state.give_way, state.added, most, slow);
            let limits = Span {
                low: I16F16::ZERO.saturating_sub(bound.min(open)),
                high: part(bound, left.raw()).min(I16F16::ONE.saturating_sub(open)),
            };
            state.added = self.pi.step(&mut state.pi, error, limits, reach);
            at_authority =
                state.faded_in == Phase::END && state.added >= limits.high && error > I16F16::ZERO;
        } else {
            state.faded_in = self.fade.back(state.faded_in);
            let bound = part(self.authority, state.faded_in.share().raw());
            let left = bound.min(I16F16::ONE.saturating_sub(open));
            let faded = state.added.min(left).max(I16F16::ZERO.saturating_sub(bound.min(open)));
            state.added = reach.hold(faded);
            state.blind = true;
        }
        // Both parts are in range; their sum is too, but for rounding.
        let total = open.saturating_add(state.added).max(I16F16::ZERO).min(I16F16::ONE);
        self.slew.reached(&mut state.total, total);
        let total = Duty::saturate(total);
        HoldOutput {
            duty: if backward { Duty::ZERO - total } else { total },
            added: Duty::saturate(state.added),
            without_speed: speed.is_none(),
            at_authority,
            bogged: state.give_way.bogged(),
        }
    }

    fn left(&self, state: &mut GiveWayState, added: I16F16, most: I16F16, slow: bool) -> Strength {
        match &self.give_way {
            Some(give_way) => give_way.step(state, added, most, slow),
            None => Strength::FULL,
        }
    }
}

#[cfg(test)]
mod tests;
