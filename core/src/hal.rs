//! The edge to a board: a bridge behind two PWM channels of any embedded-hal 1.0 HAL.

use embedded_hal::pwm::SetDutyCycle;

use crate::bridge::Command;
use crate::units::{Duty, Strength};

/// A brushed bridge with two inputs, one per side: one side driven turns the motor that way, both
/// driven short it, none driven leaves it open (the common two-input H-bridge table; common
/// practice, no source).
///
/// Both channels must belong to one timer, so that their high times coincide; otherwise part of the
/// braking share drives instead.
pub struct TwoInputBridge<A, B> {
    forward: A,
    backward: B,
}

/// Why a bridge was not made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoResolution;

impl<A: SetDutyCycle, B: SetDutyCycle> TwoInputBridge<A, B> {
    /// Takes the two channels.
    ///
    /// # Errors
    /// [`NoResolution`] if a channel reports a largest duty of 0, as some HALs do before their
    /// timer runs: every command would mean "off".
    pub fn new(forward: A, backward: B) -> Result<Self, NoResolution> {
        if forward.max_duty_cycle() == 0 || backward.max_duty_cycle() == 0 {
            return Err(NoResolution);
        }
        Ok(Self { forward, backward })
    }

    /// Puts a command on the pins. The side that must be off is switched off first.
    ///
    /// # Errors
    /// The first channel's or the second channel's own error.
    pub fn apply(&mut self, command: Command) -> Result<(), BridgeError<A::Error, B::Error>> {
        let off = Strength::ZERO;
        match command {
            Command::Coast => {
                self.set_forward(off)?;
                self.set_backward(off)
            }
            Command::Drive { duty } if duty >= Duty::ZERO => {
                self.set_backward(off)?;
                self.set_forward(duty.magnitude())
            }
            Command::Drive { duty } => {
                self.set_forward(off)?;
                self.set_backward(duty.magnitude())
            }
            Command::Brake { strength } => {
                self.set_forward(strength)?;
                self.set_backward(strength)
            }
        }
    }

    /// Gives the channels back.
    pub fn release(self) -> (A, B) {
        (self.forward, self.backward)
    }

    fn set_forward(&mut self, share: Strength) -> Result<(), BridgeError<A::Error, B::Error>> {
        let counts = counts(share, self.forward.max_duty_cycle());
        self.forward.set_duty_cycle(counts).map_err(BridgeError::Forward)
    }

    fn set_backward(&mut self, share: Strength) -> Result<(), BridgeError<A::Error, B::Error>> {
        let counts = counts(share, self.backward.max_duty_cycle());
        self.backward.set_duty_cycle(counts).map_err(BridgeError::Backward)
    }
}

/// Which channel failed, with its own error.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BridgeError<A, B> {
    /// The channel that drives forward.
    Forward(A),
    /// The channel that drives backward.
    Backward(B),
}

/// `share * max` rounded to nearest. embedded-hal's own fraction helper divides in 16 bits and
/// truncates, so the count is made here.
fn counts(share: Strength, max: u16) -> u16 {
    let share = u32::try_from(share.to_bits()).unwrap_or_default();
    let wide = u64::from(share).saturating_mul(u64::from(max)).saturating_add(1 << 15) >> 16;
    u16::try_from(wide).unwrap_or(max).min(max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_hal_mock::eh1::pwm::{Mock, Transaction};
    use std::vec::Vec;

    #[test]
    fn counts_reach_both_ends_for_every_resolution() {
        for max in [1_u16, 2, 255, 999, 40_000, 65_535] {
            assert_eq!(counts(Strength::ZERO, max), 0);
            assert_eq!(counts(Strength::FULL, max), max);
            assert_eq!(counts(Strength::from_bits(32_768), max), max.div_ceil(2));
        }
    }

    #[test]
    fn a_channel_without_resolution_is_refused() {
        let mut zero = Mock::new(&[Transaction::max_duty_cycle(0)]);
        let mut unasked = Mock::new(&[]);
        assert!(TwoInputBridge::new(zero.clone(), unasked.clone()).is_err());
        zero.done();
        unasked.done();
    }

    fn expect(steps: &[u16]) -> Mock {
        let mut list: Vec<_> = std::vec![Transaction::max_duty_cycle(1_000)];
        for counts in steps {
            list.push(Transaction::max_duty_cycle(1_000));
            list.push(Transaction::set_duty_cycle(*counts));
        }
        Mock::new(&list)
    }

    #[test]
    fn every_command_sets_both_sides() {
        let mut forward = expect(&[0, 250, 0, 700]);
        let mut backward = expect(&[0, 0, 1_000, 700]);
        let mut bridge = TwoInputBridge::new(forward.clone(), backward.clone()).unwrap();
        bridge.apply(Command::Coast).unwrap();
        bridge.apply(Command::Drive { duty: Duty::new(0.25).unwrap() }).unwrap();
        bridge.apply(Command::Drive { duty: Duty::LOWEST }).unwrap();
        bridge.apply(Command::Brake { strength: Strength::new(0.7).unwrap() }).unwrap();
        forward.done();
        backward.done();
    }
}
