//! A fit in words.

use super::Fitted;
use super::interval::{CONFIDENCE, Estimate};
use super::log::{Driven, Log};

/// Number of digits that a value is given with.
const DIGITS: usize = 5;

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

/// A value as it is printed and written into the rig file.
pub fn value(value: f64) -> String {
    digits(value, DIGITS)
}

/// The interval's ends.
pub fn interval(estimate: &Estimate) -> String {
    let [low, high] = estimate.interval.map(|end| digits(end, 4));
    format!("{low} to {high}")
}

/// The heads of the table of unknowns.
pub fn heads() -> [String; 4] {
    let share = format!("{:.0} % interval", 100.0 * CONFIDENCE);
    ["unknown".into(), "began at".into(), "found".into(), share]
}

/// The table of unknowns.
pub fn rows(fitted: &Fitted) -> Vec<[String; 4]> {
    let row =
        |one: &Estimate| [one.name.clone(), digits(one.guess, 4), value(one.value), interval(one)];
    fitted.estimates.iter().map(row).collect()
}

/// How well each signal is met, a sentence each.
pub fn met(fitted: &Fitted) -> Vec<String> {
    let sentence = |one: &super::SignalFit| {
        format!(
            "{}: met to {} root mean square over {} samples, which count as {:.0} independent ones",
            one.name,
            digits(one.noise, 3),
            one.samples,
            one.independent
        )
    };
    fitted.signals.iter().map(sentence).collect()
}

/// What was done.
pub fn done(log: &Log, fitted: &Fitted) -> String {
    let by = match log.driven {
        Driven::Bridge(_) => "by the duty of the log, straight to the bridge",
        Driven::Pulses(_) => "by the pulses of the log, through the controller",
    };
    format!(
        "{:.2} s of log, driven {by}; {} simulations at a step of {:.0} us (halving it moves no estimate by \
         more than {:.2} %)",
        log.duration_s(),
        fitted.simulations,
        fitted.step_s * 1.0e6,
        100.0 * fitted.finer.relative
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
            None => format!("{key} = {}  # fitted, {}\n", value(one.value), interval(one)),
            Some(end) => format!("# {key} ran to its {end} allowed value; leave it as it was\n"),
        };
        text.push_str(&line);
    }
    text
}
