//! A proportional-integral law with limits, used by the speed hold.
//!
//! ```text
//! e = e0 - droop u,   I[n] = I[n-1] + ki T e,   u = clamp(kp e + I[n], low, high)
//! ```
//!
//! Droop is solved for within the tick (`u` stands on both sides), so that no choice of gains makes
//! it ring. Against wind-up the integral simply does not grow into a limit (conditional
//! integration): the output leaves the limit in the very tick in which the error changes sign,
//! which back-calculation at a finite rate cannot promise.
//!
//! Source: the textbook PI law; droop as governors define it.

use fixed::types::I16F16;

use crate::shared::ramp::TickRate;
use crate::shared::units::{Factor, Span, part, prepared, product};

/// Gains made ready. `error` and output are plain ratios, about -1 to 1.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pi {
    ki_per_tick: Factor,
    droop: I16F16,
    /// `1 / (1 + (kp + ki T) droop)`.
    loop_gain: I16F16,
    /// `kp + ki T`.
    direct: I16F16,
}

/// The integral with 48 fraction bits: products of errors and gains are added exactly.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct PiState {
    integral: i64,
}

impl PiState {
    fn integral(self) -> I16F16 {
        I16F16::from_bits(i32::try_from(self.integral >> 32).unwrap_or_default())
    }
}

impl Pi {
    /// `kp` \[1\], `ki_per_s` \[1/s\], `droop` \[error per output\].
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    pub(crate) fn prepare(kp: f32, ki_per_s: f32, droop: f32, rate: TickRate) -> Self {
        let ki_per_tick = rate.per_tick(ki_per_s);
        let direct = kp + ki_per_tick;
        Self {
            ki_per_tick: Factor::prepare(ki_per_tick),
            droop: prepared(droop),
            loop_gain: prepared(1.0 / (1.0 + direct * droop)),
            direct: prepared(direct),
        }
    }

    /// Makes the next output with this `error` continue at `output`.
    pub(crate) fn resume(&self, state: &mut PiState, error: I16F16, output: I16F16) {
        let net = self.net(error, output);
        let proportional = product(self.direct, net);
        state.integral = i64::from(output.saturating_sub(proportional).to_bits()) << 32;
    }

    /// `limits` bound the output for good, `reach` in this tick: a rate of change holds the output
    /// back, but takes nothing from the integral. Where they do not meet, `reach` decides.
    pub(crate) fn step(
        &self,
        state: &mut PiState,
        error: I16F16,
        limits: Span,
        reach: Span,
    ) -> I16F16 {
        let asked = product(self.direct, error).saturating_add(state.integral());
        let asked = part(asked, self.loop_gain);
        let output = reach.hold(limits.hold(asked));
        let error = self.net(error, output);
        let into_limit =
            (asked > output && error > I16F16::ZERO) || (asked < output && error < I16F16::ZERO);
        if !into_limit {
            state.integral = state.integral.saturating_add(self.ki_per_tick.of_exact(error));
        }
        // A limit that has moved inward takes the integral with it.
        let wide = |bound: I16F16| i64::from(bound.to_bits()) << 32;
        state.integral = state.integral.max(wide(limits.low)).min(wide(limits.high));
        output
    }

    /// The error that the droop leaves.
    fn net(&self, error: I16F16, output: I16F16) -> I16F16 {
        if self.droop == I16F16::ZERO {
            return error;
        }
        error.saturating_sub(product(self.droop, output))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WIDE: Span = Span { low: I16F16::NEG_ONE, high: I16F16::ONE };

    /// Runs a sequence of errors at 1 kHz with `ki` given per tick.
    fn run(kp: f32, ki_per_tick: f32, errors: &[f32], limit: f32) -> std::vec::Vec<f32> {
        let pi = Pi::prepare(kp, ki_per_tick * 1_000.0, 0.0, TickRate::new(1_000).unwrap());
        let mut state = PiState::default();
        let span = Span { low: -prepared(limit), high: prepared(limit) };
        errors.iter().map(|e| pi.step(&mut state, prepared(*e), span, span).to_num()).collect()
    }

    /// CMSIS-DSP `arm_pid_f32`, Kp 0.5 Ki 0.1 (documentation page of v1.14.0; the
    /// numbers were reproduced by its Python package). Positional and velocity form agree while
    /// nothing saturates.
    #[test]
    fn agrees_with_the_published_pid_sequence() {
        let errors = [1.0, 1.0, 1.0, 0.0, -1.0, -1.0, 0.5, 0.0];
        let published = [0.6, 0.7, 0.8, 0.3, -0.3, -0.4, 0.4, 0.15];
        for (ours, theirs) in run(0.5, 0.1, &errors, 10.0).iter().zip(published) {
            // Two units of 2^-16: the source is in f32, we are in 16 fraction bits.
            assert!((ours - theirs).abs() < 3.1e-5, "{ours} against {theirs}");
        }
    }

    #[test]
    fn leaves_the_limit_in_the_tick_in_which_the_error_turns() {
        let mut errors = std::vec![1.0_f32; 60_000];
        errors.push(-0.01);
        let outputs = run(0.5, 0.001, &errors, 0.25);
        assert!(outputs[59_999] >= 0.25);
        assert!(outputs[60_000] < 0.25);
    }

    #[test]
    fn a_reach_holds_the_output_back_and_the_integral_not() {
        let pi = Pi::prepare(1.0, 100.0, 0.0, TickRate::new(1_000).unwrap());
        let (mut state, mut output) = (PiState::default(), I16F16::ZERO);
        let step = prepared(0.01);
        for tick in 1_u8..=20 {
            let reach = Span { low: output - step, high: output + step };
            output = pi.step(&mut state, prepared(0.2), WIDE, reach);
            assert!((output.to_num::<f32>() - 0.01 * f32::from(tick)).abs() < 1e-3);
        }
        // While the reach held it back the integral stood still, so the output does not run past.
        assert!(state.integral() < prepared(0.03));
    }

    #[test]
    fn droop_gives_up_error_in_proportion_to_output() {
        let pi = Pi::prepare(8.0, 20.0, 0.5, TickRate::new(1_000).unwrap());
        let mut state = PiState::default();
        let error = prepared(0.1);
        let mut output = I16F16::ZERO;
        for _ in 0..20_000 {
            output = pi.step(&mut state, error, WIDE, WIDE);
        }
        // Steady: e0 = droop u.
        assert!((output.to_num::<f32>() - 0.2).abs() < 1e-3, "{output}");
    }

    #[test]
    fn leaves_the_lower_limit_in_the_tick_in_which_the_error_turns() {
        let mut errors = std::vec![-1.0_f32; 60_000];
        errors.push(0.01);
        let outputs = run(0.5, 0.001, &errors, 0.25);
        assert!(outputs[59_999] <= -0.25);
        assert!(outputs[60_000] > -0.25);
    }

    /// Held back downward as upward, see above.
    #[test]
    fn a_reach_holds_the_output_up_and_the_integral_not() {
        let pi = Pi::prepare(1.0, 100.0, 0.0, TickRate::new(1_000).unwrap());
        let (mut state, mut output) = (PiState::default(), I16F16::ZERO);
        let step = prepared(0.01);
        for _ in 0..20 {
            let reach = Span { low: output - step, high: output + step };
            output = pi.step(&mut state, prepared(-0.2), WIDE, reach);
        }
        assert!(state.integral() > prepared(-0.03));
    }

    /// `u = (kp + ki T) (e0 - droop u)` solved for `u`: 8.02 * 0.1 / (1 + 8.02 * 0.5).
    #[test]
    fn droop_is_solved_for_within_the_first_tick() {
        let pi = Pi::prepare(8.0, 20.0, 0.5, TickRate::new(1_000).unwrap());
        let first = pi.step(&mut PiState::default(), prepared(0.1), WIDE, WIDE).to_num::<f32>();
        assert!((first - 0.160_08).abs() < 1e-4, "{first}");
    }
}
