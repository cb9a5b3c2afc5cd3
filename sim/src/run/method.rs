//! By what a run is made, and the trial of creeping that goes with it.

use crate::run::DEFAULT_STEP_S;
use crate::run::creep::USUAL_SLOPE_DEG;

/// The plant's step, and the slope on which creep is measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Method {
    /// Slope for creep and roll-away \[degrees\].
    pub creep_slope_deg: f64,
    /// The plant's step \[s\].
    pub step_s: f64,
}

impl Default for Method {
    /// The usual slope, the default step.
    fn default() -> Self {
        Self { creep_slope_deg: USUAL_SLOPE_DEG, step_s: DEFAULT_STEP_S }
    }
}

impl Method {
    /// The default step, on this slope \[degrees\].
    pub fn on_slope(creep_slope_deg: f64) -> Self {
        Self { creep_slope_deg, ..Self::default() }
    }
}
