//! Another tune while driving, without a jump.
//!
//! The state stays; only what the two tunes understand differently is carried over: the duty between a
//! speed loop and open loop, the brake's place along its ramp, what the pulse in force means, and the
//! monitor's idea of what the hand may still be easing off. Source: algebra.

use super::{Controller, State};
use crate::shared::input::Input;
use crate::shared::units::Demand;
use crate::stages::hold::HoldState;

impl Controller {
    /// Goes on where a controller of another tune left `state`; call it once, before this tune's first
    /// step. The duty then moves on at this tune's rates, and a brake that is on goes on from the share it
    /// has, as far as this tune's strength reaches.
    ///
    /// What only takes away acts at once, as ever: a limit that is lower now, a weaker brake, a speed loop that
    /// may add less where the duty follows the demand by less than a hundredth. At the same
    /// tick rate as before; bounded work, no float, no panic.
    ///
    /// Another calibration gives the pulse in force another meaning, from the next tick on and not from the
    /// next pulse: a throttle that is let go may now ask for drive, and gets it. Where that can hurt, begin
    /// with `State::default()` instead, which waits for neutral.
    ///
    /// ```
    /// use easeoff_core::*;
    /// let rate = TickRate::new(1_000).unwrap();
    /// let mut tune = Settings { hold: Some(HoldSettings::new(30.0)), ..Settings::default() };
    /// let mut state = State::default();
    /// let throttle = |us: f32| Input {
    ///     pulse: Microseconds::new(us), speed: Speed::new(0.0), ..Input::default()
    /// };
    /// let held = tune.prepare(rate).unwrap();
    /// held.step_for(&mut state, &throttle(1_500.0), 600);
    /// let before = held.step_for(&mut state, &throttle(1_760.0), 2_000).command.duty();
    /// assert!(before.to_f32() > 0.999); // the wheels stand, the loop adds all it can
    ///
    /// tune.hold = None;
    /// let open = tune.prepare(rate).unwrap();
    /// open.take_over(&mut state, &throttle(1_760.0));
    /// let after = open.step(&mut state, &throttle(1_760.0)).command.duty();
    /// let eased = before.to_f32() - after.to_f32();
    /// assert!((eased - 0.02).abs() < 1e-4, "{eased}"); // at the slew's 20 per second
    /// ```
    #[cold]
    pub fn take_over(&self, state: &mut State, input: &Input) {
        let backward = state.slew.demand() < Demand::ZERO;
        if self.hold.is_some() {
            state.hold.begin_at(state.slew);
        } else if let Some(total) = state.hold.total() {
            state.slew = total.on_side(backward);
            state.hold = HoldState::default();
        }
        let duty = match state.hold.total() {
            Some(total) => total.demand(),
            None => state.slew.on_side(false).demand(),
        };
        let stays = self.monitor.expect(&mut state.monitor, backward, duty);
        state.hold.at_most(stays);
        self.drag.go_on(&mut state.drag, input.speed);
        if let Some(wish) = state.pulse.held().map(|width| self.curve.step(self.demand.step(width)))
        {
            state.ease.go_on(wish);
        }
    }
}
