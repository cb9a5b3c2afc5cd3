//! Beside the path: a brake for a bridge that switches fast.
//!
//! The path reckons with a braking share `s` that gives `s` of the shorted motor's current,
//! `i = s e / R` with the back-EMF `e = K G |w|`. A bridge that shorts the motor for the share `b` of
//! each period and opens it for the rest gives that with `b = s` only where its periods are long
//! beside the winding's L/R. With the usual fast PWM the current never comes to rest: it flows on into
//! the pack through the diodes, and
//!
//! ```text
//! i = (e - (1 - b) V) / R       and so, for i = s e / R,       b = 1 - (1 - s) e / V
//! ```
//!
//! Source: the boost converter in continuous conduction (textbook relation, e.g. Erickson and
//! Maksimovic, Fundamentals of Power Electronics, from memory), with the motor as its source; solved
//! for `b`.

use fixed::types::I16F16;

use crate::controller::{Controller, Output};
use crate::shared::units::{Strength, Volt, part, quotient};
use crate::stages::bridge::Command;

impl Controller {
    /// `output`'s command for a bridge whose PWM is fast compared with the winding's L/R: a brake for the
    /// share of time that gives the braking current the path reckoned with. `voltage` is the bus
    /// voltage the step was told.
    ///
    /// Coasting and driving are left as they are, and so is a brake while speed or voltage is not
    /// known; it then brakes less than it should. The voltage of the diodes is left out, which brakes
    /// a little less too. Bounded work, no float, no panic.
    ///
    /// ```
    /// use easeoff_core::*;
    /// let controller = Settings::default().prepare(TickRate::new(1_000).unwrap()).unwrap();
    /// let mut output = Output { command: Command::Brake { strength: Strength::new(0.5).unwrap() }, ..Output::default() };
    /// output.trace.speed = Speed::new(30.0);
    /// // e = K G w = 60 / (2 pi 1000) * 20 * 30 = 5.73 V, so b = 1 - 0.5 * 5.73 / 11.46 = 0.75.
    /// let share = controller.for_fast_bridge(&output, Volt::new(11.46)).braking();
    /// assert!((share.to_f32() - 0.75).abs() < 1e-3);
    /// ```
    pub fn for_fast_bridge(&self, output: &Output, voltage: Option<Volt>) -> Command {
        match (output.command, output.trace.speed, voltage) {
            (Command::Brake { strength }, Some(speed), Some(voltage))
                if strength > Strength::ZERO =>
            {
                let emf = self.motor.emf(speed);
                Command::Brake { strength: shorted_for(strength, emf, voltage) }
            }
            (command, ..) => command,
        }
    }
}

/// `1 - (1 - s) e / V`, between `s` and 1.
fn shorted_for(strength: Strength, emf: Volt, voltage: Volt) -> Strength {
    // Wheels faster than the pack's voltage charge it through the diodes by themselves.
    let ratio = if emf < voltage { quotient(emf.raw(), voltage.raw()) } else { I16F16::ONE };
    let open = part(I16F16::ONE.saturating_sub(strength.raw()), ratio);
    Strength::saturate(I16F16::ONE.saturating_sub(open))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(strength: f32, emf: f32, voltage: f32) -> f32 {
        let volt = |value| Volt::new(value).unwrap();
        shorted_for(Strength::new(strength).unwrap(), volt(emf), volt(voltage)).to_f32()
    }

    #[test]
    fn it_is_the_formula() {
        for strength in [0.0, 0.1, 0.5, 0.9, 1.0_f32] {
            for (emf, voltage) in [(0.0, 7.0), (0.4, 11.1), (5.0, 11.1), (11.0, 11.1), (40.0, 50.0)]
            {
                let exact = 1.0 - (1.0 - strength) * emf / voltage;
                let ours = share(strength, emf, voltage);
                assert!((ours - exact).abs() < 5e-5, "{strength} {emf} {voltage}: {ours}, {exact}");
            }
        }
    }

    #[test]
    fn it_never_leaves_the_span_between_the_strength_and_a_short() {
        for bits in (0..=65_536).step_by(1_023) {
            let strength = Strength::from_bits(bits);
            for emf in [0, 1, 65_535, 65_536, 700_000, i32::MAX].map(Volt::from_bits) {
                for voltage in [i32::MIN, -1, 0, 1, 65_536, 700_000, i32::MAX].map(Volt::from_bits)
                {
                    let share = shorted_for(strength, emf, voltage);
                    assert!(share >= strength, "{strength:?} {emf:?} {voltage:?}: {share:?}");
                }
            }
        }
        assert_eq!(share(1.0, 5.0, 11.1), 1.0);
    }
}
