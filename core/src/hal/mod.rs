//! The edge to a board: bridges behind the pins and PWM channels of any embedded-hal 1.0 HAL.
//!
//! | the bridge has | adapter |
//! |---|---|
//! | one PWM input per side, and an enable (not-sleep) input or none | [`TwoInputBridge`] |
//! | one PWM input that enables it, and two direction inputs | [`EnableBridge`] |
//!
//! Both are told one [`Command`] per tick. Between driving one way and driving the other they leave
//! the motor open for a number of ticks set at construction, whatever they are told meanwhile, so
//! that no switch closes before its opposite has opened and the winding's current has a path to die
//! down in. Only ticks in a row in which everything was open, and the pins said so, are counted: a
//! brake or a failed pin in between begins the count anew.

mod two_input;
mod enable;

pub use enable::EnableBridge;
pub use two_input::{NoPin, TwoInputBridge};

use core::fmt;

use embedded_hal::pwm::SetDutyCycle;

use crate::shared::units::{Duty, Strength};
use crate::stages::bridge::Command;

/// Why a bridge was not made, or did not take a command. `F`, `B` and `E` are the errors of the
/// pins or channels at the forward, the backward and the enable input.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BridgeError<F, B, E> {
    /// The input that drives forward failed.
    Forward(F),
    /// The input that drives backward failed.
    Backward(B),
    /// The enable input failed.
    Enable(E),
    /// A PWM channel reports a largest duty of 0, as some HALs do before their timer runs: every
    /// command would mean "off".
    NoResolution,
    /// The bridge was shut down and not started again.
    ShutDown,
}

impl<F: fmt::Debug, B: fmt::Debug, E: fmt::Debug> fmt::Display for BridgeError<F, B, E> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Forward(error) => write!(out, "the bridge's forward input failed: {error:?}"),
            Self::Backward(error) => write!(out, "the bridge's backward input failed: {error:?}"),
            Self::Enable(error) => write!(out, "the bridge's enable input failed: {error:?}"),
            Self::NoResolution => {
                out.write_str("a PWM channel's largest duty is 0; configure its timer first")
            }
            Self::ShutDown => out.write_str("the bridge is shut down; start it first"),
        }
    }
}

impl<F: fmt::Debug, B: fmt::Debug, E: fmt::Debug> core::error::Error for BridgeError<F, B, E> {}

/// What every call on a bridge comes to.
type Done<F, B, E, T = ()> = Result<T, BridgeError<F, B, E>>;

/// `share * max` rounded to nearest. embedded-hal's own fraction helper divides in 16 bits and
/// truncates, so the count is made here.
fn counts(share: Strength, max: u16) -> u16 {
    let share = u32::try_from(share.to_bits()).unwrap_or_default();
    let wide = u64::from(share).saturating_mul(u64::from(max)).saturating_add(1 << 15) >> 16;
    u16::try_from(wide).unwrap_or(max)
}

/// Puts `share` on a channel. The largest duty is asked for every time: it may change when the
/// board sets its timer anew.
fn put<P: SetDutyCycle, F, B, E>(
    channel: &mut P,
    share: Strength,
    side: fn(P::Error) -> BridgeError<F, B, E>,
) -> Done<F, B, E> {
    let max = channel.max_duty_cycle();
    channel.set_duty_cycle(counts(share, max)).map_err(side)?;
    if max == 0 && share > Strength::ZERO { Err(BridgeError::NoResolution) } else { Ok(()) }
}

/// The two ways a motor turns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    Forward,
    Backward,
}

/// What a bridge does in one tick: a command whose cases are those of the pins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Action {
    Open,
    Drive(Way, Strength),
    Short(Strength),
}

impl Action {
    /// No duty and no braking are the same as coasting: nothing is switched on.
    fn of(command: Command) -> Self {
        match command {
            Command::Drive { duty } if duty > Duty::ZERO => {
                Self::Drive(Way::Forward, duty.magnitude())
            }
            Command::Drive { duty } if duty < Duty::ZERO => {
                Self::Drive(Way::Backward, duty.magnitude())
            }
            Command::Brake { strength } if strength > Strength::ZERO => Self::Short(strength),
            _ => Self::Open,
        }
    }
}

/// Keeps the bridge open between two opposite ways of driving.
#[derive(Clone, Copy, Debug)]
struct DirectionGuard {
    dead_ticks: u8,
    /// Ticks in a row in which the bridge was open.
    open_ticks: u8,
    /// The way it was last driven; `None` once it was open for long enough since.
    driven: Option<Way>,
}

impl DirectionGuard {
    const fn new(dead_ticks: u8) -> Self {
        Self { dead_ticks, open_ticks: 0, driven: None }
    }

    /// What may go to the pins in place of `wish`.
    fn admit(&self, wish: Action) -> Action {
        match (wish, self.driven) {
            (Action::Drive(way, _), Some(driven)) if way != driven && self.dead_ticks > 0 => {
                Action::Open
            }
            _ => wish,
        }
    }

    /// Notes what went to the pins, and whether they took it: a failed pin may still drive, so a
    /// failed opening does not count and a failed driving does.
    fn note(&mut self, done: Action, taken: bool) {
        match done {
            Action::Drive(way, _) => {
                self.driven = Some(way);
                self.open_ticks = 0;
            }
            Action::Open if taken => {
                self.open_ticks = self.open_ticks.saturating_add(1);
                if self.open_ticks >= self.dead_ticks {
                    self.driven = None;
                }
            }
            Action::Open | Action::Short(_) => self.open_ticks = 0,
        }
    }
}

#[cfg(test)]
mod tests;
