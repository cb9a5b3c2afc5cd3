//! The monitor's envelope, derived from a tune.

use fixed::types::{I8F24, I16F16};

use super::{ONE, ROUNDING};
use crate::settings::Settings;
use crate::shared::error::Check;
use crate::shared::ramp::TickRate;
use crate::shared::units::Demand;
use crate::stages::curve::{Curve, CurveSettings};
use crate::stages::drag::DragLaw;
use crate::stages::hold::HoldSettings;
use crate::stages::mode::ReversePolicy;
use crate::stages::safe_state::SafeState;

/// The envelope of one tune. Made by [`Monitor::of`], constant while running.
///
/// It can watch any controller that takes the same input and obeys the same tune:
///
/// ```
/// use easeoff_core::*;
/// let rate = TickRate::new(1_000).unwrap();
/// let monitor = Monitor::of(&Settings::default(), rate);
/// let mut state = MonitorState::default();
/// let input = Input { pulse: Microseconds::new(1_500.0), ..Input::default() };
/// let wrong = Command::Drive { duty: Duty::HIGHEST };
/// let verdict = monitor.step(&mut state, &input, wrong);
/// assert_eq!((verdict.command, verdict.breach), (Command::Coast, Some(Breach::Unarmed)));
/// ```
#[derive(Clone, Copy, Debug)]
pub struct Monitor {
    pub(super) plausible: (i32, i32),
    pub(super) jump: i32,
    pub(super) bridge: u8,
    pub(super) loss_ticks: u32,
    pub(super) arm_ticks: u32,
    pub(super) neutral: i32,
    pub(super) forward: Side,
    pub(super) backward: Side,
    pub(super) ease_step: i32,
    pub(super) rise_step: i32,
    pub(super) hold: Option<(i32, i32)>,
    pub(super) rest_authority: i32,
    pub(super) reverse: i32,
    pub(super) policy: ReversePolicy,
    pub(super) rest_speed: i32,
    pub(super) pause_ticks: u32,
    pub(super) safe_state: SafeState,
    pub(super) brake: i32,
    pub(super) least_volt: i32,
    pub(super) hottest: i32,
    pub(super) drive_amp: i32,
    pub(super) brake_amp: i32,
    pub(super) second_ticks: u32,
}

/// One side of the throttle.
#[derive(Clone, Copy, Debug)]
pub(super) struct Side {
    /// The longer pulses are on this side.
    pub(super) longer: bool,
    /// Distance from neutral that may still be neutral \[raw us\].
    pub(super) neutral_within: i32,
    /// Largest demand per distance beyond the dead band \[2^-24 per us\].
    pub(super) per_us: i32,
    pub(super) dead: i32,
}

/// A number of the tune in 1/65,536, rounded to nearest; what does not fit is the largest.
#[inline(never)]
fn raw(value: f32) -> i32 {
    I16F16::checked_from_num(value).map_or(i32::MAX, I16F16::to_bits)
}

/// As [`raw`], with the finer fraction of what easing may hold.
#[inline(never)]
fn fine(value: f32) -> i32 {
    I8F24::checked_from_num(value).map_or(i32::MAX, I8F24::to_bits)
}

impl Monitor {
    /// The envelope of `tune`, which [`Settings::prepare`] has accepted.
    #[expect(clippy::float_arithmetic, reason = "prepares the envelope; step() compares integers")]
    pub fn of(tune: &Settings, rate: TickRate) -> Self {
        let throttle = &tune.calibration;
        let curve = tune.curve.prepare(&mut Check::new());
        let side = |longer: bool| {
            let end = if longer { throttle.high_us } else { throttle.low_us };
            let dead = throttle.dead_band_us;
            let travel = ((end - throttle.neutral_us).abs() - dead).max(1.0);
            // A sixteenth more for rounding.
            let within = dead + largest_neutral(&curve) * travel;
            Side {
                longer,
                neutral_within: raw(within + 1.0 / 16.0),
                per_us: fine(steepest(&tune.curve) / travel).saturating_add(1),
                dead: raw(dead - 1.0 / 16.0),
            }
        };
        let limits = &tune.limits;
        let cells = f32::from(limits.cells);
        let span = limits.derate_from_v - limits.derate_to_v;
        let current = |limit: Option<f32>| limit.map_or(i32::MAX, |amps| raw(1.5 * amps));
        let never = tune.mode.reverse == ReversePolicy::Never;
        Self {
            plausible: (raw(tune.pulse.plausible_low_us), raw(tune.pulse.plausible_high_us)),
            jump: raw(tune.pulse.jump_us),
            bridge: tune.pulse.tolerate,
            loss_ticks: rate.ticks(tune.pulse.loss_after_ms).max(1),
            arm_ticks: rate.ticks(tune.mode.arm_ms).saturating_sub(1),
            neutral: raw(throttle.neutral_us),
            forward: side(!throttle.reversed),
            backward: side(throttle.reversed),
            ease_step: fine(0.99 * rate.per_tick(tune.slew.ease_per_s)),
            rise_step: raw(rate.per_tick(tune.slew.rise_per_s)).saturating_add(ROUNDING),
            hold: tune.hold.map(|HoldSettings { feed_forward, authority, .. }| {
                ((raw(feed_forward) >> 1).saturating_add(1), raw(authority).saturating_add(4))
            }),
            rest_authority: tune.rest.map_or(0, |rest| raw(rest.authority)),
            reverse: if never { 0 } else { raw(limits.reverse) },
            policy: tune.mode.reverse,
            rest_speed: raw(tune.mode.rest_rad_s).saturating_add(1),
            pause_ticks: rate.ticks(tune.mode.pause_ms).saturating_sub(1),
            safe_state: tune.safe_state,
            brake: match tune.drag.law {
                DragLaw::Duty => raw(tune.drag.strength),
                DragLaw::Current { .. } => ONE,
            },
            least_volt: raw((limits.derate_to_v - 0.01 * span) * cells),
            hottest: raw(limits.derate_to_c + 0.5),
            drive_amp: current(limits.drive_a),
            brake_amp: current(limits.brake_a),
            second_ticks: u32::from(rate.hz()),
        }
    }
}

/// The largest demand that the curve still makes neutral.
#[expect(clippy::float_arithmetic, reason = "prepares the envelope")]
fn largest_neutral(curve: &Curve) -> f32 {
    let (mut neutral, mut driven) = (0_i32, 1_i32 << 16);
    while driven.saturating_sub(neutral) > 1 {
        let middle = neutral.saturating_add(driven) >> 1;
        if curve.step(Demand::from_bits(middle)).is_neutral() {
            neutral = middle;
        } else {
            driven = middle;
        }
    }
    Demand::from_bits(driven).to_f32() * 1.001
}

/// The largest `f(x) / x` of the curve, at least 1: a line between knots is steepest at one of them.
#[expect(clippy::float_arithmetic, reason = "prepares the envelope")]
fn steepest(curve: &CurveSettings) -> f32 {
    let CurveSettings::Knots(knots) = curve else { return 1.0 };
    knots.points().iter().fold(1.0, |most, [travel, demand]| most.max(demand / travel))
}
