//! What is made of a recording: a calibration to keep, or what it lacks.

use easeoff_core::{Calibration, CalibrationProgress};

use super::levels::{DeadBand, Level, Levels, Rest};
use super::recording::Origin;
use super::{Measuring, Throttle};
use crate::digits::times;

/// Less time at rest says little about noise \[s\].
const LEAST_REST_S: f64 = 2.0;
/// One side's travel beyond this share of the other's is worth a word.
const EVEN_TRAVEL: f64 = 0.75;
/// A larger share of missing frames is worth a word.
const MOST_MISSING: f64 = 0.01;
/// Frames less even than this cannot be counted surely.
const LEAST_EVEN: f64 = 0.95;

/// Widest to narrowest of some hundred normal pulses, in standard deviations, with a little air.
const SPREAD_PER_DEVIATION: f64 = 8.0;

/// One thing found, and what to do.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Finding {
    /// What.
    pub what: String,
    /// What to do.
    pub remedy: String,
    /// Whether there is no calibration because of it.
    pub stops: bool,
}

/// What is made of a recording.
#[derive(Clone, Debug, Default)]
pub struct Verdict {
    /// To keep: the board's end points with the dead band of the whole recording. `None` where a finding
    /// stops it.
    pub calibration: Option<Calibration>,
    /// Everything worth a word.
    pub findings: Vec<Finding>,
}

impl Verdict {
    /// Of what was found.
    pub fn of(throttle: &Throttle, measuring: &Measuring) -> Self {
        let mut verdict = Self::default();
        verdict.recording(throttle);
        verdict.places(&throttle.levels, measuring);
        verdict.radio(throttle, measuring);
        verdict.board(throttle, measuring);
        if let (CalibrationProgress::Accepted(board), Some(rest)) =
            (throttle.board.progress, &throttle.levels.rest)
        {
            verdict.compare(&board, &throttle.levels, rest, measuring);
            let band = rest.dead_band(board.neutral_us.into());
            verdict.dead_band(band);
            if !verdict.findings.iter().any(|finding| finding.stops) {
                let dead_band_us = band.us as f32;
                verdict.calibration = Some(Calibration { dead_band_us, ..board });
            }
        }
        verdict
    }

    fn note(&mut self, what: impl Into<String>, remedy: impl Into<String>) {
        self.findings.push(Finding { what: what.into(), remedy: remedy.into(), stops: false });
    }

    fn stop(&mut self, what: impl Into<String>, remedy: impl Into<String>) {
        self.findings.push(Finding { what: what.into(), remedy: remedy.into(), stops: true });
    }

    fn recording(&mut self, throttle: &Throttle) {
        if let Origin::Telemetry { refused, losses } = &throttle.pulses.origin {
            self.note(
                "Telemetry shows the pulse in force, not each frame of the radio: frames are not counted, \
                 and noise may look smaller than it is.",
                "Record the receiver's pulses themselves as time_s,pulse_us to have both.",
            );
            if *refused > 0 {
                self.note(
                    format!("Pulses that the board refused meanwhile: {refused}."),
                    "Look at the receiver's leads and aerial.",
                );
            }
            for loss in losses {
                self.note(format!("Of the telemetry, {loss}."), "Check the line and its bit rate.");
            }
        }
        if throttle.board.unseen > 0 {
            self.note(
                format!(
                    "Pulses that came within one tick of the next, so that a board would not see them: {}.",
                    throttle.board.unseen
                ),
                "Check the times in the recording; a radio sends one pulse per 2 to 50 ms.",
            );
        }
    }

    /// What the recording does not contain.
    fn places(&mut self, levels: &Levels, measuring: &Measuring) {
        let least = measuring.calibrator.least_travel_us;
        let Some(rest) = &levels.rest else {
            self.stop(
                format!(
                    "The pulse is nowhere steady within {:.0} us for half a second.",
                    2.0 * levels.half_us
                ),
                "Begin with the throttle let go for 3 s; hold each place still.",
            );
            return;
        };
        let neutral = rest.level.us;
        match (&levels.low, &levels.high) {
            (None, None) => self.stop(
                format!("The throttle is never held {least} us or more from where it stands first ({neutral:.1} us)."),
                "Push it fully to one side for 3 s, then fully to the other.",
            ),
            (Some(only), None) | (None, Some(only)) => self.stop(
                format!(
                    "Only one side is there: {neutral:.1} us at first and {:.1} us held. Or the throttle was held at \
                     first.",
                    only.us
                ),
                "Begin with the throttle let go, then push it fully to both sides.",
            ),
            (Some(low), Some(high)) => {
                let (down, up) = (neutral - low.us, high.us - neutral);
                if down.min(up) < EVEN_TRAVEL * down.max(up) {
                    self.note(
                        format!("One side has {up:.0} us of travel above neutral, the other {down:.0} us below."),
                        "If your throttle moves as far to both sides, push it to its stops, or set the transmitter's \
                         travel.",
                    );
                }
            }
        }
        self.touched(levels);
        self.rest(rest, measuring);
    }

    /// Whether the throttle went further than it was held.
    fn touched(&mut self, levels: &Levels) {
        let Some((shortest, longest)) = levels.passed_us else { return };
        let ends = [(&levels.low, shortest, -1.0), (&levels.high, longest, 1.0)];
        for (level, most, sign) in ends {
            let Some(Level { us, .. }) = level else { continue };
            if sign * (most - us) > 2.0 * levels.half_us {
                self.stop(
                    format!("The throttle went to {most:.1} us, but was held no further than {us:.1} us."),
                    "Push it to its stop and hold it there for 3 s.",
                );
            }
        }
    }

    fn rest(&mut self, rest: &Rest, measuring: &Measuring) {
        let spread = f64::from(measuring.calibrator.spread_us);
        if rest.level.held_s < LEAST_REST_S {
            self.note(
                format!(
                    "It is at rest for {:.1} s only: the noise is not well known.",
                    rest.level.held_s
                ),
                format!("Let it go for {LEAST_REST_S} s or more, before and after."),
            );
        }
        if !rest.at_the_end {
            self.stop(
                "The recording does not end with the throttle let go.",
                "Let it go at the end, for 3 s.",
            );
        }
        let sure = 2.0 * rest.level.within_us + 1.0;
        if rest.drift_us.abs() > sure.max(spread / 4.0) {
            self.note(
                format!("Neutral drifts by {:.1} us from the first rest to the last.", rest.drift_us),
                "Let the transmitter warm up, leave its trim alone, and record again; the dead band given here \
                 already holds this drift, but not a longer one.",
            );
        }
    }

    /// Around the neutral that a board would keep.
    fn dead_band(&mut self, DeadBand { us, outside, .. }: DeadBand) {
        if outside > 0 {
            self.note(
                format!("Pulses at rest beyond the dead band of {us} us: {outside}."),
                "The throttle was touched, or something disturbs the pulses: look at leads and aerial before you \
                 widen the band.",
            );
        }
        if us > 200.0 {
            self.stop(
                format!("At rest it would take a dead band of {us:.0} us; allowed is up to 200."),
                "Find what disturbs the pulses first.",
            );
        }
    }

    fn radio(&mut self, throttle: &Throttle, measuring: &Measuring) {
        if let Some(frames) = &throttle.frames {
            let share = frames.missing_share(throttle.pulses.samples.len());
            if frames.even < LEAST_EVEN {
                self.note(
                    format!(
                        "Only {:.0} % of the frames come at whole multiples of {:.2} ms: the number of missing frames \
                         is not sure.",
                        100.0 * frames.even,
                        frames.period_ms
                    ),
                    "Record with times to a tenth of the frame or finer.",
                );
            }
            if share > MOST_MISSING {
                self.note(
                    format!("{:.1} % of the frames are missing.", 100.0 * share),
                    "Move the aerials away from motor, leads and metal; try nearer by.",
                );
            }
        } else if throttle.pulses.shows_frames() {
            self.note("There are too few frames to tell their period.", "Record for 15 s or more.");
        }
        if throttle.implausible > 0 {
            self.note(
                format!(
                    "Pulses outside {1} to {2} us: {0}.",
                    throttle.implausible, measuring.pulse.plausible_low_us, measuring.pulse.plausible_high_us
                ),
                "Look at the receiver's leads; or set pulse.plausible_low_us and plausible_high_us to the radio's range.",
            );
        }
        let jumps = throttle.board.refused.saturating_sub(throttle.implausible);
        if jumps > 0 {
            self.note(
                format!(
                    "Jumps of more than {} us that waited for the next pulse to confirm them: {jumps}.",
                    measuring.pulse.jump_us
                ),
                "A quick hand does that too; if the hand was slow, look at the receiver's leads and aerial.",
            );
        }
        if let [first, ..] = throttle.board.lost_s[..] {
            self.note(
                format!(
                    "The controller would have lost the signal {}, first at {first:.2} s.",
                    times(throttle.board.lost_s.len())
                ),
                "Record where reception is good; then drive where it is as good.",
            );
        }
    }

    fn board(&mut self, throttle: &Throttle, measuring: &Measuring) {
        match throttle.board.progress {
            CalibrationProgress::Accepted(_) => {}
            CalibrationProgress::Refused(fault) => {
                let when = throttle.board.steps.last().map_or(0.0, |(time, _)| *time);
                let text = fault.to_string();
                // The core's words are: what is wrong; what to do.
                let (what, remedy) = text.split_once("; ").unwrap_or((&text, "Record again."));
                self.stop(format!("A board would refuse this at {when:.2} s: {what}."), remedy);
            }
            waits => self.stop(
                format!("The recording ends while a board would still wait: {}.", waits_for(waits)),
                "Record all four places, each held still for 3 s: rest, full forward, full the other way, rest.",
            ),
        }
        let noisy = SPREAD_PER_DEVIATION * throttle.levels.change_us;
        let spread = f64::from(measuring.calibrator.spread_us);
        if !matches!(throttle.board.progress, CalibrationProgress::Accepted(_)) && noisy > spread {
            let remedy = if noisy <= 50.0 {
                let spread = libm::ceil(noisy);
                // What the core asks for beside such a spread.
                let travel = libm::ceil(51.0 + 3.5 * spread);
                let travel = travel.max(measuring.calibrator.least_travel_us.into());
                format!("Measure again with --spread-us {spread:.0} --least-travel-us {travel:.0}.")
            } else {
                "Find what disturbs the pulses: leads, supply, aerial.".into()
            };
            let what = format!("The noise takes about {noisy:.0} us; {spread} us count as steady.");
            self.stop(what, remedy);
        }
    }

    /// Both must say the same.
    fn compare(
        &mut self,
        board: &Calibration,
        levels: &Levels,
        rest: &Rest,
        measuring: &Measuring,
    ) {
        let spread = f64::from(measuring.calibrator.spread_us);
        for (what, board, level, more) in [
            ("low", board.low_us, levels.low, 0.0),
            ("neutral", board.neutral_us, Some(rest.level), rest.drift_us.abs()),
            ("high", board.high_us, levels.high, 0.0),
        ] {
            let Some(Level { us, .. }) = level else { continue };
            if (f64::from(board) - us).abs() > spread + more {
                self.stop(
                    format!("For {what} a board would take {board:.1} us, where the whole recording says {us:.1} us."),
                    "Hold each place still for 3 s, at its stop, and record again.",
                );
            }
        }
    }
}

/// What a calibration in progress waits for.
pub(crate) fn waits_for(progress: CalibrationProgress) -> &'static str {
    match progress {
        CalibrationProgress::RestIt => "for rest",
        CalibrationProgress::PushFull => "for full forward",
        CalibrationProgress::PushFar => "for the far end",
        CalibrationProgress::RestAgain => "for rest again",
        CalibrationProgress::Accepted(_) => "for nothing: it has accepted",
        CalibrationProgress::Refused(_) => "for nothing: it has refused",
    }
}
