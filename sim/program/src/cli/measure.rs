//! How finely to simulate, and on which slope creep is measured.

use easeoff_sim::digits::within;
use easeoff_sim::run::creep::{SLOPES_DEG, USUAL_SLOPE_DEG};
use easeoff_sim::run::{DEFAULT_STEP_S, Method, STEPS_US};

/// What every command that runs the plant lets one choose.
#[derive(clap::Args, Clone, Copy)]
pub(super) struct Measure {
    /// Slope on which creep is measured [degrees].
    #[arg(long, default_value_t = USUAL_SLOPE_DEG, value_parser = slope, allow_negative_numbers = true)]
    pub(super) creep_slope_deg: f64,
    /// The plant's step [us], 10 to 1000; it is rounded to divide the control tick.
    #[arg(long, default_value_t = DEFAULT_STEP_S * 1.0e6, value_parser = step, allow_negative_numbers = true)]
    step_us: f64,
}

impl Measure {
    pub(super) fn method(self) -> Method {
        Method { creep_slope_deg: self.creep_slope_deg, step_s: self.step_us * 1.0e-6 }
    }
}

/// A slope that a rig may be asked to stand on \[degrees\].
pub(super) fn slope(text: &str) -> Result<f64, String> {
    within(text, SLOPES_DEG)
}

/// A plant's step as it may be given \[us\].
pub(super) fn step(text: &str) -> Result<f64, String> {
    within(text, STEPS_US)
}
