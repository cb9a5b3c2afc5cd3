//! Why a run could not be finished.

use easeoff_core::SettingsErrors;
use thiserror::Error;

/// Why a run could not be finished.
#[derive(Clone, Debug, Error)]
pub enum RunError {
    /// The tune is wrong; readers of tune files have already said so.
    #[error("the tune is refused:{}", .0.iter().map(|error| format!("\n  {error}")).collect::<String>())]
    Tune(Box<SettingsErrors>),
    /// Another controller cannot be had: why.
    #[error("{0}")]
    Controller(String),
    /// The step is too coarse for the motor's winding.
    #[error(
        "the step of {:.0} us is too coarse for {part}; allowed is up to {:.0} us; choose a \
         smaller --step-us, or check the rig",
        .step_s * 1.0e6,
        .largest_s * 1.0e6
    )]
    Step {
        /// The step asked for \[s\].
        step_s: f64,
        /// The largest that resolves the quickest part \[s\].
        largest_s: f64,
        /// Which part that is.
        part: &'static str,
    },
    /// The state left the finite numbers.
    #[error(
        "the run left all believable numbers at {time_s:.3} s, {place_m:.2} m, in {field}; a \
         very stiff part or a very small inertia does that: check the rig, or choose a \
         smaller --step-us"
    )]
    Diverged {
        /// When \[s\].
        time_s: f64,
        /// Which part of the state.
        field: &'static str,
        /// Where along the way \[m\].
        place_m: f64,
    },
}
