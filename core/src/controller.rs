//! The whole path, once per tick.

mod fast_bridge;
mod take_over;

use crate::limits::{LimitFactors, LimitInput, LimitState, Limits};
use crate::monitor::{Monitor, MonitorState};
use crate::shared::input::Input;
use crate::shared::motor::Motor;
use crate::shared::units::{Demand, Strength};
use crate::stages::bridge::Command;
use crate::stages::curve::Curve;
use crate::stages::demand::DemandStage;
use crate::stages::drag::{Ask, Drag, DragInput, DragState};
use crate::stages::ease::{Ease, EaseState};
use crate::stages::hold::{Hold, HoldState, open_loop};
use crate::stages::mode::{Mode, ModeInput, ModeStage, ModeState};
use crate::stages::pulse::{Pulse, PulseState};
use crate::stages::rest::{Rest, RestState};
use crate::stages::safe_state::SafeState;
use crate::stages::slew::{Slew, SlewState};
use crate::trace::{Event, Events, Trace};

/// The command, and how it came about.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Output {
    /// For the bridge.
    pub command: Command,
    /// For plots, logs and tests.
    pub trace: Trace,
}

/// A tune made ready. Made by [`crate::Settings::prepare`]; constant while running.
#[derive(Clone, Copy, Debug)]
pub struct Controller {
    pub(crate) pulse: Pulse,
    pub(crate) demand: DemandStage,
    pub(crate) curve: Curve,
    pub(crate) slew: Slew,
    pub(crate) ease: Ease,
    pub(crate) mode: ModeStage,
    pub(crate) safe_state: SafeState,
    pub(crate) drag: Drag,
    pub(crate) rest: Option<Rest>,
    pub(crate) hold: Option<Hold>,
    pub(crate) limits: Limits,
    pub(crate) motor: Motor,
    pub(crate) monitor: Monitor,
}

/// Everything the controller remembers from tick to tick. The default is the state at power-on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct State {
    pulse: PulseState,
    slew: SlewState,
    ease: EaseState,
    mode: ModeState,
    drag: DragState,
    rest: RestState,
    hold: HoldState,
    limits: LimitState,
    monitor: MonitorState,
    /// What the bridge was told in the tick before.
    command: Command,
}

impl Controller {
    /// One tick. Bounded work, no allocation, no float, no panic.
    ///
    /// The stages run in the order of the path, but the mode before the slew, which obeys it, and the
    /// limits' factors before the hold at rest, which needs to know them.
    ///
    /// ```
    /// use easeoff_core::{Command, Input, Microseconds, Settings, State, TickRate};
    /// let controller = Settings::default().prepare(TickRate::new(1_000).unwrap()).unwrap();
    /// let mut state = State::default();
    /// let mut throttle = |us: f32| {
    ///     let input = Input { pulse: Microseconds::new(us), ..Input::default() };
    ///     controller.step_for(&mut state, &input, 600).command
    /// };
    /// assert_eq!(throttle(2_000.0), Command::Coast); // not armed: neutral comes first
    /// throttle(1_500.0);
    /// assert!(matches!(throttle(2_000.0), Command::Drive { .. }));
    /// assert!(matches!(throttle(1_500.0), Command::Brake { .. }));
    /// ```
    #[inline(never)]
    pub fn step(&self, state: &mut State, input: &Input) -> Output {
        let mut output = Output::default();
        let trace = &mut output.trace;
        let mut events = Events::default();

        let pulse = self.pulse.step(&mut state.pulse, input.pulse);
        trace.pulse = pulse.signal;
        trace.bad_samples = pulse.bad_samples;
        events.note(Event::BadPulse, pulse.bad_sample);

        let demand = pulse.signal.map(|width| self.demand.step(width));
        let wish = demand.map(|demand| self.curve.step(demand));
        trace.demand = demand.unwrap_or_default();
        trace.curved = wish.unwrap_or_default();
        trace.abruptness = match wish {
            Some(wish) => self.ease.step(&mut state.ease, wish),
            // A lost signal is no hand that lets go.
            None => {
                state.ease = EaseState::default();
                Strength::ZERO
            }
        };

        let slewed = state.slew.demand();
        let fault = state.monitor.fault();
        let look = ModeInput { wish, slewed, speed: input.speed, fault };
        let mode = self.mode.step(&mut state.mode, &look);
        trace.mode = mode;
        events.note(Event::SignalLost, mode == Mode::Lost);

        // The demand grows only while the controller drives and no brake or hold is left on, so that
        // driving always begins at zero. Losing the signal or arming cuts it at once.
        let drives = matches!(mode, Mode::Forward | Mode::Reverse);
        let free = state.drag.released() && !state.rest.holding();
        trace.slewed = if matches!(mode, Mode::Lost | Mode::Fault | Mode::Disarmed) {
            state.slew = SlewState::default();
            Demand::ZERO
        } else {
            let target = if drives && free { trace.curved } else { Demand::ZERO };
            self.slew.step(&mut state.slew, target)
        };

        let feel =
            DragInput { speed: input.speed, current: input.current, abruptness: trace.abruptness };
        let drag = self.drag.step(&mut state.drag, self.ask(mode, wish), feel);
        trace.brake_level = drag.level;
        trace.brake_asked = drag.share;
        let braking = drag.level > Strength::ZERO;
        events.note(Event::DragUnsensed, braking && drag.unsensed);
        events.note(Event::SoftEndWithoutSpeed, braking && drag.without_speed);

        let driven = state.command.duty();
        trace.speed =
            input.speed.or_else(|| self.motor.estimate(driven, input.voltage, input.current));
        events.note(Event::SpeedEstimated, input.speed.is_none() && trace.speed.is_some());

        let sensed = LimitInput {
            let_go: trace.curved.is_neutral() && trace.slewed.is_neutral(),
            speed: trace.speed,
            current: input.current,
            voltage: input.voltage,
            temperature: input.temperature,
        };
        trace.limits = self.limits.factors(&mut state.limits, sensed);

        // Only a measured speed tells that wheels stand: the estimate needs a driving motor.
        // An empty pack or a hot motor brakes instead of holding.
        let LimitFactors { pack, heat, .. } = trace.limits;
        let able = pack.min(heat) == Strength::FULL;
        let braked = mode == Mode::Neutral && drag.fully_in && able;
        // Where there is hardly anything to push against the brake holds better.
        let resting = self
            .rest
            .as_ref()
            .and_then(|rest| rest.step(&mut state.rest, braked, input.speed))
            .filter(|duty| duty.magnitude() >= Strength::THOUSANDTH);
        events.note(Event::HoldingAtRest, resting.is_some());

        let driving = drives && free;
        let hold = match &self.hold {
            Some(hold) => hold.step(&mut state.hold, trace.slewed, trace.speed, driving),
            None if driving => open_loop(trace.slewed),
            None => open_loop(Demand::ZERO),
        };
        trace.added = hold.added;
        trace.duty_asked = resting.unwrap_or(hold.duty);
        events.note(Event::HoldWithoutSpeed, driving && hold.without_speed);
        events.note(Event::HoldAtAuthority, hold.at_authority);
        events.note(Event::Bogged, hold.bogged);

        let asked = if driving {
            Command::Drive { duty: hold.duty }
        } else if let Some(duty) = resting {
            Command::Drive { duty }
        } else if braking {
            Command::Brake { strength: drag.share }
        } else {
            Command::Coast
        };
        let left = self.limits.apply(&mut state.limits, trace.limits, asked);
        let pushes = matches!(asked, Command::Drive { .. });
        let size = asked.duty().magnitude();
        events.note(Event::PackLow, pushes && trace.limits.pack < Strength::FULL);
        events.note(Event::Hot, pushes && trace.limits.heat < Strength::FULL);
        events.note(Event::Stalled, trace.limits.stalled);
        events.note(Event::DriveCurrent, size > trace.limits.drive_cap);
        events.note(Event::BrakeCurrent, left.braking() < asked.braking());

        let verdict = self.monitor.step(&mut state.monitor, input, left);
        trace.breach = verdict.breach;
        events.note(Event::Fault, state.monitor.fault());
        state.command = verdict.command;
        trace.events = events;
        output.command = verdict.command;
        output
    }

    /// As many ticks with one and the same input; the last tick's output.
    ///
    /// ```
    /// use easeoff_core::{Input, Mode, Microseconds, Settings, State, TickRate};
    /// let controller = Settings::default().prepare(TickRate::new(1_000).unwrap()).unwrap();
    /// let rest = Input { pulse: Microseconds::new(1_500.0), ..Input::default() };
    /// let output = controller.step_for(&mut State::default(), &rest, 500);
    /// assert_eq!(output.trace.mode, Mode::Neutral);
    /// ```
    pub fn step_for(&self, state: &mut State, input: &Input, ticks: u32) -> Output {
        let mut output = Output::default();
        for _ in 0..ticks {
            output = self.step(state, input);
        }
        output
    }

    /// The envelope by which this controller watches itself.
    pub fn monitor(&self) -> &Monitor {
        &self.monitor
    }

    fn ask(&self, mode: Mode, wish: Option<Demand>) -> Ask {
        match (mode, self.safe_state) {
            (Mode::Disarmed, _) | (Mode::Lost | Mode::Fault, SafeState::Coast) => Ask::Off,
            (Mode::Neutral, _) | (Mode::Lost | Mode::Fault, SafeState::Drag) => Ask::Drag,
            (Mode::Forward | Mode::Reverse, _) => Ask::Release,
            (Mode::Stopping, _) => Ask::Hand(mode.hand_brake(wish)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A quarter of a kilobyte is what a small chip spares for it.
    #[test]
    fn the_state_is_small() {
        let bytes = size_of::<State>();
        assert!(bytes < 256, "{bytes} bytes");
    }
}
