//! How sure the fit is: intervals, and what hangs together.
//!
//! With the weighted derivatives J (samples by unknowns) and the samples' noise 1 after weighting,
//!
//! ```text
//! C = H^-1 (sum over signals tau J'J) H^-1,   H = J'J,   q +- t C^(1/2),
//! ```
//!
//! t being Student's for 95 % with `sum of samples / tau - unknowns` degrees of freedom. `tau` counts how
//! many samples of a signal are as good as one independent one, as neighbouring deviations are alike. With
//! their autocorrelation r_1, r_2, .. it is the larger of
//!
//! ```text
//! 1 + 2 (r_1 + r_2 + ..)  as long as they are beyond chance, 2 / sqrt(n), and up to 2,000 rows,
//! (1 + r) / (1 - r)  with r = r_1 + (1 + 3 r_1) / n,
//! ```
//!
//! the second being that of a process of first order, with the correction for a short series (Marriott and
//! Pope 1954; from memory). No interval is narrower than twice what halving the simulation's step moves the estimate.
//! With white noise tau is 1 and C the textbook's. Slow deviations, which a model
//! that lacks something makes, widen the interval; that they may also shift the value no interval says.

use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ContinuousCDF, StudentsT};

use super::SignalFit;
use super::log::Log;
use super::solve::{EXACT, Solution};
use super::unknown::Unknown;

/// The share of intervals that should hold the truth.
pub const CONFIDENCE: f64 = 0.95;

/// One unknown, found.
#[derive(Clone, Debug)]
pub struct Estimate {
    /// Its key.
    pub name: String,
    /// What the search began with.
    pub guess: f64,
    /// What it found.
    pub value: f64,
    /// The interval, cut off where the allowed range ends.
    pub interval: [f64; 2],
    /// Half the interval on its scale.
    pub half: f64,
    /// Whether that is a share of the value.
    pub relative: bool,
    /// The bound it ran to.
    pub end: Option<&'static str>,
}

/// What the statistics say.
#[derive(Clone, Debug)]
pub(super) struct Judged {
    /// Each unknown.
    pub estimates: Vec<Estimate>,
    /// Each signal.
    pub signals: Vec<SignalFit>,
    /// How the estimates hang together, -1 to 1.
    pub correlations: DMatrix<f64>,
    /// `H^-1`.
    pub inverse: DMatrix<f64>,
    /// The derivatives' singular values, columns scaled to length 1, the largest first.
    pub singular: DVector<f64>,
    /// Their directions in the unknowns, a row each.
    pub directions: DMatrix<f64>,
    /// Degrees of freedom.
    pub freedom: f64,
}

/// Singular values below this share of the largest are rounding.
const ROUNDING: f64 = 1.0e-9;

/// Deviations of no more than so many times what halving the step changes come from the step, and may move an
/// estimate by as many times: a log that was simulated itself, at a step like ours, has no others.
const OF_THE_STEP: f64 = 2.0;

/// Judges a solution; `moved` is by how much halving the step changes every simulated sample.
pub(super) fn judge(
    log: &Log,
    unknowns: &[Unknown],
    solution: &Solution,
    moved: &DVector<f64>,
) -> Judged {
    let weighted = weighted(&solution.slopes, &solution.weights);
    let Parts { inverse, singular, directions } = invert(&weighted);
    let apart = log.parts(&solution.residuals);
    let of_the_step = log.parts(moved.as_slice());
    let count = solution.residuals.len() as f64;
    let left = 1.0 - unknowns.len() as f64 / count;
    let mut middle = DMatrix::zeros(unknowns.len(), unknowns.len());
    let mut signals = Vec::new();
    let (mut row, mut independent) = (0, 0.0);
    let signals_of_the_log = log.signals.iter().zip(apart).zip(of_the_step);
    for (((signal, part), step), spread) in signals_of_the_log.zip(&solution.spreads) {
        let own = weighted.rows(row, part.len());
        row += part.len();
        let [mean, of_the_step] =
            [part, step].map(|part| part.iter().map(|r| r * r).sum::<f64>() / part.len() as f64);
        let weight = solution.weights.get(row - 1).copied().unwrap_or(1.0);
        // The weights came from the noise before the last turn.
        let noise = (mean / left).sqrt();
        let exact = noise < EXACT * spread || noise < OF_THE_STEP * of_the_step.sqrt();
        // What is left of an exact signal is alike, but no noise.
        let tau = if exact { 1.0 } else { tau(part) };
        middle += own.transpose() * own * (tau * (noise * weight).powi(2));
        independent += part.len() as f64 / tau;
        signals.push(SignalFit {
            name: signal.name,
            samples: part.len(),
            independent: part.len() as f64 / tau,
            noise,
            exact,
        });
    }
    let covariance = &inverse * middle * &inverse;
    let freedom = independent - unknowns.len() as f64;
    let t = student(freedom.max(1.0));
    let shifts = shifts(&inverse, solution, moved);
    let estimate = |(index, unknown): (usize, &Unknown)| {
        let q = solution.q[index];
        let half =
            (t * covariance[(index, index)].max(0.0).sqrt()).max(OF_THE_STEP * shifts[index].abs());
        Estimate {
            name: unknown.name.clone(),
            guess: unknown.guess,
            value: unknown.scale.value(q),
            interval: [q - half, q + half].map(|end| unknown.scale.bounded_value(end)),
            relative: unknown.scale.is_relative(),
            half,
            end: unknown.scale.end(q),
        }
    };
    Judged {
        estimates: unknowns.iter().enumerate().map(estimate).collect(),
        signals,
        correlations: correlations(&inverse),
        inverse,
        singular,
        directions,
        freedom,
    }
}

/// Student's t for the interval.
fn student(freedom: f64) -> f64 {
    let upper = 0.5 + CONFIDENCE / 2.0;
    StudentsT::new(0.0, 1.0, freedom).map_or(f64::INFINITY, |t| t.inverse_cdf(upper))
}

/// Each row times its weight.
pub(super) fn weighted(slopes: &DMatrix<f64>, weights: &[f64]) -> DMatrix<f64> {
    let mut scaled = slopes.clone();
    for (mut row, weight) in scaled.row_iter_mut().zip(weights) {
        row *= *weight;
    }
    scaled
}

/// `(J'J)^-1` and what it is made of.
pub(super) struct Parts {
    /// The inverse; where J'J has none, enormous instead.
    pub inverse: DMatrix<f64>,
    /// As in [`Judged`].
    pub singular: DVector<f64>,
    /// As in [`Judged`].
    pub directions: DMatrix<f64>,
}

/// By the singular values of J with its columns scaled to length 1.
pub(super) fn invert(jacobian: &DMatrix<f64>) -> Parts {
    let lengths: Vec<f64> =
        jacobian.column_iter().map(|column| column.norm().max(f64::MIN_POSITIVE.sqrt())).collect();
    let mut scaled = jacobian.clone();
    for (mut column, length) in scaled.column_iter_mut().zip(&lengths) {
        column /= *length;
    }
    let parts = scaled.svd(false, true);
    let directions = parts.v_t.unwrap_or_else(|| DMatrix::identity(lengths.len(), lengths.len()));
    let singular = parts.singular_values;
    let least = ROUNDING * singular.max();
    let count = lengths.len();
    let inverse = DMatrix::from_fn(count, count, |i, j| {
        let sum: f64 = (0..singular.len())
            .map(|k| directions[(k, i)] * directions[(k, j)] / singular[k].max(least).powi(2))
            .sum();
        sum / (lengths[i] * lengths[j])
    });
    Parts { inverse, singular, directions }
}

fn correlations(covariance: &DMatrix<f64>) -> DMatrix<f64> {
    DMatrix::from_fn(covariance.nrows(), covariance.ncols(), |i, j| {
        covariance[(i, j)] / (covariance[(i, i)] * covariance[(j, j)]).sqrt()
    })
}

/// No further apart than this are neighbours looked for \[rows\].
const LONGEST_LAG: usize = 2_000;

/// How many neighbouring deviations are as good as one: the integrated autocorrelation time. About 0, not
/// about their mean: an offset is alike everywhere.
pub(super) fn tau(deviations: &[f64]) -> f64 {
    let count = deviations.len();
    let square: f64 = deviations.iter().map(|r| r * r).sum();
    if square <= 0.0 {
        return 1.0;
    }
    let alike = |lag: usize| {
        deviations.iter().zip(&deviations[lag..]).map(|(a, b)| a * b).sum::<f64>() / square
    };
    let chance = 2.0 / (count as f64).sqrt();
    let most = (count / 2).min(LONGEST_LAG);
    let beyond: f64 = (1..most).map(alike).take_while(|alike| *alike > chance).sum();
    let next = if most > 1 { alike(1) } else { 0.0 };
    if next <= chance {
        return 1.0;
    }
    let next = (next + (1.0 + 3.0 * next) / count as f64).min(1.0 - 2.0 / count as f64);
    (1.0 + 2.0 * beyond).max((1.0 + next) / (1.0 - next))
}

/// How far the estimates move on their scales when every simulated sample moves by `moved`. One step of Gauss and
/// Newton.
fn shifts(inverse: &DMatrix<f64>, solution: &Solution, moved: &DVector<f64>) -> DVector<f64> {
    let jacobian = weighted(&solution.slopes, &solution.weights);
    let weights = DVector::from_column_slice(&solution.weights);
    inverse * jacobian.transpose() * moved.component_mul(&weights)
}

/// How far the first `asked` estimates move, at most, when every simulated sample moves by `moved`: on their
/// scales, and as a share of half their intervals.
pub(super) fn moved_by(
    judged: &Judged,
    solution: &Solution,
    moved: &DVector<f64>,
    asked: usize,
) -> Moved {
    let step = shifts(&judged.inverse, solution, moved);
    let each = step.iter().zip(&judged.estimates).take(asked);
    each.fold(Moved::default(), |most, (q, one)| Moved {
        relative: most.relative.max(q.abs()),
        share: most.share.max((q / one.half).abs()),
    })
}

/// How far estimates move.
#[derive(Clone, Copy, Debug, Default)]
pub struct Moved {
    /// As a share of the estimate.
    pub relative: f64,
    /// As a share of half its interval.
    pub share: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Student's t at 97.5 %: 12.706, 2.228 and 1.960 for 1, 10 and very many degrees of freedom
    /// (printed in every table of it; from memory).
    #[test]
    fn student_is_as_in_tables() {
        for (freedom, due) in [(1.0, 12.706), (10.0, 2.228), (1.0e6, 1.960)] {
            assert!((student(freedom) - due).abs() < 5e-4, "{}", student(freedom));
        }
    }

    /// A first-order process x' = a x + noise has tau = (1 + a) / (1 - a) (exact algebra).
    #[test]
    fn alike_neighbours_count_less() {
        for (a, due) in [(0.0, 1.0), (0.5, 3.0), (0.8, 9.0)] {
            let (mut x, mut seed) = (0.0, 1_u64);
            let series: Vec<f64> = (0..40_000)
                .map(|_| {
                    seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                    x = a * x + (seed >> 33) as f64 / f64::from(1_u32 << 31) - 0.5;
                    x
                })
                .collect();
            let found = tau(&series);
            assert!((found / due - 1.0).abs() < 0.15, "{a}: {found}");
        }
    }
}
