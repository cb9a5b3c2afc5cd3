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
mod tests {
    use super::*;
    use crate::shared::error::SettingsErrorKind;
    use crate::stages::slew::SlewSettings;

    fn hold(settings: HoldSettings) -> Hold {
        let mut check = Check::new();
        let rate = TickRate::new(1_000).unwrap();
        let slew = SlewSettings { rise_per_s: 1_000.0, ease_per_s: 1_000.0 };
        let slew = slew.prepare(rate, &mut check);
        let hold = settings.prepare(rate, slew, &mut check);
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
            ..HoldSettings::new(30.0)
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
        let settings = HoldSettings { authority: 0.2, fade_ms: 0.0, ..HoldSettings::new(30.0) };
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
        let hold = hold(HoldSettings { fade_ms: 100.0, ..HoldSettings::new(30.0) });
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

    #[test]
    fn a_loop_that_can_do_nothing_is_refused() {
        let refused = |gain, gain_per_s, droop, authority| {
            let settings =
                HoldSettings { gain, gain_per_s, droop, authority, ..HoldSettings::new(30.0) };
            let (mut check, rate) = (Check::new(), TickRate::new(1_000).unwrap());
            let slew = SlewSettings::default().prepare(rate, &mut check);
            let hold = settings.prepare(rate, slew, &mut check);
            check.finish(hold).err().map(|errors| errors[0].parameter)
        };
        assert_eq!(refused(0.0, 0.0, 0.1, 1.0), Some("hold.gain_per_s"));
        assert_eq!(refused(1.0, 1.0, 0.0, 0.0), Some("hold.authority"));
        for (gain, gain_per_s, droop, authority) in
            [(1.0, 0.0, 0.1, 1.0), (0.0, 1.0, 0.1, 1.0), (1.0, 1.0, 0.0, 1.0), (1.0, 1.0, 0.1, 0.0)]
        {
            assert_eq!(refused(gain, gain_per_s, droop, authority), None);
        }
    }

    /// A loop for 30 rad/s on a drive that reaches 60 halves its speed; on one that reaches 15 it adds all it may. So
    /// no number is put in for one that was forgotten.
    #[test]
    fn a_full_speed_that_was_not_set_is_refused_with_what_to_do() {
        let prepared = |settings: HoldSettings| {
            let (mut check, rate) = (Check::new(), TickRate::new(1_000).unwrap());
            let slew = SlewSettings::default().prepare(rate, &mut check);
            let hold = settings.prepare(rate, slew, &mut check);
            check.finish(hold).err()
        };
        for value in [0.0, -0.0] {
            let errors = prepared(HoldSettings::new(value)).unwrap();
            assert_eq!((errors.len(), errors[0].parameter), (1, "hold.full_speed_rad_s"));
            assert!(matches!(errors[0].kind, SettingsErrorKind::Contradicts { rule, .. }
                if rule.starts_with("that is not set: give the wheel speed")));
        }
        assert_eq!(HoldSettings::default(), HoldSettings::new(0.0));
        assert_eq!(prepared(HoldSettings::new(1.0)), None);
    }

    #[test]
    fn twice_the_full_speed_is_believed_and_more_is_not() {
        let hold = hold(HoldSettings::new(30.0));
        for (relative, without) in [(1.1, false), (2.0, false), (-2.0, false), (2.001, true)] {
            assert_eq!(settle(&hold, 0.5, relative, 1).without_speed, without, "{relative}");
        }
    }

    /// The loop may help again at the very speed asked for, and only then says that it is not at
    /// its authority; before it is faded in it never says so.
    #[test]
    fn the_speed_asked_for_is_no_fight() {
        let hold = hold(HoldSettings {
            authority: 0.2,
            give_way: Some(GiveWaySettings::default()),
            ..HoldSettings::new(30.0)
        });
        let (mut state, demand) = (HoldState::default(), Demand::new(0.5).unwrap());
        let mut step = |speed, ticks: u32| {
            let speed = Speed::new(speed);
            (0..ticks).map(|_| hold.step(&mut state, demand, speed, true)).last().unwrap()
        };
        assert!(!step(0.0, 190).at_authority, "still fading in");
        assert!(step(0.0, 20).at_authority);
        assert!(step(0.0, 1_000).bogged);
        assert!(!step(15.0, 1).bogged);
        // The integral alone may stay at the bound when the error has gone: here it grows by 1/128
        // per tick and meets the bound exactly.
        let hold = self::hold(HoldSettings {
            gain: 0.0,
            gain_per_s: 1_000.0 / 64.0,
            authority: 0.25,
            fade_ms: 0.0,
            ..HoldSettings::new(30.0)
        });
        assert!(settle(&hold, 0.5, 0.0, 500).at_authority);
        let mut state = HoldState::default();
        for _ in 0..500 {
            hold.step(&mut state, demand, Some(Speed::ZERO), true);
        }
        let reached = hold.step(&mut state, demand, Speed::new(15.0), true);
        assert_eq!(reached.added.to_f32(), 0.25);
        assert!(!reached.at_authority);
    }
}
