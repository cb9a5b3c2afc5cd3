//! Numbers that a few wild values do not move.

/// The value below which the share `part` of the values lies, straight between two of them
/// (definition 7 of Hyndman and Fan, "Sample Quantiles in Statistical Packages", The American Statistician 50(4),
/// 1996, from memory). `None` of nothing.
pub fn quantile(values: &[f64], part: f64) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let last = sorted.len().checked_sub(1)?;
    let place = part.clamp(0.0, 1.0) * last as f64;
    let below = libm::floor(place) as usize;
    let (low, high) = (sorted[below], sorted[(below + 1).min(last)]);
    Some(low + (high - low) * (place - below as f64))
}

/// The middle one.
pub(crate) fn median(values: &[f64]) -> Option<f64> {
    quantile(values, 0.5)
}

/// The standard deviation of normal noise of which 90 % lies within this width: 2 * 1.6449 of it.
pub(crate) fn deviation_of_90(width: f64) -> f64 {
    width / 3.289_7
}

/// Half the width of the interval that holds the true median with 95 %, for normal noise: 1.96 standard errors,
/// each `sqrt(pi / 2) s / sqrt(n)` (large n; textbook).
pub(crate) fn median_within(deviation: f64, count: usize) -> f64 {
    1.96 * libm::sqrt(std::f64::consts::FRAC_PI_2 / count.max(1) as f64) * deviation
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_lie_straight_between_the_values() {
        let values = [4.0, 1.0, 3.0, 2.0];
        assert_eq!(median(&values), Some(2.5));
        assert_eq!(quantile(&values, 0.0), Some(1.0));
        assert_eq!(quantile(&values, 1.0), Some(4.0));
        assert_eq!(quantile(&values, 0.9), Some(3.7));
        assert_eq!(median(&[]), None);
    }
}
