//! First stage: is there a signal, and is this pulse believable?
//!
//! A sample is believed when it lies in the plausible window and within `jump_us` of the pulse in
//! force, or of the sample before it, which thereby confirms it: a lone jump never gets through, and
//! a quick hand waits one frame. Bad samples change nothing and are counted; up to `tolerate` of them
//! in a row are bridged by the pulse in force, one more means that there is no signal.
//!
//! Source: common practice, no publication; pulses of 1000 to 2000 us as servos use them.

use fixed::types::I16F16;

use crate::settings::allowed;
use crate::shared::error::Check;
use crate::shared::ramp::TickRate;
use crate::shared::units::{Microseconds, prepared};

/// What counts as a pulse, and how long silence may last.
///
/// ```
/// use easeoff_core::*;
/// let mut tune = Settings::default();
/// tune.pulse.jump_us = 200.0;
/// let controller = tune.prepare(TickRate::new(1_000).unwrap()).unwrap();
/// let mut state = State::default();
/// let throttle = |us: f32| Input { pulse: Microseconds::new(us), ..Input::default() };
/// let step = |state: &mut State, us| controller.step(state, &throttle(us)).trace.pulse;
/// step(&mut state, 1_500.0);
/// assert_eq!(step(&mut state, 1_900.0), Microseconds::new(1_500.0)); // a lone jump waits
/// assert_eq!(step(&mut state, 1_910.0), Microseconds::new(1_910.0)); // the next confirms it
/// let silence = controller.step_for(&mut state, &Input::default(), 101);
/// assert_eq!(silence.trace.pulse, None);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct PulseSettings {
    /// Shorter pulses are bad samples \[us\], 500 to 1400.
    pub plausible_low_us: f32,
    /// Longer pulses are bad samples \[us\], 1600 to 2500.
    pub plausible_high_us: f32,
    /// A pulse that differs more than this from the pulse in force waits for the next to confirm
    /// it \[us\], 20 to 2000; 2000 lets every plausible pulse through at once.
    pub jump_us: f32,
    /// Bad samples in a row that the pulse in force bridges, 0 to 100.
    pub tolerate: u8,
    /// The signal counts as lost after this long without a good pulse \[ms\], 20 to 500. It cannot
    /// be switched off.
    pub loss_after_ms: f32,
}

impl Default for PulseSettings {
    /// 800 to 2200 us, jumps beyond 300 us are confirmed, ten bad samples are bridged, lost after
    /// 100 ms.
    fn default() -> Self {
        Self {
            plausible_low_us: 800.0,
            plausible_high_us: 2_200.0,
            jump_us: 300.0,
            tolerate: 10,
            loss_after_ms: 100.0,
        }
    }
}

/// The stage made ready.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pulse {
    low: Microseconds,
    high: Microseconds,
    jump: I16F16,
    tolerate: u8,
    loss_ticks: u32,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct PulseState {
    held: Option<Microseconds>,
    /// The sample before, while it is plausible and unconfirmed.
    suspect: Option<Microseconds>,
    ticks_since_good: u32,
    bad_in_a_row: u8,
    bad_samples: u16,
}

impl PulseState {
    /// The pulse in force; `None` while there is no signal.
    pub(crate) fn held(&self) -> Option<Microseconds> {
        self.held
    }
}

/// What the stage saw in one tick.
pub(crate) struct PulseOutput {
    /// The last good pulse; `None` while there is no signal.
    pub(crate) signal: Option<Microseconds>,
    /// This tick's sample was refused, or waits to be confirmed.
    pub(crate) bad_sample: bool,
    /// Bad samples since power-on, up to 65,535.
    pub(crate) bad_samples: u16,
}

impl PulseSettings {
    pub(crate) fn prepare(&self, rate: TickRate, check: &mut Check) -> Pulse {
        let low = check.range(allowed!("pulse.plausible_low_us"), self.plausible_low_us);
        let high = check.range(allowed!("pulse.plausible_high_us"), self.plausible_high_us);
        let jump = check.range(allowed!("pulse.jump_us"), self.jump_us);
        check.range(allowed!("pulse.tolerate"), f32::from(self.tolerate));
        let loss = check.range(allowed!("pulse.loss_after_ms"), self.loss_after_ms);
        Pulse {
            low: Microseconds::saturate(prepared(low)),
            high: Microseconds::saturate(prepared(high)),
            jump: prepared(jump),
            tolerate: self.tolerate,
            loss_ticks: rate.ticks(loss).max(1),
        }
    }
}

impl Pulse {
    /// `sample` is the pulse that ended in this tick, if one did. A good pulse is held until the
    /// next; a bad one changes nothing.
    pub(crate) fn step(&self, state: &mut PulseState, sample: Option<Microseconds>) -> PulseOutput {
        let plausible = sample.filter(|width| (self.low..=self.high).contains(width));
        let good = plausible.filter(|width| self.believed(state, *width));
        let bad_sample = sample.is_some() && good.is_none();
        if let Some(width) = good {
            state.held = Some(width);
            state.suspect = None;
            (state.ticks_since_good, state.bad_in_a_row) = (0, 0);
        } else {
            state.ticks_since_good = state.ticks_since_good.saturating_add(1);
            if bad_sample {
                state.suspect = plausible;
                state.bad_in_a_row = state.bad_in_a_row.saturating_add(1);
                state.bad_samples = state.bad_samples.saturating_add(1);
            }
            if state.ticks_since_good > self.loss_ticks || state.bad_in_a_row > self.tolerate {
                (state.held, state.suspect) = (None, None);
            }
        }
        PulseOutput { signal: state.held, bad_sample, bad_samples: state.bad_samples }
    }

    /// With nothing in force there is nothing to jump from; what drives must rest at neutral first.
    fn believed(&self, state: &PulseState, width: Microseconds) -> bool {
        let near = |other: Microseconds| (width - other).raw().saturating_abs() <= self.jump;
        state.held.is_none_or(near) || state.suspect.is_some_and(near)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn us(width: f32) -> Option<Microseconds> {
        Microseconds::new(width)
    }

    #[test]
    fn loss_begins_one_tick_after_the_stated_time() {
        let rate = TickRate::new(1_000).unwrap();
        for loss_after_ms in [20.0_f32, 21.0, 100.0, 499.0, 500.0] {
            let settings = PulseSettings { loss_after_ms, ..PulseSettings::default() };
            let pulse = settings.prepare(rate, &mut Check::new());
            let mut state = PulseState::default();
            assert!(pulse.step(&mut state, us(1_600.0)).signal.is_some());
            let mut silent = 0_u16;
            while pulse.step(&mut state, None).signal.is_some() {
                silent += 1;
            }
            assert_eq!(f32::from(silent), loss_after_ms);
        }
    }

    #[test]
    fn a_bad_sample_is_reported_and_changes_nothing() {
        let pulse =
            PulseSettings::default().prepare(TickRate::new(1_000).unwrap(), &mut Check::new());
        let mut state = PulseState::default();
        pulse.step(&mut state, us(1_700.0));
        for (count, bad) in (1_u16..).zip([0.0, 799.0, 2_201.0, -5.0, 30_000.0]) {
            let output = pulse.step(&mut state, us(bad));
            assert!(output.bad_sample);
            assert_eq!(output.signal, us(1_700.0));
            assert_eq!(output.bad_samples, count);
        }
    }

    fn signals(settings: PulseSettings, samples: &[f32]) -> std::vec::Vec<Option<Microseconds>> {
        let pulse = settings.prepare(TickRate::new(1_000).unwrap(), &mut Check::new());
        let mut state = PulseState::default();
        samples.iter().map(|width| pulse.step(&mut state, us(*width)).signal).collect()
    }

    #[test]
    fn a_lone_jump_is_refused_and_a_confirmed_one_is_taken() {
        let samples = [1_500.0, 1_900.0, 1_510.0, 1_900.0, 1_880.0, 1_590.0, 1_200.0, 1_100.0];
        let expected = [1_500.0, 1_500.0, 1_510.0, 1_510.0, 1_880.0, 1_590.0, 1_590.0, 1_100.0];
        assert_eq!(signals(PulseSettings::default(), &samples), expected.map(us));
        // An implausible sample between the two leaves the jump unconfirmed.
        let samples = [1_500.0, 1_900.0, 0.0, 1_900.0, 1_900.0];
        let expected = [1_500.0, 1_500.0, 1_500.0, 1_500.0, 1_900.0];
        assert_eq!(signals(PulseSettings::default(), &samples), expected.map(us));
        // Exactly the permitted jump is none.
        let samples = [1_500.0, 1_800.0, 1_499.0];
        let expected = [1_500.0, 1_800.0, 1_800.0];
        assert_eq!(signals(PulseSettings::default(), &samples), expected.map(us));
    }

    #[test]
    fn as_many_bad_samples_as_set_are_bridged_and_no_more() {
        let settings = PulseSettings { tolerate: 2, ..PulseSettings::default() };
        let samples = [1_500.0, 0.0, 0.0, 1_520.0, 0.0, 0.0, 0.0, 1_900.0];
        let held = [Some(1_500.0), Some(1_500.0), Some(1_500.0), Some(1_520.0)];
        let lost = [Some(1_520.0), Some(1_520.0), None, Some(1_900.0)];
        let expected: std::vec::Vec<_> =
            held.iter().chain(&lost).map(|width| width.and_then(us)).collect();
        assert_eq!(signals(settings, &samples), expected);
    }
}
