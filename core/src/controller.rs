//! The whole path, once per tick.

use crate::bridge::Command;
use crate::curve::Curve;
use crate::demand::DemandStage;
use crate::drag::{Ask, Drag, DragState};
use crate::hold::{Hold, HoldState, open_loop};
use crate::limits::{LimitInput, LimitState, Limits};
use crate::mode::{Mode, ModeInput, ModeStage, ModeState};
use crate::pulse::{Pulse, PulseState};
use crate::settings::SafeState;
use crate::slew::{Slew, SlewState};
use crate::trace::{Event, Events, Trace};
use crate::units::{Amp, Celsius, Demand, Microseconds, Speed, Strength, Volt};

/// What the board measured since the last tick. A missing sensor is `None`, always.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Input {
    /// The pulse that ended since the last tick, if one did.
    pub pulse: Option<Microseconds>,
    /// Wheel speed.
    pub speed: Option<Speed>,
    /// Motor current.
    pub current: Option<Amp>,
    /// Bus voltage.
    pub voltage: Option<Volt>,
    /// The hottest temperature measured.
    pub temperature: Option<Celsius>,
}

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
    pub(crate) mode: ModeStage,
    pub(crate) safe_state: SafeState,
    pub(crate) drag: Drag,
    pub(crate) hold: Option<Hold>,
    pub(crate) limits: Limits,
}

/// Everything the controller remembers from tick to tick. The default is the state at power-on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct State {
    pulse: PulseState,
    slew: SlewState,
    mode: ModeState,
    drag: DragState,
    hold: HoldState,
    limits: LimitState,
}

impl Controller {
    /// One tick. Bounded work, no allocation, no float, no panic.
    ///
    /// ```
    /// use easeoff_core::{Command, Input, Microseconds, Settings, State, TickRate};
    /// let controller = Settings::default().prepare(TickRate::new(1_000).unwrap()).unwrap();
    /// let mut state = State::default();
    /// let mut hold_stick = |us: f32, ticks: u32| {
    ///     let input = Input { pulse: Microseconds::new(us), ..Input::default() };
    ///     (0..ticks).map(|_| controller.step(&mut state, &input)).last().unwrap().command
    /// };
    /// assert_eq!(hold_stick(2_000.0, 2_000), Command::Coast); // not armed: neutral comes first
    /// hold_stick(1_500.0, 600);
    /// assert!(matches!(hold_stick(2_000.0, 600), Command::Drive { .. }));
    /// assert!(matches!(hold_stick(1_500.0, 600), Command::Brake { .. }));
    /// ```
    pub fn step(&self, state: &mut State, input: &Input) -> Output {
        let mut trace = Trace::default();
        let mut events = Events::default();

        let pulse = self.pulse.step(&mut state.pulse, input.pulse);
        trace.pulse = pulse.signal;
        events.note(Event::BadPulse, pulse.bad_sample);

        let demand = pulse.signal.map(|width| self.demand.step(width));
        let wish = demand.map(|demand| self.curve.step(demand));
        trace.demand = demand.unwrap_or_default();
        trace.curved = wish.unwrap_or_default();

        let slewed = state.slew.demand();
        let mode = self.mode.step(&mut state.mode, &ModeInput { wish, slewed, speed: input.speed });
        trace.mode = mode;
        events.note(Event::SignalLost, mode == Mode::Lost);

        // The demand grows only while the controller drives and no brake is left on, so that
        // driving always begins at zero. Losing the signal or arming cuts it at once.
        let drives = matches!(mode, Mode::Forward | Mode::Reverse);
        let free = state.drag.released();
        trace.slewed = if matches!(mode, Mode::Lost | Mode::Disarmed) {
            state.slew = SlewState::default();
            Demand::ZERO
        } else {
            let target = if drives && free { trace.curved } else { Demand::ZERO };
            self.slew.step(&mut state.slew, target)
        };

        let drag = self.drag.step(&mut state.drag, self.ask(mode, wish), input.speed);
        trace.brake_level = drag.level;
        trace.brake_asked = drag.share;
        let braking = drag.level > Strength::ZERO;
        events.note(Event::DragWithoutSpeed, braking && drag.without_speed);

        let driving = drives && free;
        let hold = match &self.hold {
            Some(hold) => hold.step(&mut state.hold, trace.slewed, input.speed, driving),
            None if driving => open_loop(trace.slewed),
            None => open_loop(Demand::ZERO),
        };
        trace.added = hold.added;
        trace.duty_asked = hold.duty;
        events.note(Event::HoldWithoutSpeed, driving && hold.without_speed);
        events.note(Event::HoldAtAuthority, hold.at_authority);

        let sensed = LimitInput {
            current: input.current,
            voltage: input.voltage,
            temperature: input.temperature,
        };
        trace.limits = self.limits.factors(&mut state.limits, sensed);
        let command = if driving {
            let duty = self.limits.drive(&mut state.limits, trace.limits, hold.duty);
            events.note(Event::PackLow, trace.limits.pack < Strength::FULL);
            events.note(Event::Hot, trace.limits.heat < Strength::FULL);
            events.note(Event::DriveCurrent, hold.duty.magnitude() > trace.limits.drive_cap);
            Command::Drive { duty }
        } else if braking {
            let strength = self.limits.brake(&mut state.limits, trace.limits, drag.share);
            events.note(Event::BrakeCurrent, strength < drag.share);
            Command::Brake { strength }
        } else {
            Command::Coast
        };
        trace.events = events;
        Output { command, trace }
    }

    fn ask(&self, mode: Mode, wish: Option<Demand>) -> Ask {
        match (mode, self.safe_state) {
            (Mode::Disarmed, _) | (Mode::Lost, SafeState::Coast) => Ask::Off,
            (Mode::Neutral, _) | (Mode::Lost, SafeState::Drag) => Ask::Drag,
            (Mode::Forward | Mode::Reverse, _) => Ask::Release,
            (Mode::Stopping, _) => Ask::Hand(mode.hand_brake(wish)),
        }
    }
}
