//! A low-pass filter without phase shift, for accelerations.

use biquad::{Biquad, Coefficients, DirectForm2Transposed, Q_BUTTERWORTH_F64, Type};

/// Second-order Butterworth low-pass, run forward and backward. The signal is mirrored at both ends,
/// so that a constant stays constant up to them. Returned unchanged when `cutoff_hz` is not below
/// half the sampling rate.
pub(crate) fn low_pass(signal: &[f64], tick_s: f64, cutoff_hz: f64) -> Vec<f64> {
    let relative = 2.0 * cutoff_hz * tick_s;
    let Ok(coefficients) =
        Coefficients::from_normalized_params(Type::LowPass, relative, Q_BUTTERWORTH_F64)
    else {
        return signal.to_vec();
    };
    // Three time constants of the filter's slowest decay settle it.
    let pad = ((1.0 / (cutoff_hz * tick_s)) as usize).min(signal.len().saturating_sub(1));
    let (first, last) = match signal {
        [first, .., last] => (*first, *last),
        _ => return signal.to_vec(),
    };
    let before = signal[1..=pad].iter().rev().map(|value| 2.0 * first - value);
    let end = signal.len() - 1;
    let after = signal[end - pad..end].iter().rev().map(|value| 2.0 * last - value);
    let mut padded: Vec<f64> = before.chain(signal.iter().copied()).chain(after).collect();
    for _ in 0..2 {
        let mut filter = DirectForm2Transposed::<f64>::new(coefficients);
        settle(&mut filter, coefficients, padded[0]);
        padded.iter_mut().for_each(|value| *value = filter.run(*value));
        padded.reverse();
    }
    padded[pad..pad + signal.len()].to_vec()
}

/// Begins as if the first value had always been there.
fn settle(filter: &mut DirectForm2Transposed<f64>, c: Coefficients<f64>, value: f64) {
    filter.s2 = (c.b2 - c.a2) * value;
    filter.s1 = (c.b1 - c.a1) * value + filter.s2;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_constant_passes_and_a_sine_at_the_corner_is_halved_without_delay() {
        let flat = low_pass(&[3.0; 500], 1.0e-3, 10.0);
        assert!(flat.iter().all(|value| (value - 3.0).abs() < 1e-9));
        // Forward and backward: (1/sqrt 2)^2 = 1/2 at the corner frequency.
        let sine: Vec<f64> = (0..4_000)
            .map(|i| libm::sin(2.0 * std::f64::consts::PI * 10.0 * 1.0e-3 * f64::from(i)))
            .collect();
        let filtered = low_pass(&sine, 1.0e-3, 10.0);
        for (now, was) in filtered[1_500..2_500].iter().zip(&sine[1_500..2_500]) {
            assert!((now - was / 2.0).abs() < 2e-3, "{now} {was}");
        }
    }
}
