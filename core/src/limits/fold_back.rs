//! A limit on motor current: a cap that is integrated down while the current is too high.
//!
//! ```text
//! d cap/dt = 10/s (limit - |i|) / limit,  0 <= cap <= 1
//! ```
//!
//! Source: an integrating limiter, algebra; the rate is our own.

use fixed::types::{I2F30, I16F16};

use crate::shared::ramp::TickRate;
use crate::shared::units::{Amp, Factor, Strength, prepared};

/// The integrating cap of one current limit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct FoldBack {
    limit: I16F16,
    per_amp: Factor,
    per_tick: Factor,
}

/// How far a cap is open, with 30 fraction bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Cap(I2F30);

impl Default for Cap {
    fn default() -> Self {
        Self(I2F30::ONE)
    }
}

impl Cap {
    fn share(self) -> Strength {
        Strength::from_bits(self.0.to_bits() >> 14)
    }
}

impl FoldBack {
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    pub(crate) fn prepare(limit_a: f32, rate: TickRate) -> Self {
        Self {
            limit: prepared(limit_a),
            per_amp: Factor::prepare(1.0 / limit_a),
            per_tick: Factor::prepare(rate.per_tick(10.0)),
        }
    }

    /// `used` is what was commanded in the tick in which `current` flowed. Without a current the limit
    /// does nothing, and remembers.
    pub(crate) fn step(&self, cap: &mut Cap, used: Strength, current: Option<Amp>) -> Strength {
        let Some(current) = current else { return Strength::FULL };
        let room = self.limit.saturating_sub(current.raw().saturating_abs());
        if room >= I16F16::ZERO && cap.0 == I2F30::ONE {
            // Nothing to take back, nothing to give back.
            return Strength::FULL;
        }
        let relative = self.per_amp.of(room);
        let change = self.per_tick.of_exact(relative) >> 18;
        let change = I2F30::from_bits(i32::try_from(change).unwrap_or(i32::MIN));
        // Too much current with half the duty means half the duty is too much, whatever the cap
        // was: begin there, not at the top. A cap already in use keeps its fraction bits.
        let base = if room < I16F16::ZERO && used < cap.share() {
            I2F30::from_bits(used.to_bits().saturating_mul(1 << 14))
        } else {
            cap.0
        };
        cap.0 = base.saturating_add(change).max(I2F30::ZERO).min(I2F30::ONE);
        cap.share()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LIMIT_A: f32 = 10.0;

    /// From fully open, the cap being used to the full for so many ticks.
    fn cap_after(ticks: u32, hz: u16, current: f32) -> f32 {
        let limit = FoldBack::prepare(LIMIT_A, TickRate::new(hz).unwrap());
        let (mut cap, mut used) = (Cap::default(), Strength::FULL);
        for _ in 0..ticks {
            used = limit.step(&mut cap, used, Amp::new(current));
        }
        used.to_f32()
    }

    /// 10/s by twice the limit; 0.1/s by a hundredth too much, which at 8 kHz is less than one unit
    /// of 16 fraction bits per tick.
    #[test]
    fn falls_at_the_stated_rate_at_every_tick_rate() {
        for hz in [100_u16, 200, 1_000, 8_000] {
            let tenth = u32::from(hz) / 10;
            for (current, ticks, left) in
                [(20.0, tenth / 2, 0.5), (-20.0, tenth / 2, 0.5), (10.1, tenth * 10, 0.9)]
            {
                let cap = cap_after(ticks, hz, current);
                assert!((cap - left).abs() < 2e-3, "{current} A at {hz} Hz leaves {cap}");
            }
            assert_eq!(cap_after(tenth, hz, 10.0), 1.0);
            // However much it is, the cap ends at nothing.
            assert_eq!(cap_after(1, hz, 32_000.0), 0.0);
        }
    }

    #[test]
    fn begins_at_the_duty_that_was_too_much_and_only_then() {
        let limit = FoldBack::prepare(LIMIT_A, TickRate::new(1_000).unwrap());
        let third = Strength::new(0.3).unwrap();
        let first = |current| limit.step(&mut Cap::default(), third, current).to_f32();
        assert!((first(Amp::new(20.0)) - 0.29).abs() < 1e-4);
        for allowed in [Amp::new(10.0), Amp::new(-10.0), Amp::new(9.0), Some(Amp::ZERO), None] {
            assert_eq!(first(allowed), 1.0, "{allowed:?}");
        }
        // More used than the cap allows, as after a cap that fell meanwhile: the cap leads.
        let mut cap = Cap(I2F30::from_num(0.2));
        assert!((limit.step(&mut cap, third, Amp::new(20.0)).to_f32() - 0.19).abs() < 1e-4);
        // Without current it opens again at the same rate.
        assert!((limit.step(&mut cap, third, Some(Amp::ZERO)).to_f32() - 0.2).abs() < 1e-4);
    }
}
