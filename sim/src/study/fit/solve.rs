//! The search: weighted least squares by Levenberg and Marquardt's method, as MINPACK does it.
//!
//! ```text
//! min over q of  sum over samples (simulated(q) - measured)^2 / noise^2,
//! ```
//!
//! the noise of each signal being its own root mean square deviation from the fit, so that volts and
//! radians per second weigh what they tell. It is found by turns: fit, take the noise anew, fit again.
//! The derivatives are central differences.

use std::cell::{Cell, RefCell};
use std::panic::resume_unwind;

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt, TerminationReason};
use nalgebra::storage::Owned;
use nalgebra::{DMatrix, DVector, Dyn};

use super::FitError;
use super::log::{Driven, Log};
use super::replay::Replay;
use super::unknown::Unknown;
use crate::run::RunError;

/// Where the search ended.
#[derive(Clone, Debug)]
pub(super) struct Solution {
    /// The unknowns on their scales.
    pub q: Vec<f64>,
    /// The simulated signals there.
    pub simulated: Vec<f64>,
    /// Simulated less measured.
    pub residuals: Vec<f64>,
    /// Derivative of every simulated sample by every q.
    pub slopes: DMatrix<f64>,
    /// One over the noise of the signal that each sample is of.
    pub weights: Vec<f64>,
    /// How much each signal moves at all: its root mean square about its mean.
    pub spreads: Vec<f64>,
    /// Simulations made.
    pub simulations: usize,
}

/// Turns of fitting and taking the noise anew, at most.
const MOST_TURNS: usize = 6;
/// The noise has settled when it changes by less than this share.
const SETTLED: f64 = 0.01;
/// A signal met to this share of its spread is met exactly: what is left comes from steps and rounding, not
/// from noise, and no statistics are to be made of it. A winding that warms by half a kelvin is met to 0.06 mK by a
/// simulation at the log's own step.
pub(super) const EXACT: f64 = 3.0e-4;
/// No signal is met better than to this share of its spread: below it there is only rounding.
const FLOOR: f64 = 1.0e-6;
/// The search ends when a step changes the sum by less than this share: with a thousand samples that leaves
/// the unknowns within a tenth of a standard deviation ...
const SUM_TOLERANCE: f64 = 1.0e-5;
/// ... or when it changes the unknowns by less than this share.
const TOLERANCE: f64 = 1.0e-7;
const PATIENCE: usize = 30;
/// Derivatives are taken over this share to either side: the difference errs by its square, some millionths.
const BY_DUTY: f64 = 4.0e-3;
/// The controller answers small differences with jumps (gears that chatter under a speed loop, a mode a tick
/// later), which a difference over less would take for a slope. It errs by some ten-thousandths.
const BY_PULSES: f64 = 5.0e-2;

/// Searches for the unknowns.
///
/// # Errors
/// A simulation that fails, or a search that does not end.
pub(super) fn solve(
    log: &Log,
    replay: &Replay,
    unknowns: &[Unknown],
) -> Result<Solution, FitError> {
    let measured = log.measured();
    let spreads: Vec<f64> = log.parts(&measured).iter().map(|part| spread(part)).collect();
    let mut noises = spreads.clone();
    let mut problem = Problem {
        log,
        replay,
        unknowns,
        measured: DVector::from_vec(measured),
        u: DVector::from_iterator(
            unknowns.len(),
            unknowns.iter().map(|unknown| unknown.scale.free(unknown.scale.q(unknown.guess))),
        ),
        weights: DVector::zeros(0),
        simulated: None,
        simulations: Cell::new(0),
        failure: RefCell::new(None),
    };
    problem.set_params(&problem.u.clone());
    for turn in 1.. {
        problem.weigh(&noises);
        let search = LevenbergMarquardt::new()
            .with_tol(TOLERANCE)
            .with_ftol(SUM_TOLERANCE)
            .with_patience(PATIENCE);
        let (done, report) = search.minimize(problem);
        problem = done;
        if let Some(error) = problem.failure.take() {
            return Err(error.into());
        }
        if let Some(why) = gave_up(&report.termination) {
            return Err(FitError::NotConverged { why, at: problem.at() });
        }
        let before = noises.clone();
        noises = problem.noises(&spreads);
        let exact = |(noise, spread): (&f64, &f64)| *noise < EXACT * spread;
        let settled =
            noises.iter().zip(&before).all(|(now, was)| (now / was - 1.0).abs() < SETTLED)
                || noises.iter().zip(&spreads).all(exact);
        if settled || turn == MOST_TURNS {
            break;
        }
    }
    problem.solution(spreads)
}

/// Root mean square about the mean, or a share of the mean where that is nothing.
fn spread(values: &[f64]) -> f64 {
    let count = values.len().max(1) as f64;
    let mean = values.iter().sum::<f64>() / count;
    let square = values.iter().map(|y| (y - mean) * (y - mean)).sum::<f64>() / count;
    square.sqrt().max(1.0e-3 * mean.abs()).max(1.0e-9)
}

/// Why the search gave up, if it did.
fn gave_up(reason: &TerminationReason) -> Option<String> {
    match reason {
        // Below the tolerance there is nothing but rounding: as near as numbers can tell.
        TerminationReason::NoImprovementPossible(_) | TerminationReason::ResidualsZero => None,
        reason if reason.was_successful() => None,
        TerminationReason::LostPatience => Some("it took more steps than allowed".into()),
        other => Some(format!("{other:?}")),
    }
}

/// The same place with one coordinate changed.
fn moved(q: &[f64], index: usize, to: f64) -> Vec<f64> {
    let mut there = q.to_vec();
    there[index] = to;
    there
}

struct Problem<'f> {
    log: &'f Log,
    replay: &'f Replay,
    unknowns: &'f [Unknown],
    measured: DVector<f64>,
    u: DVector<f64>,
    weights: DVector<f64>,
    simulated: Option<DVector<f64>>,
    simulations: Cell<usize>,
    failure: RefCell<Option<RunError>>,
}

impl Problem<'_> {
    fn q(&self) -> Vec<f64> {
        self.unknowns.iter().zip(self.u.iter()).map(|(one, u)| one.scale.bound(*u)).collect()
    }

    fn at(&self) -> String {
        let one = |(unknown, q): (&Unknown, f64)| {
            format!("{} = {:.4}", unknown.name, unknown.scale.value(q))
        };
        let all: Vec<String> = self.unknowns.iter().zip(self.q()).map(one).collect();
        all.join(", ")
    }

    fn simulate_all(&self, places: &[Vec<f64>]) -> Option<Vec<DVector<f64>>> {
        self.simulations.set(self.simulations.get() + places.len());
        let (log, replay, unknowns) = (self.log, self.replay, self.unknowns);
        let run = |q: &Vec<f64>| {
            let values: Vec<f64> =
                unknowns.iter().zip(q).map(|(unknown, q)| unknown.scale.value(*q)).collect();
            replay.simulate(log, unknowns, &values).map(DVector::from_vec)
        };
        let done: Result<Vec<_>, RunError> = if let [only] = places {
            run(only).map(|simulated| vec![simulated])
        } else {
            std::thread::scope(|scope| {
                let begun: Vec<_> = places.iter().map(|q| scope.spawn(|| run(q))).collect();
                begun
                    .into_iter()
                    .map(|thread| thread.join().unwrap_or_else(|panic| resume_unwind(panic)))
                    .collect()
            })
        };
        done.map_err(|error| *self.failure.borrow_mut() = Some(error)).ok()
    }

    fn weigh(&mut self, noises: &[f64]) {
        let each = self
            .log
            .signals
            .iter()
            .zip(noises)
            .flat_map(|(signal, noise)| std::iter::repeat_n(1.0 / noise, signal.samples.len()));
        self.weights = DVector::from_iterator(self.measured.len(), each);
    }

    /// Root mean square deviation of each signal, the unknowns' share taken off.
    fn noises(&self, spreads: &[f64]) -> Vec<f64> {
        let Some(simulated) = &self.simulated else { return spreads.to_vec() };
        let apart = simulated - &self.measured;
        let left = 1.0 - self.unknowns.len() as f64 / self.measured.len() as f64;
        let parts = self.log.parts(apart.as_slice());
        let noise = |(part, spread): (&&[f64], &f64)| {
            let mean = part.iter().map(|r| r * r).sum::<f64>() / part.len() as f64;
            (mean / left).sqrt().max(FLOOR * spread)
        };
        parts.iter().zip(spreads).map(noise).collect()
    }

    /// Derivatives of all samples by q: all simulations at once, as they do not depend on each other.
    fn slopes(&self) -> Option<DMatrix<f64>> {
        let q = self.q();
        let mut slopes = DMatrix::zeros(self.measured.len(), q.len());
        let share = match self.log.driven {
            Driven::Bridge(_) => BY_DUTY,
            Driven::Pulses(_) => BY_PULSES,
        };
        let around: Vec<[f64; 2]> =
            self.unknowns.iter().zip(&q).map(|(one, q)| one.scale.around(*q, share)).collect();
        let places: Vec<Vec<f64>> = around
            .iter()
            .enumerate()
            .flat_map(|(index, ends)| ends.map(|end| moved(&q, index, end)))
            .collect();
        let simulated = self.simulate_all(&places)?;
        for (index, (pair, [low, high])) in simulated.chunks(2).zip(around).enumerate() {
            slopes.set_column(index, &((&pair[1] - &pair[0]) / (high - low)));
        }
        Some(slopes)
    }

    fn solution(self, spreads: Vec<f64>) -> Result<Solution, FitError> {
        let slopes = self.slopes();
        if let Some(error) = self.failure.take() {
            return Err(error.into());
        }
        let (q, at) = (self.q(), self.at());
        match (self.simulated, slopes) {
            (Some(simulated), Some(slopes)) => Ok(Solution {
                q,
                residuals: (&simulated - &self.measured).as_slice().to_vec(),
                simulated: simulated.as_slice().to_vec(),
                slopes,
                weights: self.weights.as_slice().to_vec(),
                spreads,
                simulations: self.simulations.get(),
            }),
            _ => Err(FitError::NotConverged { why: "nothing was simulated".into(), at }),
        }
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, u: &DVector<f64>) {
        self.u.copy_from(u);
        self.simulated = self.simulate_all(&[self.q()]).and_then(|mut all| all.pop());
    }

    fn params(&self) -> DVector<f64> {
        self.u.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        let simulated = self.simulated.as_ref()?;
        Some((simulated - &self.measured).component_mul(&self.weights))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let mut slopes = self.slopes()?;
        let q = self.q();
        for ((mut column, unknown), q) in slopes.column_iter_mut().zip(self.unknowns).zip(q) {
            column.component_mul_assign(&self.weights);
            column *= unknown.scale.slope(q);
        }
        Some(slopes)
    }
}
