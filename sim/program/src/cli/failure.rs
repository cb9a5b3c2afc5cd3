//! Why the program ends without a result, and the exit code that says so.

use easeoff_sim::files::mistake::{Refusal, render};
use easeoff_sim::results::WriteError;
use easeoff_sim::run::RunError;
use easeoff_sim::study::fit::FitError;
use easeoff_sim::study::sweep::Wrong;

use super::Outcome;

/// The exit code of a job that was interrupted.
pub(super) const INTERRUPTED: u8 = 5;

/// The exit code of goals that cannot be met.
const NOT_MET: u8 = 6;
/// The exit code of a controller of the user's own that failed in the middle.
const CONTROLLER: u8 = 7;

/// Why the program ends without a result.
pub(super) enum Failure {
    Refused(Vec<Refusal>),
    Usage(String),
    Run(RunError),
    Fit(FitError),
    Write(WriteError),
    Making(String),
    Output(std::io::Error),
    /// What is done, if anything was written, and how to go on.
    Interrupted(Option<Outcome>, String),
    /// What comes nearest to the goals, for a program and in words.
    NotMet(Outcome, String),
    /// Another controller failed in the middle: what was run all the same, and what happened.
    Controller(Outcome, String),
    /// Results that are not as they were written.
    NotWhole(String),
}

impl From<Refusal> for Failure {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(vec![refusal])
    }
}

impl From<Vec<Refusal>> for Failure {
    fn from(refusals: Vec<Refusal>) -> Self {
        Self::Refused(refusals)
    }
}

impl From<RunError> for Failure {
    fn from(error: RunError) -> Self {
        match error {
            // A command that is no controller is a mistake in the command line.
            RunError::Controller(why) => Self::Usage(why),
            error => Self::Run(error),
        }
    }
}

impl From<Wrong> for Failure {
    fn from(wrong: Wrong) -> Self {
        match wrong {
            Wrong::Asked(why) => Self::Usage(why),
            Wrong::Refused(refusals) => Self::Refused(refusals),
            Wrong::Run(error) => error.into(),
        }
    }
}

impl From<FitError> for Failure {
    fn from(error: FitError) -> Self {
        Self::Fit(error)
    }
}

impl From<WriteError> for Failure {
    fn from(error: WriteError) -> Self {
        Self::Write(error)
    }
}

impl From<String> for Failure {
    fn from(error: String) -> Self {
        Self::Making(error)
    }
}

/// An outcome that was written all the same, where another controller failed in these ways; a good one without any.
pub(super) fn unless_failed(outcome: Outcome, faults: &[String]) -> Result<Outcome, Failure> {
    match faults {
        [] => Ok(outcome),
        _ => Err(Failure::Controller(outcome, faults.join("; "))),
    }
}

impl Failure {
    /// What was found or done all the same.
    pub(super) fn outcome(&self) -> Option<&Outcome> {
        match self {
            Self::Controller(outcome, _) | Self::NotMet(outcome, _) => Some(outcome),
            Self::Interrupted(outcome, _) => outcome.as_ref(),
            _ => None,
        }
    }

    /// What to say, and the exit code.
    pub(super) fn tell(&self) -> (String, u8) {
        match self {
            Self::Refused(refusals) => {
                let count: usize = refusals.iter().map(|refusal| refusal.mistakes.len()).sum();
                let noun = if count == 1 { "mistake" } else { "mistakes" };
                (format!("{}\n\n{count} {noun}; nothing was written", render(refusals)), 2)
            }
            Self::Usage(text) => (format!("error: {text}; nothing was written"), 2),
            Self::Run(error) => (format!("error: {error}; nothing was written"), 3),
            Self::Fit(error) => (format!("error: {error}; nothing was written"), 3),
            Self::Making(error) => (format!("error: the results could not be made: {error}"), 3),
            Self::Controller(_, what) => {
                (format!("error: {what}; the results were written"), CONTROLLER)
            }
            Self::Write(error) => (format!("error: {error}"), 4),
            Self::NotWhole(text) => (format!("error: {text}"), 2),
            Self::NotMet(_, text) => (text.clone(), NOT_MET),
            Self::Interrupted(_, text) => (format!("interrupted: {text}"), INTERRUPTED),
            Self::Output(error) => (
                format!(
                    "error: standard output cannot be written: {error}; let it go to a place that takes it. \
                     Files the command wrote are whole"
                ),
                4,
            ),
        }
    }
}
