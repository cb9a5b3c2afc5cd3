//! Numbers that are read while they change.

/// With so many decimals. A zero has no sign: one that comes and goes would push the number about.
pub(super) fn fixed(value: f64, decimals: usize) -> String {
    let words = format!("{value:.decimals$}");
    let zero = words.strip_prefix('-').filter(|rest| rest.chars().all(|c| c == '0' || c == '.'));
    zero.map(str::to_owned).unwrap_or(words)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_zero_has_no_sign() {
        assert_eq!([-0.004, -0.006, 0.0].map(|value| fixed(value, 2)), ["0.00", "-0.01", "0.00"]);
        assert_eq!([-0.4, -1.0].map(|value| fixed(value, 0)), ["0", "-1"]);
    }
}
