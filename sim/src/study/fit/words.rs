//! A fit in words.

use super::interval::{CONFIDENCE, Estimate};
use super::log::{Driven, Log};
use super::{Fitted, SignalFit};

/// Digits that count, at most.
const MOST_DIGITS: i32 = 7;

/// A number with so many digits that count, without an exponent where that reads well.
pub fn digits(value: f64, count: usize) -> String {
    if !value.is_finite() {
        return "unbounded".into();
    }
    let exponent = if value == 0.0 { 0 } else { libm::floor(libm::log10(value.abs())) as i32 };
    if !(-4..=6).contains(&exponent) {
        return format!("{value:.*e}", count - 1);
    }
    let after = (count as i32 - 1 - exponent).max(0) as usize;
    format!("{value:.after$}")
}

/// A number of an estimate down to the place that its interval supports: of the greater half of that, two digits
/// count.
fn supported(number: f64, estimate: &Estimate) -> String {
    let [low, high] = estimate.interval.map(|end| (end - estimate.value).abs());
    let magnitude = |number: f64| libm::floor(libm::log10(number.abs())) as i32;
    let half = low.max(high);
    if half == 0.0 || !half.is_finite() || number == 0.0 {
        return digits(number, 3);
    }
    let count = magnitude(number) - magnitude(half) + 2;
    digits(number, count.clamp(1, MOST_DIGITS) as usize)
}

/// A value as it is printed and written into the rig file.
pub fn value(estimate: &Estimate) -> String {
    supported(estimate.value, estimate)
}

/// The interval's ends.
pub(crate) fn interval(estimate: &Estimate) -> String {
    let [low, high] = estimate.interval.map(|end| supported(end, estimate));
    format!("{low} to {high}")
}

/// The heads of the table of unknowns.
pub fn heads() -> [String; 4] {
    let share = format!("{:.0} % interval", 100.0 * CONFIDENCE);
    ["unknown".into(), "began at".into(), "found".into(), share]
}

/// The table of unknowns.
pub fn rows(fitted: &Fitted) -> Vec<[String; 4]> {
    let row = |one: &Estimate| [one.name.clone(), digits(one.guess, 4), value(one), interval(one)];
    fitted.estimates.iter().map(row).collect()
}

/// How well each signal is met, a sentence each.
pub fn met(fitted: &Fitted) -> Vec<String> {
    let sentence = |one: &SignalFit| {
        let met = format!(
            "{}: met to {} root mean square over {} samples",
            one.name,
            digits(one.noise, 3),
            one.samples
        );
        match one.exact {
            true => format!("{met}, as near as the simulation's step allows"),
            false => format!("{met}, which count as {:.0} independent ones", one.independent),
        }
    };
    fitted.signals.iter().map(sentence).collect()
}

/// What was done.
pub fn done(log: &Log, fitted: &Fitted) -> String {
    let by = match log.driven {
        Driven::Bridge(_) => "by the duty of the log, straight to the bridge",
        Driven::Pulses(_) => "by the pulses of the log, through the controller",
    };
    let percent = (100.0 * fitted.finer.relative).max(0.01);
    format!(
        "{:.2} s of log, driven {by}; {} simulations at a step of {:.0} us (halving it moves no estimate by \
         more than {percent:.2} %)",
        log.duration_s(),
        fitted.simulations,
        fitted.step_s * 1.0e6,
    )
}

/// What to write into which file.
pub fn patch(fitted: &Fitted) -> String {
    let mut text = String::new();
    let mut table = "";
    for one in &fitted.estimates {
        let Some((head, key)) = one.name.split_once('.') else { continue };
        if head == "start" {
            continue;
        }
        if head != table {
            let file = if head == "surface" { "  # in the course file" } else { "" };
            let name = if head == "surface" { "[[surface]]".into() } else { format!("[{head}]") };
            text.push_str(&format!("{name}{file}\n"));
            table = head;
        }
        let line = match one.end {
            None => format!("{key} = {}  # fitted, {}\n", value(one), interval(one)),
            Some(end) => format!("# {key} ran to its {end} allowed value; leave it as it was\n"),
        };
        text.push_str(&line);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn as_many_digits_as_the_interval_supports() {
        let said = |number: f64, ends: [f64; 2]| {
            let estimate = Estimate {
                name: String::new(),
                guess: 1.0,
                value: number,
                interval: ends,
                half: 0.0,
                relative: true,
                end: None,
            };
            format!("{}, {}", value(&estimate), interval(&estimate))
        };
        assert_eq!(said(0.080_019_3, [0.079_987, 0.080_051]), "0.080019, 0.079987 to 0.080051");
        assert_eq!(said(1_692.71, [1_640.2, 1_745.6]), "1693, 1640 to 1746");
        assert_eq!(said(3.2655e-6, [1.382e-6, 7.718e-6]), "3.3e-6, 1.4e-6 to 7.7e-6");
        assert_eq!(said(2.4, [2.4, 2.4]), "2.40, 2.40 to 2.40");
        assert_eq!(said(2.4, [1.0e-5, f64::INFINITY]), "2.40, 1.00e-5 to unbounded");
    }
}
