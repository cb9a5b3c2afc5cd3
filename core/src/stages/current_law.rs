//! The drag brake's current law: the share of time that gives a braking current.
//!
//! Source: algebra of the shorted motor, `I = share K w / R`.

use fixed::types::I16F16;

use crate::shared::motor::Motor;
use crate::shared::ramp::TickRate;
use crate::shared::units::{Amp, Strength, Volt, part, prepared, product, quotient};

#[derive(Clone, Copy, Debug)]
pub(crate) struct CurrentLaw {
    full_a: I16F16,
    /// `full_a * R` \[V\]: the back-EMF at which full strength needs the whole share.
    full_drop: I16F16,
    /// How fast the share grows per tick while hardly any current answers it.
    search: Strength,
}

/// From nothing to a full short in a tenth of a second: quick beside an onset, slow beside a tick.
const SEARCH_PER_S: f32 = 10.0;

/// A share from which the measured current can lift it again.
const LEAST: I16F16 = I16F16::from_bits(1 << 6);
const QUARTER: I16F16 = I16F16::from_bits(1 << 14);
const SIXTEENTH: I16F16 = I16F16::from_bits(1 << 12);

impl CurrentLaw {
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    pub(crate) fn prepare(full_a: f32, motor: Motor, rate: TickRate) -> Self {
        Self {
            full_a: prepared(full_a),
            full_drop: prepared(full_a * motor.resistance_ohm),
            search: Strength::saturate(prepared(rate.per_tick(SEARCH_PER_S))),
        }
    }

    pub(crate) fn by_speed(&self, level: Strength, emf: Volt) -> Strength {
        let wanted = part(self.full_drop, level.raw());
        let emf = emf.raw();
        // At rest the EMF is zero and any level at all shorts the motor fully.
        if wanted == I16F16::ZERO {
            Strength::ZERO
        } else if wanted >= emf {
            Strength::FULL
        } else {
            // wanted < emf: the quotient is below one, and emf is above zero.
            Strength::saturate(quotient(wanted, emf))
        }
    }

    /// A shorted motor's current is in proportion to the share, whatever the speed: `share wanted /
    /// measured` is the share that gives the wanted current. A quarter of the way each tick keeps a
    /// late or noisy measurement from ringing. With hardly any current the share searches upward.
    pub(crate) fn by_current(&self, level: Strength, share: Strength, amp: Amp) -> Strength {
        let wanted = part(self.full_a, level.raw());
        if wanted == I16F16::ZERO {
            return Strength::ZERO;
        }
        let measured = amp.raw().saturating_abs();
        if measured <= part(wanted, SIXTEENTH) {
            return share + self.search;
        }
        let base = share.raw().max(LEAST);
        // measured > wanted / 16, so the quotient is below 16.
        let right = product(wanted.checked_div(measured).unwrap_or(I16F16::ONE), base);
        let change = part(right.min(I16F16::ONE).saturating_sub(base), QUARTER);
        Strength::saturate(base.saturating_add(change))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shared::error::Check;
    use crate::shared::motor::MotorSettings;

    /// 10 A at full strength through 0.1 ohm: a drop of 1 V.
    fn law(hz: u16) -> CurrentLaw {
        let motor = MotorSettings::default().prepare(&mut Check::new());
        CurrentLaw::prepare(10.0, motor, TickRate::new(hz).unwrap())
    }

    fn strength(value: f32) -> Strength {
        Strength::new(value).unwrap()
    }

    #[test]
    fn by_speed_the_share_is_the_drop_over_the_emf() {
        let share = |level, emf| law(1_000).by_speed(strength(level), Volt::new(emf).unwrap());
        for (level, emf, exact) in [(1.0, 4.0, 0.25), (0.5, 4.0, 0.125), (0.5, 0.6, 0.833_33)] {
            let ours = share(level, emf).to_f32();
            assert!((ours - exact).abs() < 1e-4, "{level} at {emf} V: {ours}");
        }
        // At and below the EMF that needs the whole share; no brake is none at any speed.
        for (level, emf) in [(1.0, 1.0), (1.0, 0.5), (0.5, 0.5), (0.01, 0.0)] {
            assert_eq!(share(level, emf), Strength::FULL, "{level} at {emf} V");
        }
        for emf in [0.0, 0.5, 30.0] {
            assert_eq!(share(0.0, emf), Strength::ZERO, "at {emf} V");
        }
    }

    #[test]
    fn by_current_the_share_goes_a_quarter_of_the_way_each_tick() {
        let next = |level, share, amp| {
            law(1_000).by_current(strength(level), strength(share), Amp::new(amp).unwrap()).to_f32()
        };
        // Right would be 0.4 * 10 / 20 = 0.2 and 0.4 * 10 / 5 = 0.8.
        for (amp, exact) in [(20.0, 0.35), (-20.0, 0.35), (-5.0, 0.5), (10.0, 0.4)] {
            assert!((next(1.0, 0.4, amp) - exact).abs() < 1e-4, "{amp} A: {}", next(1.0, 0.4, amp));
        }
        // The whole share is the most there is to go to: (1 - 0.4) / 4 further.
        assert!((next(1.0, 0.4, 1.0) - 0.55).abs() < 1e-4);
        // From nothing it begins at 2^-10, of which twice as much would be right: 1.25 / 1024.
        assert!((next(1.0, 0.0, 5.0) - 1.25 / 1_024.0).abs() < 1e-4);
        // A level of nothing lets go at once.
        assert_eq!(next(0.0, 0.4, 0.0), 0.0);
        assert_eq!(next(0.0, 0.4, 20.0), 0.0);
    }

    /// A sixteenth of 10 A is 0.625 A.
    #[test]
    fn with_hardly_any_current_the_share_searches_upward_in_a_tenth_of_a_second() {
        for hz in [250_u16, 1_000, 8_000] {
            let (law, mut share, mut ticks) = (law(hz), Strength::ZERO, 0_u16);
            while share < Strength::FULL {
                share = law.by_current(Strength::FULL, share, Amp::new(-0.625).unwrap());
                ticks += 1;
            }
            assert!(ticks.abs_diff(hz / 10) <= hz / 1_000 + 1, "{ticks} ticks at {hz} Hz");
        }
        // Just above it is steered: (1 - 0.4) / 4.
        let amp = Amp::new(0.626).unwrap();
        let steered = law(1_000).by_current(Strength::FULL, strength(0.4), amp).to_f32();
        assert!((steered - 0.55).abs() < 1e-4, "{steered}");
    }
}
