//! The findings in words, tables and a record.

use easeoff_core::{Calibration, CalibrationProgress};

use super::Throttle;
use super::levels::Level;
use super::verdict::waits_for;
use crate::digits::digits;

/// Where the recommended dead band comes from.
pub const RULE: &str = "Dead band: twice the distance from neutral that 99 of 100 pulses at rest stay within, drift \
     included, at least 8 us, up to the next whole one. Once for what was seen, once for what a minute does not \
     show: temperature, wear, another day. With normal noise and no drift that is 5.2 standard deviations, which one \
     pulse in four million exceeds. Common practice, no source. A board sees a second at a time and takes twice the \
     widest spread there, with the drift: that is wider, and costs more travel.";

/// The rows of the table: what, the whole recording, how sure, the board.
pub fn rows(throttle: &Throttle) -> Vec<Vec<String>> {
    let board = match throttle.board.progress {
        CalibrationProgress::Accepted(calibration) => Some(calibration),
        _ => None,
    };
    let of = |value: fn(&Calibration) -> f32| {
        board.map_or("-".into(), |calibration| format!("{:.2} us", value(&calibration)))
    };
    let place = |name: &str, level: Option<Level>, board: String| {
        let (us, sure) = level.map_or(("not found".into(), "-".into()), |level| {
            let sure = format!(
                "+- {} us; {} pulses, {:.1} s",
                digits(level.within_us),
                level.pulses,
                level.held_s
            );
            (format!("{:.2} us", level.us), sure)
        });
        vec![name.into(), us, board, sure]
    };
    let levels = &throttle.levels;
    let rest = levels.rest.as_ref();
    let mut rows = vec![
        place("low", levels.low, of(|c| c.low_us)),
        place("neutral", rest.map(|rest| rest.level), of(|c| c.neutral_us)),
        place("high", levels.high, of(|c| c.high_us)),
    ];
    let direction = board.map_or("-", |c| if c.reversed { "shorter" } else { "longer" });
    rows.push(
        ["forward is", "-", direction, "from the order in the recording"].map(String::from).into(),
    );
    if let Some(rest) = rest {
        let (us, band) = throttle.neutral(rest);
        let row = |name: &str, value: String, board: String, sure: String| {
            vec![name.to_owned(), value, board, sure]
        };
        let dash = || String::from("-");
        let noise = format!("{} us", digits(rest.noise_us));
        let widest = rest.residuals_us.iter().fold(0.0_f64, |most, us| most.max(us.abs()));
        let sure =
            format!("90 % of the pulses at rest within; the farthest {} us off", digits(widest));
        rows.push(row("noise", noise, dash(), sure));
        let sure = format!(
            "first fifth of the rest to the last; +- {} us",
            digits(2.0 * rest.level.within_us)
        );
        rows.push(row("drift", format!("{} us", digits(rest.drift_us)), dash(), sure));
        let sure = format!(
            "around {us:.2} us; {} of {} pulses at rest outside",
            band.outside, rest.level.pulses
        );
        rows.push(row("dead band", format!("{} us", band.us), of(|c| c.dead_band_us), sure));
    }
    rows
}

/// The heads of [`rows`].
pub fn heads() -> Vec<String> {
    ["", "whole recording", "board", "how sure"].map(String::from).into()
}

/// The frames, a sentence or two.
pub fn radio(throttle: &Throttle) -> Vec<String> {
    let (from, to) = throttle.pulses.span_s();
    let count = throttle.pulses.samples.len();
    let mut said = vec![format!("{count} pulses in {:.1} s.", to - from)];
    if let Some(frames) = &throttle.frames {
        let missing = match (frames.missing, frames.gaps) {
            (0, _) => "no frame is missing".into(),
            (missing, 1) => {
                format!("missing frames: {missing} in a gap of {:.1} ms", frames.longest_ms)
            }
            (missing, gaps) => format!(
                "missing frames: {missing} in {gaps} gaps, the longest {:.1} ms",
                frames.longest_ms
            ),
        };
        said.push(format!(
            "A frame every {:.2} ms, 90 % of the waits within {:.2} ms; {missing}; {:.0} % of the frames come evenly.",
            frames.period_ms,
            frames.jitter_ms,
            100.0 * frames.even
        ));
    }
    said
}

/// What the core's calibrator did, step by step.
pub fn steps(throttle: &Throttle) -> Vec<String> {
    let line = |(time, progress): &(f64, CalibrationProgress)| match progress {
        CalibrationProgress::Accepted(_) => format!("{time:.2} s: accepted"),
        CalibrationProgress::Refused(fault) => format!("{time:.2} s: refused, {fault}"),
        other => format!("{time:.2} s: waits {}", waits_for(*other)),
    };
    throttle.board.steps.iter().map(line).collect()
}

/// Each finding with its remedy.
pub fn findings(throttle: &Throttle) -> Vec<String> {
    let sentence = |finding: &super::verdict::Finding| {
        format!("{} {}", finding.what, capital(&finding.remedy))
    };
    throttle.verdict.findings.iter().map(sentence).collect()
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
    let dot = if text.ends_with('.') { "" } else { "." };
    format!("{first}{}{dot}", chars.as_str())
}

/// What is worth keeping, in words.
pub fn kept(throttle: &Throttle) -> String {
    throttle.verdict.calibration.map_or_else(
        || "No calibration: see what is missing.".into(),
        |kept| {
            format!(
                "Calibration: low {:.1}, neutral {:.1}, high {:.1} us, dead band {:.1} us{}.",
                kept.low_us,
                kept.neutral_us,
                kept.high_us,
                kept.dead_band_us,
                if kept.reversed { ", reversed" } else { "" }
            )
        },
    )
}

/// A calibration in one line.
pub fn values(calibration: &Calibration) -> String {
    let Calibration { low_us, neutral_us, high_us, dead_band_us, reversed } = calibration;
    let reversed = if *reversed { ", reversed" } else { "" };
    format!(
        "low {low_us}, neutral {neutral_us}, high {high_us} us, dead band {dead_band_us} us{reversed}"
    )
}

/// For a terminal.
pub fn text(throttle: &Throttle) -> String {
    let mut text = String::new();
    for sentence in radio(throttle) {
        text.push_str(&format!("{sentence}\n"));
    }
    text.push('\n');
    for row in std::iter::once(heads()).chain(rows(throttle)) {
        let line = format!("{:<12}{:<17}{:<14}{}", row[0], row[1], row[2], row[3]);
        text.push_str(&format!("{}\n", line.trim_end()));
    }
    text.push('\n');
    for sentence in findings(throttle) {
        text.push_str(&format!("- {sentence}\n"));
    }
    text.push_str(&format!("\n{}\n", kept(throttle)));
    text
}
