//! A limit by a measured value: a factor that fades from 1 to 0, with hysteresis.
//!
//! Source: common practice (derating with hysteresis), no publication.

use fixed::types::I16F16;

use crate::shared::units::{Strength, prepared, product};

/// Factor 1 up to `from`, 0 beyond the span, straight between; over a value that means harm.
///
/// The harm counts at once when it grows, and only when it has fallen by more than `hysteresis` when it
/// falls (like backlash in a gear): noise smaller than that moves nothing.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Fade {
    from: I16F16,
    per_unit: I16F16,
    hysteresis: I16F16,
}

/// The harm that counts; none at power-on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct FadeState {
    harm: I16F16,
}

impl Default for FadeState {
    fn default() -> Self {
        Self { harm: I16F16::MIN }
    }
}

impl Fade {
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    pub(crate) fn prepare(from: f32, span: f32, hysteresis: f32) -> Self {
        Self {
            from: prepared(from),
            per_unit: prepared(1.0 / span),
            hysteresis: prepared(hysteresis),
        }
    }

    /// Without a measurement the limit does nothing, and remembers.
    pub(crate) fn step(&self, state: &mut FadeState, harm: Option<I16F16>) -> Strength {
        let Some(harm) = harm else { return Strength::FULL };
        state.harm = state.harm.max(harm).min(harm.saturating_add(self.hysteresis));
        let beyond = state.harm.saturating_sub(self.from);
        if beyond <= I16F16::ZERO {
            return Strength::FULL;
        }
        Strength::saturate(I16F16::ONE.saturating_sub(product(beyond, self.per_unit)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn factors(hysteresis: f32, harms: &[f32]) -> std::vec::Vec<f32> {
        let fade = Fade::prepare(100.0, 10.0, hysteresis);
        let mut state = FadeState::default();
        harms.iter().map(|harm| fade.step(&mut state, Some(prepared(*harm))).to_f32()).collect()
    }

    #[test]
    fn falls_at_once_and_comes_back_after_the_play() {
        let harms = [90.0, 104.0, 102.0, 101.0, 100.0, 97.0, 90.0];
        let exact = [1.0, 0.6, 0.6, 0.6, 0.7, 1.0, 1.0];
        for (ours, exact) in factors(3.0, &harms).iter().zip(exact) {
            assert!((ours - exact).abs() < 1e-3, "{ours}, {exact}");
        }
    }

    #[test]
    fn noise_within_the_play_moves_nothing() {
        let noise: std::vec::Vec<f32> =
            (0_u8..200).map(|i| 105.0 - f32::from(i % 7) * 0.3).collect();
        let factors = factors(2.0, &noise);
        assert!(factors.iter().all(|factor| *factor == factors[0]), "{factors:?}");
        assert!(self::factors(0.0, &noise).iter().any(|factor| *factor != factors[0]));
    }

    #[test]
    fn never_rises_with_the_harm() {
        let rising: std::vec::Vec<f32> =
            (0_u16..2_000).map(|i| 90.0 + f32::from(i) * 0.02).collect();
        let factors = factors(1.0, &rising);
        assert!(factors.windows(2).all(|pair| pair[1] <= pair[0]));
        assert_eq!((factors[0], factors[1_999]), (1.0, 0.0));
    }
}
