//! A bridge with one PWM input that enables it and two direction inputs.

use embedded_hal::digital::{OutputPin, PinState};
use embedded_hal::pwm::SetDutyCycle;

use super::{Action, BridgeError, DirectionGuard, Done, Way, put};
use crate::shared::units::Strength;
use crate::stages::bridge::Command;

/// A brushed bridge that two inputs steer and a third, the PWM, enables: inputs that differ drive,
/// inputs that are equal short the motor, each for the share of time in which enable is high;
/// otherwise the bridge is open (common practice, no source).
///
/// | command | enable | forward input | backward input |
/// |---|---|---|---|
/// | [`Command::Coast`], a duty or strength of 0 | 0 | as before | as before |
/// | [`Command::Drive`], duty > 0 | duty | high | low |
/// | [`Command::Drive`], duty < 0 | \|duty\| | low | high |
/// | [`Command::Brake`] | strength | low | low |
///
/// The direction inputs change only while enable is 0: first enable to 0, then the inputs, then
/// enable to its share. A timer that takes a new duty at the end of its period may keep enable high
/// for the rest of that period, so leave at least one dead tick.
///
/// ```
/// # use core::convert::Infallible;
/// # use embedded_hal::{digital, pwm};
/// # struct Pwm(u16);
/// # impl pwm::ErrorType for Pwm { type Error = Infallible; }
/// # impl pwm::SetDutyCycle for Pwm {
/// #     fn max_duty_cycle(&self) -> u16 { 1_000 }
/// #     fn set_duty_cycle(&mut self, counts: u16) -> Result<(), Infallible> { self.0 = counts; Ok(()) }
/// # }
/// # struct Pin(bool);
/// # impl digital::ErrorType for Pin { type Error = Infallible; }
/// # impl digital::OutputPin for Pin {
/// #     fn set_low(&mut self) -> Result<(), Infallible> { self.0 = false; Ok(()) }
/// #     fn set_high(&mut self) -> Result<(), Infallible> { self.0 = true; Ok(()) }
/// # }
/// # let (input_1, input_2, enable) = (Pin(true), Pin(true), Pwm(9));
/// use easeoff_core::hal::EnableBridge;
/// use easeoff_core::{Command, Duty, Strength};
///
/// let mut bridge = EnableBridge::new(input_1, input_2, enable, 2)?;
/// bridge.apply(Command::Drive { duty: Duty::new(0.25).unwrap() })?;
/// bridge.apply(Command::Brake { strength: Strength::new(0.5).unwrap() })?;
/// let (forward, backward, enable) = bridge.release();
/// assert_eq!((forward.0, backward.0, enable.0), (false, false, 500));
/// # Ok::<(), easeoff_core::hal::BridgeError<Infallible, Infallible, Infallible>>(())
/// ```
pub struct EnableBridge<F, B, E> {
    forward: F,
    backward: B,
    enable: E,
    guard: DirectionGuard,
    /// What the direction inputs were last set to; `None` while that is not known.
    inputs: Option<(PinState, PinState)>,
}

impl<F: OutputPin, B: OutputPin, E: SetDutyCycle> EnableBridge<F, B, E> {
    /// Takes the pins and the channel, and opens the bridge. `dead_ticks` is how many ticks the motor
    /// is left open between driving one way and driving the other, 0 to 255; 0 changes over at once.
    ///
    /// # Errors
    /// [`BridgeError::NoResolution`] if the channel reports a largest duty of 0; else the channel's
    /// own error.
    pub fn new(
        forward: F,
        backward: B,
        enable: E,
        dead_ticks: u8,
    ) -> Done<F::Error, B::Error, E::Error, Self> {
        if enable.max_duty_cycle() == 0 {
            return Err(BridgeError::NoResolution);
        }
        let guard = DirectionGuard::new(dead_ticks);
        let mut bridge = Self { forward, backward, enable, guard, inputs: None };
        bridge.set_enable(Strength::ZERO)?;
        Ok(bridge)
    }

    /// Puts one tick's command on the pins; to be called once per tick, for the ticks between
    /// opposite ways of driving are counted here.
    ///
    /// # Errors
    /// The first input that failed. After a failed direction input the bridge is open; after a
    /// failed enable input it may still do what it did before. [`BridgeError::NoResolution`] if the
    /// channel now reports a largest duty of 0.
    pub fn apply(&mut self, command: Command) -> Done<F::Error, B::Error, E::Error> {
        let action = self.guard.admit(Action::of(command));
        let done = match action {
            Action::Open => self.set_enable(Strength::ZERO),
            Action::Drive(Way::Forward, share) => self.set(PinState::High, PinState::Low, share),
            Action::Drive(Way::Backward, share) => self.set(PinState::Low, PinState::High, share),
            Action::Short(share) => self.set(PinState::Low, PinState::Low, share),
        };
        self.guard.note(action, done.is_ok());
        done
    }

    /// Gives pins and channel back, in the order of [`new`](Self::new), as they are.
    pub fn release(self) -> (F, B, E) {
        (self.forward, self.backward, self.enable)
    }

    fn set(
        &mut self,
        forward: PinState,
        backward: PinState,
        share: Strength,
    ) -> Done<F::Error, B::Error, E::Error> {
        if self.inputs != Some((forward, backward)) {
            self.set_enable(Strength::ZERO)?;
            self.inputs = None;
            self.forward.set_state(forward).map_err(BridgeError::Forward)?;
            self.backward.set_state(backward).map_err(BridgeError::Backward)?;
            self.inputs = Some((forward, backward));
        }
        self.set_enable(share)
    }

    fn set_enable(&mut self, share: Strength) -> Done<F::Error, B::Error, E::Error> {
        put(&mut self.enable, share, BridgeError::Enable)
    }
}
