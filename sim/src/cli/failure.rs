//! Why the program ends without a result, and the exit code that says so.

use super::Outcome;
use crate::fit::FitError;
use crate::mistake::Refusal;
use crate::output::WriteError;
use crate::run::RunError;

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
    Drawing(String),
    Output(std::io::Error),
    /// What is done, and how to go on.
    Interrupted(String),
    /// What comes nearest to the goals.
    NotMet(String),
    /// Another controller failed in the middle: what was run all the same, and what happened.
    Controller(Outcome, String),
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
        Self::Drawing(error)
    }
}

impl Failure {
    /// What to say, and the exit code.
    pub(super) fn tell(&self) -> (String, u8) {
        match self {
            Self::Refused(refusals) => {
                let count: usize = refusals.iter().map(|refusal| refusal.mistakes.len()).sum();
                let noun = if count == 1 { "mistake" } else { "mistakes" };
                let texts = Refusal::render_all(refusals);
                (format!("{texts}\n\n{count} {noun}; nothing was written"), 2)
            }
            Self::Usage(text) => (format!("error: {text}; nothing was written"), 2),
            Self::Run(error) => (format!("error: {error}; nothing was written"), 3),
            Self::Fit(error) => (format!("error: {error}; nothing was written"), 3),
            Self::Drawing(error) => (format!("error: a picture failed: {error}"), 3),
            Self::Controller(_, what) => {
                (format!("error: {what}; the results were written"), CONTROLLER)
            }
            Self::Write(error) => (format!("error: {error}"), 4),
            Self::NotMet(text) => (text.clone(), NOT_MET),
            Self::Interrupted(text) => (format!("interrupted: {text}"), INTERRUPTED),
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
