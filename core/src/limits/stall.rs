//! A limit on pushing against something that does not move: the stall timer.
//!
//! Source: common practice, no publication.

use crate::settings::allowed;
use crate::shared::error::Check;
use crate::shared::ramp::TickRate;
use crate::shared::units::{Duty, Speed, Strength, prepared};

/// When driving wheels that stand counts as a stall. The drive is then cut until the throttle has
/// been let go.
///
/// ```
/// use easeoff_core::*;
/// let mut tune = Settings::default();
/// tune.limits.stall = Some(StallSettings::default());
/// let controller = tune.prepare(TickRate::new(1_000).unwrap()).unwrap();
/// let mut state = State::default();
/// let throttle = |us: f32| Input { pulse: Microseconds::new(us), ..Input::default() };
/// controller.step_for(&mut state, &throttle(1_500.0), 600);
/// let stuck = Input { speed: Some(Speed::ZERO), ..throttle(1_800.0) };
/// let output = controller.step_for(&mut state, &stuck, 3_000);
/// assert_eq!(output.command.duty(), Duty::ZERO);
/// assert!(output.trace.events.contains(Event::Stalled));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct StallSettings {
    /// Wheels slower than this stand \[rad/s\], 0.05 to 20.
    pub below_rad_s: f32,
    /// Less duty than this may push for ever, 0 to 1.
    pub duty: f32,
    /// Time until the cut \[ms\], 100 to 20,000.
    pub after_ms: f32,
}

impl Default for StallSettings {
    /// Below 0.5 rad/s with more than 5 % duty for 2 s.
    fn default() -> Self {
        Self { below_rad_s: 0.5, duty: 0.05, after_ms: 2_000.0 }
    }
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct Stall {
    below: Speed,
    duty: Strength,
    after_ticks: u32,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct StallState {
    ticks: u32,
}

impl StallSettings {
    pub(crate) fn prepare(&self, rate: TickRate, check: &mut Check) -> Stall {
        let below = check.range(allowed!("limits.stall.below_rad_s"), self.below_rad_s);
        let duty = check.range(allowed!("limits.stall.duty"), self.duty);
        let after = check.range(allowed!("limits.stall.after_ms"), self.after_ms);
        Stall {
            below: Speed::saturate(prepared(below)),
            duty: Strength::saturate(prepared(duty)),
            after_ticks: rate.ticks(after).max(1),
        }
    }
}

impl Stall {
    /// True once the drive is cut. `driven` is the duty of the tick before; without a speed nothing
    /// is known and the time stands still.
    pub(crate) fn step(
        &self,
        state: &mut StallState,
        let_go: bool,
        driven: Duty,
        speed: Option<Speed>,
    ) -> bool {
        let cut = state.ticks >= self.after_ticks;
        if let_go {
            state.ticks = 0;
        } else if let (false, Some(speed)) = (cut, speed) {
            let stands = speed.raw().saturating_abs() < self.below.raw();
            let pushes = driven.magnitude() > self.duty;
            state.ticks = if stands && pushes { state.ticks.saturating_add(1) } else { 0 };
        }
        state.ticks >= self.after_ticks
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(state: &mut StallState, ticks: u32, demand: f32, duty: f32, speed: Option<f32>) -> bool {
        let rate = TickRate::new(1_000).unwrap();
        let stall = StallSettings::default().prepare(rate, &mut Check::new());
        let speed = speed.and_then(Speed::new);
        let (let_go, duty) = (demand == 0.0, Duty::new(duty).unwrap());
        (0..ticks).map(|_| stall.step(state, let_go, duty, speed)).last().unwrap()
    }

    #[test]
    fn cuts_after_its_time_and_comes_back_at_neutral() {
        let mut state = StallState::default();
        assert!(!run(&mut state, 1_999, 0.5, 0.5, Some(0.4)));
        assert!(run(&mut state, 1, 0.5, 0.5, Some(-0.4)));
        // The cut takes the duty away and the wheels may roll back: it stays.
        assert!(run(&mut state, 5_000, 0.5, 0.0, Some(3.0)));
        assert!(!run(&mut state, 1, 0.0, 0.0, Some(0.0)));
    }

    #[test]
    fn turning_wheels_a_weak_push_or_no_speed_are_no_stall() {
        // At its bounds it is none either.
        for (duty, speed) in [(0.5, Some(0.6)), (0.5, Some(-0.5)), (0.05, Some(0.0)), (0.5, None)] {
            assert!(!run(&mut StallState::default(), 9_000, 0.5, duty, speed));
        }
        // Any turn in between begins the time anew; a missing sample does not.
        let mut state = StallState::default();
        run(&mut state, 1_500, 0.5, 0.5, Some(0.0));
        run(&mut state, 1, 0.5, 0.5, Some(9.0));
        assert!(!run(&mut state, 1_500, 0.5, 0.5, Some(0.0)));
        run(&mut state, 100, 0.5, 0.5, None);
        assert!(run(&mut state, 500, 0.5, 0.5, Some(0.0)));
    }
}
