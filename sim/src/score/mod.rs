//! Scores: what a run was like, each defined once, in SI units.
//!
//! [`SCORES`] has a row for each, which is all there is of it: the program's terminal, pages and JSON, sweeps, goals
//! and the book read the list. Measuring is a pure function of finished runs.

pub mod episode;
pub(crate) mod filter;
mod measured;
mod row;
mod easing_off;
mod standing;
mod load;
mod strength;
mod speed;
mod list;

use serde::Serialize;

use crate::run::controller::Fault;
use crate::run::never_moved::{NeverMoved, never_moved};
use crate::score::episode::{LetOff, Load};

pub use easing_off::*;
pub(crate) use list::of_let_off;
pub use list::{SCORES, find};
pub use load::*;
pub use measured::{ExtraRuns, Measured, smooth_acceleration};
pub use row::{Better, Kind, Meaning, Needs, Said, Score, ScoreRow};
pub use speed::*;
pub use standing::*;
pub use strength::*;

/// A score's value.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Value {
    /// It is this much.
    Is(f64),
    /// It does not happen within the run.
    Never,
    /// The run has nothing to measure it on.
    NotInThisRun,
}

impl From<Option<f64>> for Value {
    fn from(value: Option<f64>) -> Self {
        value.map_or(Self::NotInThisRun, Self::Is)
    }
}

impl Value {
    /// The number, if there is one.
    pub fn number(self) -> Option<f64> {
        match self {
            Self::Is(number) => Some(number),
            _ => None,
        }
    }
}

/// The scores of one run.
#[derive(Clone, Debug)]
pub struct Scores {
    /// All of the list, in its order; what was not wanted has no value.
    pub list: Vec<Score>,
    /// Where the let-off is.
    pub let_off: Option<LetOff>,
    /// Where the snag is.
    pub load: Option<Load>,
    /// Why it never moved, if that is so: then most of the list says nothing of the tune.
    pub never_moved: Option<NeverMoved>,
    /// Why the controller did not end the run on the slope, if that is so; then there is no creep.
    pub creep_fault: Option<Fault>,
}

impl Scores {
    /// Measures those that are wanted.
    pub fn of(measured: &Measured<'_>, wanted: &[&'static ScoreRow]) -> Self {
        let score = |row: &&'static ScoreRow| {
            let wanted = wanted.contains(row);
            let value = if wanted { (row.measure)(measured) } else { Value::NotInThisRun };
            row.meaning.is(value)
        };
        Self {
            list: SCORES.iter().map(score).collect(),
            let_off: measured.let_off,
            load: measured.load,
            never_moved: never_moved(measured.scenario, measured.run),
            creep_fault: measured.extra.creep.as_ref().and_then(|creep| creep.fault.clone()),
        }
    }

    /// A score's value in words, with its unit.
    pub fn amount(&self, row: &ScoreRow) -> String {
        row.meaning.amount(self.value(row))
    }

    /// A score's value.
    pub fn value(&self, row: &ScoreRow) -> Value {
        let found = self.list.iter().find(|score| score.meaning.name == row.meaning.name);
        found.map_or(Value::NotInThisRun, |score| score.value)
    }
}
