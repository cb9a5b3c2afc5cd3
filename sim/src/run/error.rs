//! Why a run could not be finished.

use std::fmt;

use easeoff_core::SettingsErrors;

/// Why a run could not be finished.
#[derive(Clone, Debug)]
pub enum RunError {
    /// The tune is wrong; readers of tune files have already said so.
    Tune(Box<SettingsErrors>),
    /// Another controller cannot be had: why.
    Controller(String),
    /// The step is too coarse for the motor's winding.
    Step {
        /// The step asked for \[s\].
        step_s: f64,
        /// The largest that resolves the quickest part \[s\].
        largest_s: f64,
        /// Which part that is.
        part: &'static str,
    },
    /// The state left the finite numbers.
    Diverged {
        /// When \[s\].
        time_s: f64,
        /// Which part of the state.
        field: &'static str,
        /// Where along the way \[m\].
        place_m: f64,
    },
}

impl fmt::Display for RunError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Tune(errors) => {
                write!(out, "the tune is refused:")?;
                errors.iter().try_for_each(|error| write!(out, "\n  {error}"))
            }
            Self::Controller(why) => write!(out, "{why}"),
            Self::Step { step_s, largest_s, part } => write!(
                out,
                "the step of {:.0} us is too coarse for {part}; allowed is up to {:.0} us; choose a \
                 smaller --step-us, or check the rig",
                step_s * 1.0e6,
                largest_s * 1.0e6
            ),
            Self::Diverged { time_s, field, place_m } => write!(
                out,
                "the run left all believable numbers at {time_s:.3} s, {place_m:.2} m, in {field}; a \
                 very stiff part or a very small inertia does that: check the rig, or choose a \
                 smaller --step-us"
            ),
        }
    }
}

impl std::error::Error for RunError {}
