//! Finds a throttle's end points: a board walks its driver through four places and measures each.
//!
//! ```text
//! at rest -> full forward -> the far end (full reverse or brake) -> at rest again
//! ```
//!
//! A place counts when the pulse was *steady* there: for a set time every pulse lay within a set
//! spread. Distance from the first rest then says which place it is:
//!
//! | distance | the throttle is |
//! |---|---|
//! | up to the spread | at rest |
//! | from the least travel on | pushed |
//! | between the two | neither: not pushed far enough, or a neutral that moved |
//!
//! Times are counted in ticks, steadiness in pulses that arrived.
//!
//! Only the driver knows which place is which: a throttle held at first is taken for one at rest.
//! What was found is to be shown before it is kept.

mod fault;
mod settings;
mod window;

pub use fault::CalibrationFault;
pub use settings::CalibratorSettings;

use fixed::types::I16F16;

use crate::shared::units::Microseconds;
use crate::stages::demand::Calibration;
use window::{Place, Steady, Window};

/// Pulses in a row that make a way back; one alone may be a glitch.
const BACK_PULSES: u8 = 3;

/// What the driver is to do, or how it ended. An end is kept until the state is made anew.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum CalibrationProgress {
    /// Let the throttle go.
    #[default]
    RestIt,
    /// Push it fully forward and hold it there.
    PushFull,
    /// Push it fully the other way and hold it there.
    PushFar,
    /// Let it go again.
    RestAgain,
    /// Measured; [`crate::Settings::prepare`] takes it where the plausible window lets it through.
    Accepted(Calibration),
    /// Not measured. Begin anew with a new state.
    Refused(CalibrationFault),
}

/// A calibrator made ready for one tick rate.
#[derive(Clone, Copy, Debug)]
pub struct Calibrator {
    steady: Steady,
    silence_ticks: u32,
    place_ticks: u32,
    least_travel: Microseconds,
    half_travel: Microseconds,
    plausible: (Microseconds, Microseconds),
    least_dead_band: Microseconds,
}

/// How far a calibration has come; the default is its beginning.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CalibratorState {
    progress: CalibrationProgress,
    silent_ticks: u32,
    rest: Place,
    full: Microseconds,
    far: Microseconds,
    at: AtPlace,
}

/// What is forgotten when the next place is asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct AtPlace {
    ticks: u32,
    window: Window,
    steady_once: bool,
    /// Distance from rest at which it was held though that is too little.
    short: Option<Microseconds>,
    /// Pulses in a row near rest, until there are enough of them.
    back_pulses: u8,
}

impl Calibrator {
    /// One tick. `pulse` is the pulse that ended in this tick, if one did. Bounded work: one pulse
    /// is looked at once; nothing is kept but sums and extremes. It ends within 4 * 30 s.
    ///
    /// The throttle is pushed fully both ways: give the bridge [`crate::Command::Coast`] all the while.
    ///
    /// The accepted calibration's end points are the means of the steady pulses, its neutral the
    /// middle of both rests, all to 1/16 us. Where the throttle was held further out later on, the
    /// outermost place counts, so that a pause on the way does no harm.
    ///
    /// ```text
    /// dead band = 2 * spread at rest + |second rest - first rest|, at least 8 us
    /// ```
    ///
    /// with the larger of both rests' spreads: half a spread would hold the pulses seen, the rest is
    /// margin. The rule is our own choice; no source.
    ///
    /// ```
    /// use easeoff_core::{
    ///     CalibrationProgress as Progress, CalibratorSettings, CalibratorState, Microseconds, TickRate,
    /// };
    /// let rate = TickRate::new(100).unwrap();
    /// let calibrator = CalibratorSettings::default().prepare(rate).unwrap();
    /// let mut state = CalibratorState::default();
    /// // A driver who does as told; a real board shows the progress and reads the receiver.
    /// let mut pulse_us = 1_520.0;
    /// let calibration = loop {
    ///     pulse_us = match calibrator.step(&mut state, Microseconds::new(pulse_us)) {
    ///         Progress::RestIt | Progress::RestAgain => 1_520.0,
    ///         Progress::PushFull => 1_080.0,
    ///         Progress::PushFar => 1_890.0,
    ///         Progress::Accepted(calibration) => break calibration,
    ///         Progress::Refused(fault) => panic!("{fault}"),
    ///     };
    /// };
    /// assert_eq!((calibration.low_us, calibration.high_us), (1_080.0, 1_890.0));
    /// assert_eq!((calibration.neutral_us, calibration.dead_band_us), (1_520.0, 8.0));
    /// assert!(calibration.reversed, "pushing forward shortened the pulse");
    /// ```
    pub fn step(
        &self,
        state: &mut CalibratorState,
        pulse: Option<Microseconds>,
    ) -> CalibrationProgress {
        use CalibrationProgress::{Accepted, Refused};
        if matches!(state.progress, Accepted(_) | Refused(_)) {
            return state.progress;
        }
        let at = &mut state.at;
        at.ticks = at.ticks.saturating_add(1);
        at.window.tick();
        state.silent_ticks = state.silent_ticks.saturating_add(1);
        let mut next = state.progress;
        if let Some(width) = pulse {
            state.silent_ticks = 0;
            self.note_way_back(state, width);
            if let Some(place) = state.at.window.take(width, &self.steady) {
                next = self.judge(state, place).unwrap_or_else(Refused);
            }
        }
        if next == state.progress {
            if state.silent_ticks > self.silence_ticks {
                next = Refused(CalibrationFault::NoSignal);
            } else if state.at.ticks >= self.place_ticks {
                next = Refused(state.at.too_late());
            }
        }
        if next != state.progress {
            state.progress = next;
            state.at = AtPlace::default();
        }
        next
    }

    /// What a steady place means where the calibration stands.
    fn judge(
        &self,
        state: &mut CalibratorState,
        place: Place,
    ) -> Result<CalibrationProgress, CalibrationFault> {
        use CalibrationProgress::{Accepted, PushFar, PushFull, RestAgain, RestIt};
        let (least, most) = self.plausible;
        if place.mean < least || place.mean > most {
            return Err(CalibrationFault::OutOfRange { pulse: place.mean });
        }
        state.at.steady_once = true;
        let distance = distance(place.mean, state.rest.mean);
        let pushed = distance >= self.least_travel;
        let resting = distance <= self.steady.spread;
        match state.progress {
            RestIt => {
                state.rest = place;
                return Ok(PushFull);
            }
            PushFull if pushed => {
                state.full = place.mean;
                return Ok(PushFar);
            }
            PushFar if pushed && state.is_forward(place.mean) => {
                if state.at.back_pulses >= BACK_PULSES {
                    return Err(CalibrationFault::SameSideTwice);
                }
                state.full = self.further(state, state.full, place.mean);
            }
            PushFar if pushed => {
                state.far = place.mean;
                return Ok(RestAgain);
            }
            PushFull | PushFar if resting => {
                // Back from a push that was none.
                if let Some(travel) = state.at.short {
                    return Err(CalibrationFault::TooLittleTravel { travel });
                }
            }
            PushFull => state.at.short = Some(distance),
            PushFar if !state.is_forward(place.mean) => state.at.short = Some(distance),
            RestAgain if resting => return Ok(Accepted(self.accept(state, place))),
            RestAgain if !pushed => {
                let by = place.mean - state.rest.mean;
                return Err(CalibrationFault::NeutralMoved { by });
            }
            RestAgain if !state.is_forward(place.mean) => {
                state.far = self.further(state, state.far, place.mean);
            }
            _ => {}
        }
        Ok(state.progress)
    }

    /// Full forward is let go as soon as some pulses in a row lie in the inner half of the least
    /// travel or beyond it.
    fn note_way_back(&self, state: &mut CalibratorState, width: Microseconds) {
        let back = !state.is_forward(width) || distance(width, state.rest.mean) < self.half_travel;
        let pulses = &mut state.at.back_pulses;
        if *pulses < BACK_PULSES {
            *pulses = if back { pulses.saturating_add(1) } else { 0 };
        }
    }

    /// The place further out, if it is so by more than the spread: less is noise.
    fn further(
        &self,
        state: &CalibratorState,
        end: Microseconds,
        new: Microseconds,
    ) -> Microseconds {
        let rest = state.rest.mean;
        if distance(new, rest) > distance(end, rest) + self.steady.spread { new } else { end }
    }

    fn accept(&self, state: &CalibratorState, again: Place) -> Calibration {
        let first = state.rest;
        let twice = i64::from(first.mean.to_bits()).saturating_add(again.mean.to_bits().into());
        let neutral = Microseconds::from_bits(i32::try_from(twice >> 1).unwrap_or_default());
        let spread = first.spread.max(again.spread);
        // Three spreads of 50 us at most: below the 200 us a calibration allows.
        let dead_band = spread + spread + distance(first.mean, again.mean);
        Calibration {
            low_us: sixteenths(state.full.min(state.far)),
            neutral_us: sixteenths(neutral),
            high_us: sixteenths(state.full.max(state.far)),
            dead_band_us: sixteenths(dead_band.max(self.least_dead_band)),
            reversed: state.full < first.mean,
        }
    }
}

impl CalibratorState {
    /// Whether a pulse lies on the side of rest on which full forward was found.
    fn is_forward(&self, width: Microseconds) -> bool {
        (width >= self.rest.mean) == (self.full >= self.rest.mean)
    }
}

impl AtPlace {
    fn too_late(&self) -> CalibrationFault {
        match self.short {
            Some(travel) => CalibrationFault::TooLittleTravel { travel },
            None if self.steady_once => CalibrationFault::TimedOut,
            None => CalibrationFault::NeverSteady,
        }
    }
}

fn distance(a: Microseconds, b: Microseconds) -> Microseconds {
    a.max(b) - a.min(b)
}

/// To the nearest 1/16 us: a float holds that exactly, so that sums of end points round nowhere.
fn sixteenths(width: Microseconds) -> f32 {
    let half_up = width.raw().saturating_add(I16F16::from_bits(1 << 11));
    Microseconds::from_bits(half_up.to_bits() & !0xFFF).to_f32()
}

#[cfg(test)]
mod tests;
