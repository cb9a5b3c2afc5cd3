//! Scores and findings in plain words.

use crate::score::{Scores, Value};

/// A value with its unit, short enough for a table.
pub fn amount(value: Value, unit: &str) -> String {
    let unit = if unit == "-" { String::new() } else { format!(" {unit}") };
    match value {
        Value::Never => "never".into(),
        Value::NotInThisRun => "not in this run".into(),
        Value::Is(number) => format!("{}{unit}", digits(number)),
    }
}

/// Three significant digits, without an exponent.
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

/// What the scores say, one sentence each.
pub fn sentences(scores: &Scores, creep_slope_deg: f64) -> Vec<String> {
    let mut said = Vec::new();
    let is = |name: &str| scores.value(name).number();
    if let (Some(lurch), Some(peak)) = (is("lurch"), is("peak deceleration")) {
        let tail = match (is("run-on"), is("stop time")) {
            (Some(on), Some(time)) => {
                format!("and it stops after {} m, in {} s", digits(on), digits(time))
            }
            _ => "and it has not stopped by the end".into(),
        };
        said.push(format!(
            "Easing off decelerates at up to {} m/s\u{b2} with a lurch of {} m/s\u{b3}, {tail}.",
            digits(peak),
            digits(lurch)
        ));
    }
    if let (Some(creep), Some(rolled)) = (is("creep"), is("roll-away")) {
        said.push(format!(
            "On {} degrees with the brake fully on it creeps at {} mm/s and rolls {} m in 5 s.",
            digits(creep_slope_deg),
            digits(creep),
            digits(rolled)
        ));
    }
    if let Some(sag) = is("sag") {
        let hidden = match is("mask") {
            Some(mask) => {
                let hidden = digits(mask.max(0.0) * 100.0);
                format!("; speed hold hides {hidden} % of what it would lose")
            }
            None => String::new(),
        };
        said.push(format!(
            "Under the snag it loses {} % of its speed{hidden}.",
            digits(sag * 100.0)
        ));
        let when = match scores.value("notice time") {
            Value::Is(time) => format!("The driver acts {} s after the snag begins", digits(time)),
            _ => "The driver never notices the snag".into(),
        };
        if let (Some(torque), Some(heat)) = (is("hidden torque"), is("hidden heat")) {
            said.push(format!(
                "{when}; meanwhile the drive line takes up to {} N m and the winding {} J.",
                digits(torque),
                digits(heat)
            ));
        }
    }
    if let Some(strain) = is("strain") {
        let verdict = if strain > 1.0 { ": FAILURE, a part would break" } else { "" };
        said.push(format!(
            "The drive line sees {} % of its rating{verdict}.",
            digits(strain * 100.0)
        ));
    }
    if let Some(margin) = is("tip margin") {
        let verdict = if margin <= 0.0 { ": a wheel pair LIFTS" } else { "" };
        said.push(format!(
            "The lightest axle keeps {} % of its load{verdict}.",
            digits(margin * 100.0)
        ));
    }
    said.push(match scores.value("heat time") {
        Value::Is(time) => {
            format!("Driven on like this, the winding is too hot in {} s.", digits(time))
        }
        _ => "Driven on like this, the winding never reaches its limit.".into(),
    });
    said
}

/// The cautions that go with every result.
pub const CAUTIONS: [&str; 6] = [
    "A simulation is not a guarantee: try every new tune with the wheels off the ground first.",
    "Keep fingers, hair and clothes away from gears and tyres.",
    "Charge, store and disconnect lithium packs as their maker says.",
    "Motors, bridges and solder joints get hot.",
    "Not for vehicles that carry people.",
    "Local rules and qualified advice come first.",
];
