//! First stage: is there a signal, and is this pulse believable?

use crate::error::Check;
use crate::ramp::TickRate;
use crate::units::{Microseconds, prepared};

/// What counts as a pulse, and how long silence may last.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct PulseSettings {
    /// Shorter pulses are bad samples \[us\], 500 to 1400.
    pub plausible_low_us: f32,
    /// Longer pulses are bad samples \[us\], 1600 to 2500.
    pub plausible_high_us: f32,
    /// The signal counts as lost after this long without a good pulse \[ms\], 20 to 500. It cannot
    /// be switched off.
    pub loss_after_ms: f32,
}

impl Default for PulseSettings {
    /// 800 to 2200 us, lost after 100 ms.
    fn default() -> Self {
        Self { plausible_low_us: 800.0, plausible_high_us: 2_200.0, loss_after_ms: 100.0 }
    }
}

/// The stage made ready.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pulse {
    low: Microseconds,
    high: Microseconds,
    loss_ticks: u32,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct PulseState {
    held: Option<Microseconds>,
    ticks_since_good: u32,
}

/// What the stage saw in one tick.
pub(crate) struct PulseOutput {
    /// The last good pulse; `None` while there is no signal.
    pub(crate) signal: Option<Microseconds>,
    /// This tick's sample was refused.
    pub(crate) bad_sample: bool,
}

impl PulseSettings {
    pub(crate) fn prepare(&self, rate: TickRate, check: &mut Check) -> Pulse {
        let low = check.range("pulse.plausible_low_us", self.plausible_low_us, 500.0..=1_400.0);
        let high =
            check.range("pulse.plausible_high_us", self.plausible_high_us, 1_600.0..=2_500.0);
        let loss = check.range("pulse.loss_after_ms", self.loss_after_ms, 20.0..=500.0);
        Pulse {
            low: Microseconds::saturate(prepared(low)),
            high: Microseconds::saturate(prepared(high)),
            loss_ticks: rate.ticks(loss).max(1),
        }
    }
}

impl Pulse {
    /// `sample` is the pulse that ended in this tick, if one did. A good pulse is held until the
    /// next; a bad one changes nothing.
    pub(crate) fn step(&self, state: &mut PulseState, sample: Option<Microseconds>) -> PulseOutput {
        let good = sample.filter(|width| (self.low..=self.high).contains(width));
        if let Some(width) = good {
            *state = PulseState { held: Some(width), ticks_since_good: 0 };
        } else {
            state.ticks_since_good = state.ticks_since_good.saturating_add(1);
            if state.ticks_since_good > self.loss_ticks {
                state.held = None;
            }
        }
        PulseOutput { signal: state.held, bad_sample: sample.is_some() && good.is_none() }
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
        for bad in [0.0, 799.0, 2_201.0, -5.0, 30_000.0] {
            let output = pulse.step(&mut state, us(bad));
            assert!(output.bad_sample);
            assert_eq!(output.signal, us(1_700.0));
        }
    }
}
