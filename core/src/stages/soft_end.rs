//! Beside the drag brake, optional: a stop that ends as softly as the brake came in.
//!
//! Friction and a short brake with all they have until the wheels stand, and then with nothing: the last nod of a
//! stop. Below the wheel speed `w_soft` the brake's level therefore falls with the root of the speed:
//!
//! ```text
//! level' = level sqrt(w / w_soft),   w < w_soft
//! ```
//!
//! By the current law that is a stop at constant jerk. A rigid rig that braked with the deceleration `a0` at the
//! speed `v_s` that belongs to `w_soft` goes on with
//!
//! ```text
//! a(v) = a0 sqrt(v / v_s)      jerk         J = a0^2 / (2 v_s)
//!                              time          2 v_s / a0          (without it    v_s / a0)
//!                              distance      2 v_s^2 / (3 a0)    (without it    v_s^2 / (2 a0))
//! ```
//!
//! and so runs on farther by `v_s^2 / (6 a0)`. By the duty law a short's current falls with the speed anyway, and
//! falls now with its power of 3/2: a softer end, and a longer one.
//!
//! On a slope the lower level may be too little to stand. Where, the onset being over, the speed has not fallen by a
//! sixteenth of `w_soft` within 200 ms, the level rises to what it would be without this, along the shape and in the
//! time of the onset, and stays there until the brake lets go. So the full brake is on at the latest 3.4 s and an
//! onset after the brake has come in and the wheels are below `w_soft`, on every slope, and so it is at rest.
//!
//! It needs a speed. Without one it does nothing and says so ([`crate::Event::SoftEndWithoutSpeed`]). A driver who
//! brakes by hand has the whole brake to the end.
//!
//! Source: algebra of a stop at constant jerk.

use fixed::types::I16F16;

use crate::settings::allowed;
use crate::shared::error::Check;
use crate::shared::ramp::{Phase, Ramp, TickRate};
use crate::shared::units::{Factor, Speed, Strength, part, prepared};
use crate::stages::shape::ShapeTable;

/// By this part of its speed a stop gets slower within [`WAIT_MS`], or it is none.
const LEAST_FALL: f32 = 1.0 / 16.0;
const WAIT_MS: f32 = 200.0;

/// What is left at rest, so that the current law ends in a short: the root of the last place.
const LEAST: I16F16 = I16F16::from_bits(1 << 8);

#[derive(Clone, Copy, Debug)]
pub(crate) struct SoftEnd {
    below: I16F16,
    per_below: Factor,
    least_fall: I16F16,
    wait_ticks: u16,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct SoftEndState {
    /// How far the level has risen again.
    risen: Phase,
    /// The speed from which the next fall counts.
    mark: I16F16,
    waited_ticks: u16,
}

impl Default for SoftEndState {
    /// Whatever speed comes first is a fall.
    fn default() -> Self {
        Self { risen: Phase::START, mark: I16F16::MAX, waited_ticks: 0 }
    }
}

impl SoftEndState {
    /// Goes on to the whole level.
    pub(crate) fn rise(&mut self, onset: Ramp) {
        self.risen = onset.forward(self.risen);
    }
}

impl SoftEnd {
    /// `None`: switched off.
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    pub(crate) fn prepare(below_rad_s: f32, rate: TickRate, check: &mut Check) -> Option<Self> {
        let path = "drag.soft_below_rad_s";
        let below = check.range(allowed!("drag.soft_below_rad_s"), below_rad_s);
        let off = below == 0.0;
        check.rule(path, below, off || below >= 1.0, "it must be 0, which is off, or at least 1");
        (!off).then(|| Self {
            below: prepared(below),
            per_below: Factor::prepare(1.0 / below),
            least_fall: prepared(below * LEAST_FALL),
            wait_ticks: u16::try_from(rate.ticks(WAIT_MS)).unwrap_or(u16::MAX),
        })
    }

    /// Looks at the speed of a brake that has come in and ends softly.
    pub(crate) fn step(&self, state: &mut SoftEndState, speed: Speed, onset: Ramp) {
        let speed = speed.raw().saturating_abs();
        if speed >= self.below || speed <= state.mark.saturating_sub(self.least_fall) {
            (state.mark, state.waited_ticks) = (speed.min(self.below), 0);
        } else {
            state.waited_ticks = state.waited_ticks.saturating_add(1);
        }
        // What has begun to rise goes on, whatever the speed does.
        if state.waited_ticks >= self.wait_ticks || state.risen > Phase::START {
            state.rise(onset);
        }
    }

    /// What is left of the level at a speed.
    #[inline(never)] // Where another tune takes over it is asked many times; once is enough in flash.
    pub(crate) fn share(&self, state: SoftEndState, speed: Speed, shape: &ShapeTable) -> Strength {
        let speed = speed.raw().saturating_abs();
        if speed >= self.below || state.risen == Phase::END {
            return Strength::FULL;
        }
        let root = root(self.per_below.of_exact(speed) >> 16).max(LEAST);
        if state.risen == Phase::START {
            return Strength::saturate(root);
        }
        let rest = I16F16::ONE.saturating_sub(root);
        Strength::saturate(root.saturating_add(part(rest, shape.at(state.risen).raw())))
    }
}

/// The root, rounded down, of a share in 1/2^32; of what is no share, that of the nearest.
///
/// Bit by bit, as by hand: `isqrt` divides, which the smallest chips do in software. There it would cost the dearest
/// step 280 instructions more; a chip with a divider pays 80 for that (counted in QEMU on a Cortex-M0 and an M4F).
fn root(share: i64) -> I16F16 {
    // (2^16 r)^2 = 2^32 x.
    let mut rest = u32::try_from(share.max(0)).unwrap_or(u32::MAX);
    let (mut root, mut bit) = (0_u32, 1_u32 << 30);
    while bit != 0 {
        let next = root | bit;
        root >>= 1;
        if rest >= next {
            rest = rest.wrapping_sub(next);
            root |= bit;
        }
        bit >>= 2;
    }
    I16F16::from_bits(root.cast_signed())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stages::shape::Shape;

    fn soft(below: f32, hz: u16) -> (SoftEnd, Ramp) {
        let rate = TickRate::new(hz).unwrap();
        let mut check = Check::new();
        let soft = SoftEnd::prepare(below, rate, &mut check).unwrap();
        (check.finish(soft).unwrap(), Ramp::prepare(300.0, rate))
    }

    fn speed(value: f32) -> Speed {
        Speed::new(value).unwrap()
    }

    #[test]
    fn the_root_is_within_one_unit_of_the_last_place() {
        for bits in (0..=u32::MAX).step_by(65_521) {
            let exact = f64::from(bits).sqrt();
            let ours = f64::from(root(bits.into()).to_bits());
            assert!(exact - ours < 1.0 && ours <= exact, "{bits}: {ours}, {exact}");
        }
        assert_eq!(root(1 << 32).to_bits(), 65_535);
        assert_eq!(root(-1), I16F16::ZERO);
    }

    #[test]
    fn the_level_follows_the_root_of_the_speed_both_ways_round() {
        let (soft, _) = soft(25.0, 1_000);
        let shape = Shape::Linear.prepare();
        for (now, exact) in [(1.0, 0.2), (4.0, 0.4), (-9.0, 0.6), (16.0, 0.8), (0.0, 1.0 / 256.0)] {
            let share = soft.share(SoftEndState::default(), speed(now), &shape).to_f32();
            assert!((share - exact).abs() < 1e-3, "{now} rad/s: {share}");
        }
        for now in [25.0, -25.0, 1_000.0] {
            let share = soft.share(SoftEndState::default(), speed(now), &shape);
            assert_eq!(share, Strength::FULL, "{now} rad/s");
        }
    }

    /// A rigid rig, 300 rad/s^2 of full braking from 30 rad/s: `30^2 / (6 300)` = 0.5 rad farther, twice the time,
    /// and a jerk of `300^2 / 60` = 1,500 rad/s^3 all along.
    #[test]
    fn a_rigid_rig_stops_at_constant_jerk_in_the_closed_form_s_time_and_way() {
        let (soft, onset) = soft(30.0, 8_000);
        let shape = Shape::Linear.prepare();
        let mut state = SoftEndState::default();
        let (mut now, mut rolled, mut ticks, mut before) = (30.0_f64, 0.0, 0_u32, 300.0);
        while now > 0.3 {
            #[expect(clippy::as_conversions, reason = "a sensor rounds")]
            let measured = speed(now as f32);
            soft.step(&mut state, measured, onset);
            let level = f64::from(soft.share(state, measured, &shape).to_f32());
            let slows = 300.0 * level;
            // The first tick has no tick before it, and below a tenth rounding is a tenth of the change.
            if ticks > 1 && now > 3.0 {
                let jerk = (before - slows) * 8_000.0;
                assert!((jerk / 1_500.0 - 1.0).abs() < 0.1, "{jerk} at {now} rad/s");
            }
            before = slows;
            now -= slows / 8_000.0;
            rolled += now / 8_000.0;
            ticks += 1;
        }
        // From 0.3 rad/s, a hundredth, a tenth of the time and a thousandth of the way are left.
        let (due_s, due) = (2.0 * 30.0 / 300.0 * 0.9, 2.0 * 900.0 / 900.0 * 0.999);
        let took_s = f64::from(ticks) / 8_000.0;
        assert!((took_s / due_s - 1.0).abs() < 0.01, "{took_s} s, {due_s} s due");
        assert!((rolled / due - 1.0).abs() < 0.01, "{rolled} rad, {due} rad due");
    }

    #[test]
    fn where_the_speed_no_longer_falls_the_level_rises_to_the_whole_in_wait_and_onset() {
        for hz in [250_u16, 1_000, 8_000] {
            let (soft, onset) = soft(16.0, hz);
            let shape = Shape::Smooth.prepare();
            for held in [0.0, 0.4, 4.0, 15.9] {
                let mut state = SoftEndState::default();
                soft.step(&mut state, speed(16.0), onset);
                let (mut before, mut ticks) = (Strength::ZERO, 0_u32);
                while before < Strength::FULL {
                    soft.step(&mut state, speed(held), onset);
                    let now = soft.share(state, speed(held), &shape);
                    assert!(now >= before, "it falls at {held} rad/s");
                    (before, ticks) = (now, ticks + 1);
                }
                // 0.2 s and 0.3 s; the first tick at a speed may count as a fall.
                let due = u32::from(hz) / 2;
                assert!(ticks.abs_diff(due) <= 2, "{held} rad/s at {hz} Hz: {ticks}, {due}");
                // A rig that is pulled away now is braked as ever.
                soft.step(&mut state, speed(3.0 * held), onset);
                assert_eq!(soft.share(state, speed(3.0 * held), &shape), Strength::FULL);
            }
        }
    }

    /// Slower by just less than the least fall in each wait: it is let go on as long as it may.
    #[test]
    fn the_longest_it_can_last_is_the_stated_time() {
        let (soft, onset) = soft(16.0, 1_000);
        let shape = Shape::Linear.prepare();
        let (mut state, mut now, mut ticks) = (SoftEndState::default(), 15.999_f32, 0_u32);
        while soft.share(state, speed(now), &shape) < Strength::FULL {
            soft.step(&mut state, speed(now), onset);
            ticks += 1;
            // One radian per second is a sixteenth of sixteen: just in time, each time.
            if ticks % 199 == 0 {
                now = (now - 1.001).max(0.0);
            }
            assert!(ticks <= 3_400 + 300, "{now} rad/s after {ticks} ms");
        }
        assert!(ticks > 3_000, "{ticks} ms");
    }

    #[test]
    fn nothing_between_off_and_one() {
        for (below, refused) in [(0.0, false), (0.5, true), (1.0, false), (2_000.0, false)] {
            let mut check = Check::new();
            let soft = SoftEnd::prepare(below, TickRate::new(1_000).unwrap(), &mut check);
            assert_eq!(check.finish(()).is_err(), refused, "{below}");
            assert_eq!(soft.is_none(), below == 0.0, "{below}");
        }
    }
}
