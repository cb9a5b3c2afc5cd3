//! A bridge with one PWM input per side.

use core::convert::Infallible;

use embedded_hal::digital::{ErrorType, OutputPin};
use embedded_hal::pwm::SetDutyCycle;

use super::{Action, BridgeError, DirectionGuard, Done, Way, put};
use crate::shared::units::Strength;
use crate::stages::bridge::Command;

/// A brushed bridge with two inputs, one per side, and an enable (not-sleep) input (the common
/// two-input H-bridge table; common practice, no source).
///
/// | command | forward input | backward input | enable |
/// |---|---|---|---|
/// | [`Command::Coast`], a duty or strength of 0 | 0 | 0 | high |
/// | [`Command::Drive`], duty > 0 | duty | 0 | high |
/// | [`Command::Drive`], duty < 0 | 0 | \|duty\| | high |
/// | [`Command::Brake`] | strength | strength | high |
/// | [`shut_down`](Self::shut_down) | 0 | 0 | low |
///
/// Enable stays high while coasting: two low inputs already open the bridge, and waking takes some
/// bridges longer than a tick.
///
/// Both channels must belong to one timer that takes new duties at the end of its period: their high
/// times then coincide and change together. Otherwise part of the braking share drives instead. The
/// side that must be off is switched off first.
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
/// # let (channel_1, channel_2, not_sleep) = (Pwm(9), Pwm(9), Pin(false));
/// use easeoff_core::hal::TwoInputBridge;
/// use easeoff_core::{Command, Duty};
///
/// // Two open ticks between forward and backward.
/// let mut bridge = TwoInputBridge::new(channel_1, channel_2, not_sleep, 2)?;
/// bridge.apply(Command::Drive { duty: Duty::new(0.25).unwrap() })?;
/// for _ in 0..3 {
///     bridge.apply(Command::Drive { duty: Duty::LOWEST })?;
/// }
/// let (forward, backward, enable) = bridge.release();
/// assert_eq!((forward.0, backward.0, enable.0), (0, 1_000, true));
/// # Ok::<(), easeoff_core::hal::BridgeError<Infallible, Infallible, Infallible>>(())
/// ```
pub struct TwoInputBridge<F, B, E> {
    forward: F,
    backward: B,
    enable: E,
    guard: DirectionGuard,
    running: bool,
}

/// Stands for an input that no pin leads to, such as an enable input wired high.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct NoPin;

impl ErrorType for NoPin {
    type Error = Infallible;
}

impl OutputPin for NoPin {
    fn set_low(&mut self) -> Result<(), Infallible> {
        Ok(())
    }

    fn set_high(&mut self) -> Result<(), Infallible> {
        Ok(())
    }
}

impl<F: SetDutyCycle, B: SetDutyCycle, E: OutputPin> TwoInputBridge<F, B, E> {
    /// Takes the channels and the enable pin, and [starts](Self::start) the bridge. `dead_ticks` is
    /// how many ticks the motor is left open between driving one way and driving the other, 0 to
    /// 255; 0 changes over at once.
    ///
    /// # Errors
    /// [`BridgeError::NoResolution`] if a channel reports a largest duty of 0; else as `start`.
    pub fn new(
        forward: F,
        backward: B,
        enable: E,
        dead_ticks: u8,
    ) -> Done<F::Error, B::Error, E::Error, Self> {
        if forward.max_duty_cycle() == 0 || backward.max_duty_cycle() == 0 {
            return Err(BridgeError::NoResolution);
        }
        let guard = DirectionGuard::new(dead_ticks);
        let mut bridge = Self { forward, backward, enable, guard, running: false };
        bridge.start()?;
        Ok(bridge)
    }

    /// Puts one tick's command on the pins; to be called once per tick, for the ticks between
    /// opposite ways of driving are counted here.
    ///
    /// # Errors
    /// The first input that failed. The bridge may then still do what it did before: try again, or
    /// [shut down](Self::shut_down). [`BridgeError::NoResolution`] if a channel to be switched on
    /// now reports a largest duty of 0; [`BridgeError::ShutDown`] after `shut_down`.
    pub fn apply(&mut self, command: Command) -> Done<F::Error, B::Error, E::Error> {
        if !self.running {
            return Err(BridgeError::ShutDown);
        }
        let action = self.guard.admit(Action::of(command));
        let done = match action {
            Action::Open => self.open(),
            Action::Drive(Way::Forward, share) => {
                self.set_backward(Strength::ZERO).and_then(|()| self.set_forward(share))
            }
            Action::Drive(Way::Backward, share) => {
                self.set_forward(Strength::ZERO).and_then(|()| self.set_backward(share))
            }
            Action::Short(share) => self.set_forward(share).and_then(|()| self.set_backward(share)),
        };
        self.guard.note(action, done.is_ok());
        done
    }

    /// Pulls enable low and switches both sides off. Commands are refused until
    /// [`start`](Self::start).
    ///
    /// # Errors
    /// The first input that failed; the others were switched off all the same.
    pub fn shut_down(&mut self) -> Done<F::Error, B::Error, E::Error> {
        self.running = false;
        // Enable first: it opens the bridge whatever the sides do.
        let disabled = self.enable.set_low().map_err(BridgeError::Enable);
        disabled.and(self.open())
    }

    /// Switches both sides off and then pulls enable high.
    ///
    /// # Errors
    /// The first input that failed; the bridge then takes no commands.
    pub fn start(&mut self) -> Done<F::Error, B::Error, E::Error> {
        self.open()?;
        self.enable.set_high().map_err(BridgeError::Enable)?;
        self.running = true;
        Ok(())
    }

    /// Gives channels and pin back, in the order of [`new`](Self::new), as they are.
    pub fn release(self) -> (F, B, E) {
        (self.forward, self.backward, self.enable)
    }

    /// Both sides off, the second also when the first failed.
    fn open(&mut self) -> Done<F::Error, B::Error, E::Error> {
        let forward = self.set_forward(Strength::ZERO);
        let backward = self.set_backward(Strength::ZERO);
        forward.and(backward)
    }

    fn set_forward(&mut self, share: Strength) -> Done<F::Error, B::Error, E::Error> {
        put(&mut self.forward, share, BridgeError::Forward)
    }

    fn set_backward(&mut self, share: Strength) -> Done<F::Error, B::Error, E::Error> {
        put(&mut self.backward, share, BridgeError::Backward)
    }
}
