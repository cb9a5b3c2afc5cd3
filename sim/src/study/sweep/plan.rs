//! The grid: which points there are, and what each is.

use toml_edit::Value as Setting;

use super::Axis;
use crate::files::scenario::Files;
use crate::run::Method;
use crate::score::ScoreRow;

/// What to run and what to measure.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The files that are changed.
    pub files: Files,
    /// What is varied; the last one changes quickest.
    pub axes: Vec<Axis>,
    /// The scores to take.
    pub scores: Vec<&'static ScoreRow>,
    /// The plant's step, and the slope of creep.
    pub method: Method,
}

/// As many points as one sweep may have.
pub const MOST_POINTS: usize = 10_000_000;

impl Plan {
    /// Number of points.
    pub fn points(&self) -> usize {
        self.axes.iter().fold(1_usize, |count, axis| count.saturating_mul(axis.values.len()))
    }

    /// Which value of each axis a point has.
    pub fn digits(&self, point: usize) -> Vec<usize> {
        let counts: Vec<usize> = self.axes.iter().map(|axis| axis.values.len()).collect();
        digits(point, &counts)
    }

    /// The values of a point, one for each axis.
    pub fn values(&self, point: usize) -> Vec<&Setting> {
        let digits = self.digits(point);
        self.axes.iter().zip(digits).map(|(axis, digit)| &axis.values[digit]).collect()
    }
}

/// Which value of each axis a point has, where the axes have so many; the last one changes quickest.
pub fn digits(point: usize, counts: &[usize]) -> Vec<usize> {
    let mut left = point;
    let digit = |count: &usize| {
        let digit = left % count;
        left /= count;
        digit
    };
    let mut digits: Vec<usize> = counts.iter().rev().map(digit).collect();
    digits.reverse();
    digits
}
