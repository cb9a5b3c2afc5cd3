//! A standard set of trials: what a rig and its tune do, each thing in a short run of its own.
//!
//! Ground, throttle and times follow from the rig's own size and speed, so that any rig can be put
//! through them, and two tunes of one rig are put through the same.

mod stage;
mod easing;
mod standing;
mod starting;
mod obstacle;
mod load;
pub mod lasting;
pub mod signal;
pub mod verdict;

use std::ops::Range;

use crate::files::scenario::Scenario;
use crate::run::{Run, RunError};
use crate::score::{Meaning, Score};

pub use stage::Subject;

/// One of the trials.
#[derive(Clone, Copy, Debug)]
pub struct Trial {
    /// What it is called.
    pub name: &'static str,
    /// The name of its picture's files.
    pub file: &'static str,
    /// The question it answers.
    pub asks: &'static str,
    /// What is done.
    pub how: fn(&Subject<'_>) -> String,
    /// What is drawn below the speed.
    pub shown: Shown,
    /// Does it.
    pub run: fn(&Subject<'_>) -> Result<Tried, RunError>,
}

/// What is drawn of a trial, besides the speed.
#[derive(Clone, Copy, Debug)]
pub struct Shown {
    /// What it is, with unit.
    pub label: &'static str,
    /// Its value in every row.
    pub values: fn(&Tried) -> Vec<f64>,
    /// A level to compare it with, and its words.
    pub level: fn(&Tried) -> Option<(f64, &'static str)>,
    /// Where the vertical axis begins; `None`: at 0, or at the least value below.
    pub bottom: Option<f64>,
    /// Where the lines stay below half the level, the axis is for them alone, with such air as a range of at least
    /// this would have; `None`: it holds the level always.
    pub least_span: Option<f64>,
    /// Time counts from the first row, not from power-on.
    pub from_start: bool,
}

impl Shown {
    /// Torque in the drive line, against its rating.
    pub(crate) const TORQUE: Self = Self {
        label: "torque in the drive line, N m at the wheels",
        values: |tried| tried.run.rows.iter().map(|row| row.flows.shaft_n_m).collect(),
        level: |tried| Some((tried.scenario.rig.gears.rating_n_m, "rating of the weakest part")),
        bottom: None,
        least_span: None,
        from_start: false,
    };
}

/// A trial's outcome.
#[derive(Clone, Debug)]
pub struct Tried {
    /// What was run.
    pub scenario: Scenario,
    /// The run.
    pub run: Run,
    /// What was measured.
    pub scores: Vec<Score>,
    /// What happened, and when \[s\].
    pub marks: Vec<(f64, String)>,
    /// The stretch of it that is drawn \[s\]; `None`: all.
    pub shown_s: Option<Range<f64>>,
}

impl Tried {
    /// A score, if it was measured.
    pub fn score(&self, meaning: &Meaning) -> Option<&Score> {
        self.scores.iter().find(|score| score.meaning.name == meaning.name)
    }
}

/// All trials, in the order in which a new rig meets them.
pub(crate) static TRIALS: [Trial; 10] = [
    starting::REST,
    easing::LEVEL,
    easing::DOWNHILL,
    standing::SLOPE,
    obstacle::STEP,
    load::STEP,
    load::SNAG,
    lasting::GRADE,
    lasting::PACK,
    signal::LOST,
];

/// One trial, done with each subject.
#[derive(Clone, Debug)]
pub struct Done {
    /// Which.
    pub trial: &'static Trial,
    /// The outcome for each subject, in their order.
    pub tried: Vec<Tried>,
}

/// Does all trials with all subjects.
///
/// # Errors
/// When a run cannot be finished.
pub fn all(subjects: &[Subject<'_>]) -> Result<Vec<Done>, RunError> {
    let done = |trial: &'static Trial| {
        let tried = subjects.iter().map(trial.run).collect::<Result<_, _>>()?;
        Ok(Done { trial, tried })
    };
    TRIALS.iter().map(done).collect()
}
