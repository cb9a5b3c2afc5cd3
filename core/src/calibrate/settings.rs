//! How a calibration is measured, and the calibrator made ready.

use super::Calibrator;
use super::window::Steady;
use crate::shared::error::{Allowed, Check, SettingsErrors};
use crate::shared::ramp::TickRate;
use crate::shared::units::{Microseconds, prepared};

/// Time without any pulse after which the signal counts as lost \[ms\].
const SILENCE_MS: f32 = 1_000.0;
/// Time for each of the four places \[ms\].
const PLACE_MS: f32 = 30_000.0;

const STEADY: Allowed = Allowed::new("calibrator.steady_ms", [200.0, 5_000.0]);
const SPREAD: Allowed = Allowed::new("calibrator.spread_us", [2.0, 50.0]);
const LEAST_TRAVEL: Allowed = Allowed::new("calibrator.least_travel_us", [60.0, 500.0]);

/// How a calibration is to be measured.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct CalibratorSettings {
    /// How long a place must be held \[ms\], 200 to 5000.
    pub steady_ms: f32,
    /// The most that a steady hand and radio wander \[us\], widest to narrowest pulse, 2 to 50.
    pub spread_us: f32,
    /// The least travel from rest to either end \[us\], 60 to 500, and at least 51 us + 3.5 spreads:
    /// the dead band then always leaves the travel that [`crate::Calibration`] asks for.
    pub least_travel_us: f32,
}

impl Default for CalibratorSettings {
    /// 1 s within 12 us; 150 us of travel.
    fn default() -> Self {
        Self { steady_ms: 1_000.0, spread_us: 12.0, least_travel_us: 150.0 }
    }
}

impl CalibratorSettings {
    /// Checks the settings and makes the calibrator ready for `rate` ticks per second.
    ///
    /// # Errors
    /// All mistakes at once, each with the setting's path, value and allowed range.
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() adds integers")]
    #[expect(clippy::result_large_err, reason = "no heap to box it in; made once, at start-up")]
    pub fn prepare(&self, rate: TickRate) -> Result<Calibrator, SettingsErrors> {
        let mut check = Check::new();
        let steady = check.range(&STEADY, self.steady_ms);
        let spread = check.range(&SPREAD, self.spread_us);
        let travel = check.range(&LEAST_TRAVEL, self.least_travel_us);
        // Neutral may lie half a spread nearer to the end, the dead band may be three spreads wide,
        // 50 us must be left; 1 us is for rounding.
        check.rule(
            "calibrator.least_travel_us",
            self.least_travel_us,
            travel >= 51.0 + 3.5 * spread,
            "it must be at least 51 us plus 3.5 times calibrator.spread_us",
        );
        let us = |value| Microseconds::saturate(prepared(value));
        check.finish(Calibrator {
            steady: Steady { ticks: rate.ticks(steady), spread: us(spread) },
            silence_ticks: rate.ticks(SILENCE_MS),
            place_ticks: rate.ticks(PLACE_MS),
            least_travel: us(travel),
            half_travel: us(travel / 2.0),
            plausible: (us(500.0), us(2_500.0)),
            least_dead_band: us(8.0),
        })
    }
}
