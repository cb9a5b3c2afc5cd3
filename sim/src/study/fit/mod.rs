//! A log of the real rig laid over the simulation of the same drive, and chosen numbers of the rig moved
//! until both agree.
//!
//! Data flows one way: [`log`] -> [`replay`] -> `solve` -> `interval` -> `doubt` -> pages and
//! pictures. The statistics are those of nonlinear regression (Seber and Wild, Nonlinear Regression,
//! 1989, chapters 2 and 5; from memory); what is our own choice is said where it is made.

pub mod log;
mod log_file;
pub mod unknown;
pub mod replay;
mod solve;
mod interval;
mod doubt;
pub mod words;

use nalgebra::{DMatrix, DVector};

use crate::run::RunError;
pub use interval::{CONFIDENCE, Estimate, Moved};

use log::Log;
use replay::Replay;
use unknown::Unknown;

/// What a fit found.
#[derive(Clone, Debug)]
pub struct Fitted {
    /// The unknowns asked for first, then what the start of the log needed.
    pub estimates: Vec<Estimate>,
    /// How well each measured signal is met.
    pub signals: Vec<SignalFit>,
    /// The simulated signals, in the order of the log's samples.
    pub simulated: Vec<f64>,
    /// How the estimates hang together, -1 to 1.
    pub correlations: Vec<Vec<f64>>,
    /// Independent samples less unknowns.
    pub freedom: f64,
    /// Simulations made.
    pub simulations: usize,
    /// The plant's step \[s\].
    pub step_s: f64,
    /// How far halving the step moves an estimate.
    pub finer: Moved,
    /// What the log cannot tell, and what to do about it.
    pub doubts: Vec<String>,
}

/// How well one measured signal is met.
#[derive(Clone, Debug)]
pub struct SignalFit {
    /// Its column.
    pub name: &'static str,
    /// Samples of it.
    pub samples: usize,
    /// Samples that are as good as independent: `samples / tau`.
    pub independent: f64,
    /// Root mean square of measured less simulated, with the signal's share of the unknowns taken off.
    pub noise: f64,
    /// Whether that is so little that it is no noise, but rounding and the simulation's step.
    pub exact: bool,
}

/// Why there is no fit.
#[derive(Clone, Debug, thiserror::Error)]
pub enum FitError {
    /// A simulation could not be finished.
    #[error("a simulation of the log failed: {0}")]
    Run(#[from] RunError),
    /// The search did not come to an end.
    #[error(
        "the search for the unknowns did not settle ({why}); it had come to {at}; begin nearer by \
         better guesses in the rig file, or free fewer unknowns"
    )]
    NotConverged {
        /// In the words of the solver.
        why: String,
        /// Where it had come to.
        at: String,
    },
    /// Not enough is measured.
    #[error(
        "the log holds {samples:.0} independent samples for {unknowns} unknowns; allowed is {} or \
         more; log longer or more often, or free fewer unknowns",
        FEWEST_PER_UNKNOWN * unknowns
    )]
    TooShort {
        /// Samples as good as independent.
        samples: f64,
        /// Unknowns.
        unknowns: usize,
    },
}

/// Samples per unknown, at least. Our own choice.
const FEWEST_PER_UNKNOWN: usize = 5;

/// Fits the unknowns to the log.
///
/// # Errors
/// See [`FitError`].
pub fn fit(log: &Log, replay: &Replay, unknowns: &[Unknown]) -> Result<Fitted, FitError> {
    let mut unknowns = unknowns.to_vec();
    let asked = unknowns.len();
    unknowns.extend(unknown::of_the_start(log, replay));
    let count = log.sample_count();
    let enough = |samples: f64| {
        let least = (FEWEST_PER_UNKNOWN * unknowns.len()) as f64;
        let short = FitError::TooShort { samples, unknowns: unknowns.len() };
        if samples < least { Err(short) } else { Ok(()) }
    };
    enough(count as f64)?;
    let solution = solve::solve(log, replay, &unknowns)?;
    let found = unknowns.iter().zip(&solution.q);
    let values: Vec<f64> = found.map(|(unknown, q)| unknown.scale.value(*q)).collect();
    let finely = replay.with_step(replay.step_s() / 2.0).simulate(log, &unknowns, &values)?;
    let moved = DVector::from_vec(finely) - DVector::from_column_slice(&solution.simulated);
    let judged = interval::judge(log, &unknowns, &solution, &moved);
    enough(judged.freedom + unknowns.len() as f64)?;
    let finer = interval::moved_by(&judged, &solution, &moved, asked);
    let rest = DVector::from_column_slice(&solution.residuals);
    let onward = interval::moved_by(&judged, &solution, &rest, asked);
    let mut doubts = doubt::doubts(log, replay, &unknowns, &solution, &judged, &finer);
    doubts.extend(doubt::stopped_early(&judged, &onward));
    Ok(Fitted {
        estimates: judged.estimates,
        signals: judged.signals,
        simulated: solution.simulated,
        correlations: rows_of(&judged.correlations),
        freedom: judged.freedom,
        simulations: solution.simulations + 1,
        step_s: replay.step_s(),
        finer,
        doubts,
    })
}

fn rows_of(matrix: &DMatrix<f64>) -> Vec<Vec<f64>> {
    matrix.row_iter().map(|row| row.iter().copied().collect()).collect()
}
