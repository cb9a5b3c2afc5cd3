//! Numbers and counts as a person reads and writes them.

use std::ops::RangeInclusive;

/// Three significant digits, without an exponent; three places where the number is small, so that dust is 0.
pub fn digits(number: f64) -> String {
    let size = number.abs();
    let places = match size {
        _ if size >= 100.0 => 0,
        _ if size >= 10.0 => 1,
        _ if size >= 0.995 || size == 0.0 => 2,
        _ => 3,
    };
    let text = format!("{number:.places$}");
    if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
        "0".into()
    } else {
        text
    }
}

/// Three significant digits however small the number is, without zeros at the end: for settings, of which none is dust.
pub fn exact_digits(number: f64) -> String {
    let places = (2.0 - libm::log10(number.abs()).floor()).clamp(0.0, 12.0) as usize;
    let text = format!("{number:.places$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').into() } else { text }
}

/// How often, in words.
pub(crate) fn times(count: usize) -> String {
    if count == 1 { "once".into() } else { format!("{count} times") }
}

/// A name for one more, unlike those that are `taken`: two of one name could not be told apart.
pub fn apart(name: &str, taken: &[&str]) -> String {
    let numbered = (2..).map(|number| format!("{name} {number}"));
    let mut names = std::iter::once(name.to_owned()).chain(numbered);
    names.find(|name| !taken.contains(&name.as_str())).unwrap_or_default()
}

/// A number within a range, as it was typed.
///
/// # Errors
/// What is allowed.
pub fn within(text: &str, range: RangeInclusive<f64>) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if range.contains(&value) => Ok(value),
        _ => Err(format!("allowed is a number from {} to {}", range.start(), range.end())),
    }
}
