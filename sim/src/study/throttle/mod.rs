//! What a recording of pulses says about a throttle: end points, noise, dead band, the radio's frames.
//!
//! Two look at it. The core's [`easeoff_core::Calibrator`] plays over the recording as it would on a
//! board. Beside it stand the host's robust statistics, which see the whole recording at once and
//! mind neither order nor single wild pulses. A calibration is handed out only where both agree.

pub mod recording;
pub mod robust;
pub mod frames;
pub mod levels;
mod board;
pub mod verdict;
pub mod words;

use easeoff_core::{CalibratorSettings, PulseSettings, SettingsErrors, TickRate};

use board::Board;
use frames::Frames;
use levels::{DeadBand, Levels, Rest};
use recording::Pulses;
use verdict::Verdict;

/// How a recording is looked at.
#[derive(Clone, Copy, Debug)]
pub struct Measuring {
    /// How the board's calibrator is set.
    pub calibrator: CalibratorSettings,
    /// What counts as a pulse.
    pub pulse: PulseSettings,
    /// The board's ticks per second.
    pub rate: TickRate,
}

/// All that was found.
#[derive(Clone, Debug)]
pub struct Throttle {
    /// The pulses.
    pub pulses: Pulses,
    /// The radio's frames; `None` where the recording does not show them.
    pub frames: Option<Frames>,
    /// Pulses outside the plausible window.
    pub implausible: usize,
    /// The host's statistics.
    pub levels: Levels,
    /// What a board would have found.
    pub board: Board,
    /// What is made of it.
    pub verdict: Verdict,
}

impl Measuring {
    /// Looks at a recording.
    ///
    /// # Errors
    /// What the core says of the calibrator's settings.
    #[expect(clippy::result_large_err, reason = "the core's own; made once a run")]
    pub fn measure(&self, pulses: Pulses) -> Result<Throttle, SettingsErrors> {
        let calibrator = self.calibrator.prepare(self.rate)?;
        let board = Board::run(&pulses, &calibrator, &self.pulse, self.rate);
        let window =
            f64::from(self.pulse.plausible_low_us)..=f64::from(self.pulse.plausible_high_us);
        let plausible: Vec<[f64; 2]> =
            pulses.samples.iter().copied().filter(|[_, us]| window.contains(us)).collect();
        let levels = Levels::of(&plausible, &self.calibrator);
        let times: Vec<f64> = pulses.samples.iter().map(|[time, _]| *time).collect();
        let frames = pulses.shows_frames().then(|| Frames::of(&times)).flatten();
        let implausible = pulses.samples.len() - plausible.len();
        let mut throttle =
            Throttle { pulses, frames, implausible, levels, board, verdict: Verdict::default() };
        throttle.verdict = Verdict::of(&throttle, self);
        Ok(throttle)
    }
}

impl Throttle {
    /// Neutral as it is kept, or by the whole recording where nothing is kept \[us\]; and the dead
    /// band around it.
    pub fn neutral(&self, rest: &Rest) -> (f64, DeadBand) {
        let kept = self.verdict.calibration.map(|kept| kept.neutral_us.into());
        let us = kept.unwrap_or(rest.level.us);
        (us, rest.dead_band(us))
    }
}
