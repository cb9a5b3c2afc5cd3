//! Which way it drives, and how hard backward.

use easeoff_core::ReversePolicy;

use super::{Finding, PRACTICE, Severity, Subject, with};
use crate::digits::digits;

const STARTS: &str =
    "A rig that starts by itself or the wrong way runs into people. Wheels off the ground first.";

/// Reverse: how much, and whether from speed.
pub(super) fn reverse(subject: &Subject<'_>) -> Vec<Finding> {
    let tune = &subject.scenario.tune;
    let mut found = Vec::new();
    let backward = f64::from(tune.limits.reverse);
    if tune.mode.reverse != ReversePolicy::Never && backward > 0.5 {
        let full_m_s = subject.pinion.full_m_s;
        found.push(Finding {
            what: "reverse limit",
            severity: Severity::Doubtful,
            is: format!(
                "{} of full duty, {} in the air",
                digits(backward),
                with(backward * full_m_s, "m/s")
            ),
            limit: "0.5 of full duty".into(),
            says: "It goes fast backward, where nobody sees what is behind it.".into(),
            source: PRACTICE,
            caution: STARTS,
            remedy: "Set limits.reverse to 0.5 or less.".into(),
        });
    }
    if tune.mode.reverse == ReversePolicy::Direct {
        found.push(Finding {
            what: "reverse policy",
            severity: Severity::Doubtful,
            is: "direct".into(),
            limit: "after-stop".into(),
            says: "The motor is turned against the rolling rig: the drive line takes the blow."
                .into(),
            source: PRACTICE,
            caution: STARTS,
            remedy: "Set mode.reverse to \"after-stop\".".into(),
        });
    }
    if tune.calibration.reversed {
        found.push(Finding {
            what: "direction",
            severity: Severity::Note,
            is: "reversed".into(),
            limit: "as the radio sends it".into(),
            says: "Full throttle is the shorter pulse. A radio that also reverses makes it longer again.".into(),
            source: PRACTICE,
            caution: STARTS,
            remedy: "Try a touch of throttle with the wheels off the ground; turn it round in one place only."
                .into(),
        });
    }
    found
}

/// Where the radio rests against where the tune expects it.
pub(super) fn neutral(subject: &Subject<'_>) -> Vec<Finding> {
    let (radio, calibration) = (&subject.scenario.driver.radio, &subject.scenario.tune.calibration);
    let off_us = (radio.neutral_us - f64::from(calibration.neutral_us)).abs();
    let band_us = f64::from(calibration.dead_band_us);
    if off_us <= band_us {
        return Vec::new();
    }
    vec![Finding {
        what: "neutral",
        severity: Severity::Wrong,
        is: with(off_us, "us off"),
        limit: with(band_us, "us, the dead band"),
        says: "With the throttle let go it either never arms, or drives on.".into(),
        source: "what the controller does, see Controls",
        caution: STARTS,
        remedy: "Set calibration.neutral_us to what the radio sends at rest, or trim the radio."
            .into(),
    }]
}
