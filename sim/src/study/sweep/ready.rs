//! What is looked at before the first run of a plan.

use std::collections::BTreeSet;

use super::{Bench, MOST_POINTS, Plan};
use crate::files::mistake::Refusal;
use crate::run::RunError;

/// Why a plan is not run.
#[derive(Clone, Debug)]
pub enum Wrong {
    /// What was asked for cannot be had: why, and what can.
    Asked(String),
    /// The mistakes in the files, or in a value that was to be tried.
    Refused(Vec<Refusal>),
    /// The scene cannot be run as it is.
    Run(RunError),
}

impl From<String> for Wrong {
    fn from(why: String) -> Self {
        Self::Asked(why)
    }
}

impl From<Vec<Refusal>> for Wrong {
    fn from(refusals: Vec<Refusal>) -> Self {
        Self::Refused(refusals)
    }
}

impl From<RunError> for Wrong {
    fn from(error: RunError) -> Self {
        Self::Run(error)
    }
}

impl Plan {
    /// Refuses a key that is varied twice.
    ///
    /// # Errors
    /// Which it is.
    pub fn varied_once(&self) -> Result<(), String> {
        match twice(self.axes.iter().map(|axis| axis.name.as_str())) {
            Some(key) => {
                Err(format!("{key} is given twice to be varied; give all its values at once"))
            }
            None => Ok(()),
        }
    }

    /// Makes a grid ready to run: gives its bench.
    ///
    /// Each value by itself must be good; what only goes wrong together is an answer with its reason.
    ///
    /// # Errors
    /// What is wrong with it, before anything of it is run.
    pub fn ready(&self) -> Result<Bench<'_>, Wrong> {
        self.varied_once()?;
        if let Some(name) = twice(self.scores.iter().map(|score| score.meaning.name)) {
            return Err(format!("the scores have {name} twice; name each score once").into());
        }
        if self.points() > MOST_POINTS {
            return Err(format!("the grid has over {MOST_POINTS} points; vary less").into());
        }
        let bench = Bench::new(self)?;
        for axis in &self.axes {
            for value in &axis.values {
                bench.try_alone(axis, value)??;
            }
        }
        Ok(bench)
    }
}

/// The first name that stands there a second time.
pub(super) fn twice<'n>(names: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let mut seen = BTreeSet::new();
    names.into_iter().find(|name| !seen.insert(*name))
}
