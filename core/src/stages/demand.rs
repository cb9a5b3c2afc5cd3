//! Second stage: the pulse becomes a demand between -1 and 1 by the throttle's calibration.
//!
//! Source: algebra.

use crate::settings::allowed;
use crate::shared::error::Check;
use crate::shared::units::{Demand, Factor, Microseconds, prepared};

/// Where this throttle's end points lie.
///
/// `demand = (pulse - neutral -+ dead band) / (end - neutral -+ dead band)`, 0 inside the dead band,
/// clamped to -1 ..= 1; the end points give exactly 1 and -1.
///
/// ```
/// use easeoff_core::*;
/// let mut tune = Settings::default();
/// tune.calibration = Calibration { high_us: 1_900.0, ..Calibration::default() };
/// let controller = tune.prepare(TickRate::new(1_000).unwrap()).unwrap();
/// let throttle = |us: f32| Input { pulse: Microseconds::new(us), ..Input::default() };
/// let demand = |us| controller.step(&mut State::default(), &throttle(us)).trace.demand;
/// assert_eq!(demand(1_900.0), Demand::HIGHEST);
/// assert_eq!(demand(1_520.0), Demand::ZERO); // the edge of the dead band
/// assert!((demand(1_710.0).to_f32() - 190.0 / 380.0).abs() < 1e-4);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Calibration {
    /// Pulse at full reverse or brake \[us\], 500 to 2500.
    pub low_us: f32,
    /// Pulse with the throttle let go \[us\], 500 to 2500.
    pub neutral_us: f32,
    /// Pulse at full forward \[us\], 500 to 2500.
    pub high_us: f32,
    /// Half width of the zone around neutral that counts as neutral \[us\], 2 to 200.
    pub dead_band_us: f32,
    /// Swap forward and reverse.
    pub reversed: bool,
}

impl Default for Calibration {
    /// 1000, 1500 and 2000 us (the usual servo pulse), dead band 20 us.
    fn default() -> Self {
        Self {
            low_us: 1_000.0,
            neutral_us: 1_500.0,
            high_us: 2_000.0,
            dead_band_us: 20.0,
            reversed: false,
        }
    }
}

#[derive(Clone, Copy, Debug)]
pub(crate) struct DemandStage {
    neutral: Microseconds,
    dead_band: Microseconds,
    per_us_above: Factor,
    per_us_below: Factor,
    reversed: bool,
}

impl Calibration {
    #[expect(clippy::float_arithmetic, reason = "prepares settings; step() multiplies integers")]
    pub(crate) fn prepare(&self, check: &mut Check) -> DemandStage {
        let low = check.range(allowed!("calibration.low_us"), self.low_us);
        let neutral = check.range(allowed!("calibration.neutral_us"), self.neutral_us);
        let high = check.range(allowed!("calibration.high_us"), self.high_us);
        let dead = check.range(allowed!("calibration.dead_band_us"), self.dead_band_us);
        // 50 us of travel is the least that still resolves a demand of 2 % per microsecond.
        let (above, below) = (high - neutral - dead, neutral - low - dead);
        check.rule(
            "calibration.high_us",
            self.high_us,
            above >= 50.0,
            "it must lie at least 50 us above neutral plus dead band",
        );
        check.rule(
            "calibration.low_us",
            self.low_us,
            below >= 50.0,
            "it must lie at least 50 us below neutral minus dead band",
        );
        // The smallest excess makes the end point reach 1 exactly instead of one step below it.
        let per_us = |travel: f32| Factor::prepare((1.0 + 1.0e-5) / travel.max(50.0));
        DemandStage {
            neutral: Microseconds::saturate(prepared(neutral)),
            dead_band: Microseconds::saturate(prepared(dead)),
            per_us_above: per_us(above),
            per_us_below: per_us(below),
            reversed: self.reversed,
        }
    }
}

impl DemandStage {
    /// `(pulse - neutral -+ dead band) / travel`, 0 inside the dead band, clamped to -1 ..= 1.
    pub(crate) fn step(&self, pulse: Microseconds) -> Demand {
        let above = (pulse - self.neutral - self.dead_band).raw();
        let below = (self.neutral - pulse - self.dead_band).raw();
        let zero = Demand::ZERO.raw();
        let forward = if above > zero {
            Demand::saturate(self.per_us_above.of(above))
        } else if below > zero {
            Demand::ZERO - Demand::saturate(self.per_us_below.of(below))
        } else {
            Demand::ZERO
        };
        if self.reversed { Demand::ZERO - forward } else { forward }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn demand(calibration: Calibration, width: f32) -> f32 {
        let mut check = Check::new();
        let stage = calibration.prepare(&mut check);
        check.finish(stage).unwrap().step(Microseconds::new(width).unwrap()).to_f32()
    }

    #[test]
    fn end_points_are_exact_and_the_dead_band_is_zero() {
        for (low_us, neutral_us, high_us) in
            [(1_000.0, 1_500.0, 2_000.0), (1_113.0, 1_521.0, 1_907.0), (600.0, 700.0, 2_400.0)]
        {
            let calibration = Calibration { low_us, neutral_us, high_us, ..Calibration::default() };
            assert_eq!(demand(calibration, high_us), 1.0);
            assert_eq!(demand(calibration, low_us), -1.0);
            assert_eq!(demand(calibration, neutral_us + 20.0), 0.0);
            assert_eq!(demand(calibration, neutral_us - 20.0), 0.0);
            assert!(demand(calibration, neutral_us + 21.0) > 0.0);
            assert!(demand(calibration, neutral_us - 21.0) < 0.0);
        }
    }

    #[test]
    fn half_travel_is_half_demand_and_reversing_swaps_the_sign() {
        let calibration = Calibration { dead_band_us: 2.0, ..Calibration::default() };
        let half = demand(calibration, 1_500.0 + 2.0 + 249.0);
        assert!((half - 0.5).abs() < 1e-4, "{half}");
        let swapped = Calibration { reversed: true, ..calibration };
        assert_eq!(demand(swapped, 1_751.0), -half);
    }
}
