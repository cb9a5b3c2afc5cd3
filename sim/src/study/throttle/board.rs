//! What a board would have found: the core's calibrator and signal check, played over the recording.

use easeoff_core::{
    Calibration, CalibrationProgress, Calibrator, CalibratorState, Input, Microseconds,
    PulseSettings, Settings, State, TickRate,
};

use super::recording::Pulses;

/// What the core made of the recording.
#[derive(Clone, Debug)]
pub struct Board {
    /// How far the calibration came; the end of the recording leaves it where it was.
    pub progress: CalibrationProgress,
    /// When each step of it began \[s\].
    pub steps: Vec<(f64, CalibrationProgress)>,
    /// Pulses the controller would have refused: implausible ones, and jumps that nothing confirmed.
    pub refused: usize,
    /// Times at which it would have lost the signal \[s\].
    pub lost_s: Vec<f64>,
    /// Pulses that came within one tick of the next and were not seen.
    pub unseen: usize,
}

impl Board {
    /// Tick by tick from the first pulse to the last.
    pub fn run(
        pulses: &Pulses,
        calibrator: &Calibrator,
        pulse: &PulseSettings,
        rate: TickRate,
    ) -> Self {
        let (from, to) = pulses.span_s();
        let hz = f64::from(rate.hz());
        let controller = signal_check(pulse).prepare(rate).ok();
        let (mut state, mut calibration) = (State::default(), CalibratorState::default());
        let mut board = Self {
            progress: CalibrationProgress::default(),
            steps: vec![(from, CalibrationProgress::default())],
            refused: 0,
            lost_s: Vec::new(),
            unseen: 0,
        };
        let mut samples = pulses.samples.iter().peekable();
        let mut signal = false;
        for tick in 0..=((to - from) * hz) as u64 + 1 {
            let now = from + tick as f64 / hz;
            let mut pulse = None;
            while let Some([_, us]) = samples.next_if(|[time, _]| *time <= now + 1.0e-9) {
                board.unseen += usize::from(pulse.is_some());
                pulse = Microseconds::new(*us as f32);
            }
            let progress = calibrator.step(&mut calibration, pulse);
            if progress != board.progress {
                board.progress = progress;
                board.steps.push((now, progress));
            }
            if let Some(controller) = &controller {
                let trace = controller.step(&mut state, &Input { pulse, ..Input::default() }).trace;
                board.refused = trace.bad_samples.into();
                if signal && trace.pulse.is_none() {
                    board.lost_s.push(now);
                }
                signal = trace.pulse.is_some();
            }
        }
        board
    }
}

/// A tune around this signal check, which alone is looked at: the rest is good with any of them.
fn signal_check(pulse: &PulseSettings) -> Settings {
    let mut tune = Settings { pulse: *pulse, ..Settings::default() };
    let (low_us, high_us) = (pulse.plausible_low_us, pulse.plausible_high_us);
    let neutral_us = (low_us + high_us) / 2.0;
    tune.calibration = Calibration { low_us, neutral_us, high_us, ..Calibration::default() };
    tune.mode.arm_ms = 5_000.0;
    tune
}
