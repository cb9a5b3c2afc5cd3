//! What is wanted: one score best, others within limits.

use std::cmp::Ordering;

use crate::score::{Meaning, ScoreRow, find};

/// A limit on a score.
#[derive(Clone, Debug, PartialEq)]
pub struct Keep {
    /// The score.
    pub score: &'static ScoreRow,
    /// Whether it is a most; else it is a least.
    pub at_most: bool,
    /// The limit in the score's unit.
    pub limit: f64,
}

impl Keep {
    /// Reads `run-on<=0.3`, `tip margin>=0.2` or `run-on<=0.3 m`.
    ///
    /// # Errors
    /// How to write it; that there is no such score, or that it has another unit.
    pub fn parse(text: &str) -> Result<Self, String> {
        let how = "write SCORE<=NUMBER or SCORE>=NUMBER, such as \"run-on<=0.3\"";
        // Not every shell takes the quotes away that another needs.
        let text = text.trim_matches(['"', '\'']);
        let most = text.split_once("<=").map(|parts| (parts, true));
        let ((score, limit), at_most) =
            most.or_else(|| text.split_once(">=").map(|parts| (parts, false))).ok_or(how)?;
        let limit = limit.trim();
        let (number, unit) = limit.split_once(' ').unwrap_or((limit, ""));
        let limit = number.parse::<f64>().ok().filter(|limit| limit.is_finite());
        let limit = limit.ok_or_else(|| format!("\"{number}\" is no number; {how}"))?;
        let (score, given) = (find(score.trim())?, unit.trim());
        let Meaning { name, unit, .. } = score.meaning;
        if !given.is_empty() && given != unit {
            return Err(format!(
                "{name} is given in {given}; its unit is {unit}: convert the limit"
            ));
        }
        Ok(Self { score, at_most, limit })
    }

    /// By how much a value is beyond the limit, in the score's unit; infinite where it cannot be told.
    pub fn excess(&self, value: f64) -> f64 {
        let beyond = if self.at_most { value - self.limit } else { self.limit - value };
        if beyond.is_nan() { f64::INFINITY } else { beyond.max(0.0) }
    }

    /// The better of two values.
    pub fn nearer(&self, a: f64, b: f64) -> f64 {
        if self.excess(a) < self.excess(b) || b.is_nan() {
            return a;
        }
        if self.excess(b) < self.excess(a) || a.is_nan() {
            return b;
        }
        if self.at_most { a.min(b) } else { a.max(b) }
    }

    /// As the user would write it.
    pub fn describe(&self) -> String {
        let sign = if self.at_most { "<=" } else { ">=" };
        let Meaning { name, unit, .. } = self.score.meaning;
        let unit = if unit == "-" { String::new() } else { format!(" {unit}") };
        format!("{name} {sign} {}{unit}", self.limit)
    }
}

/// What is best: the least, or the most, of a score.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Aim {
    /// The score.
    pub score: &'static ScoreRow,
    /// Whether the least is best.
    pub smallest: bool,
}

/// How good a try is: first how far it is beyond limits, then how good the score is. Less is better.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Merit {
    /// Limits that cannot be judged or are infinitely far, and a score that is not there.
    hopeless: usize,
    /// The sum of what it is beyond the limits, each in parts of its limit.
    beyond: f64,
    /// The score, so that less is better.
    pub score: f64,
}

impl Merit {
    /// Of a run that failed.
    pub(crate) const FAILED: Self = Self { hopeless: usize::MAX, beyond: 0.0, score: 0.0 };

    /// Of values: the aim's, then one for each limit.
    pub fn of(aim: &Aim, keeps: &[Keep], values: &[f64]) -> Self {
        let Some((&score, kept)) = values.split_first() else { return Self::FAILED };
        let mut merit = Self { hopeless: 0, beyond: 0.0, score: 0.0 };
        for (keep, value) in keeps.iter().zip(kept) {
            let excess = keep.excess(*value);
            if excess.is_infinite() {
                merit.hopeless += 1;
            } else {
                // A limit of nothing has no parts.
                let whole = if keep.limit == 0.0 { 1.0 } else { keep.limit.abs() };
                merit.beyond += excess / whole;
            }
        }
        if score.is_finite() {
            merit.score = if aim.smallest { score } else { -score };
        } else if aim.smallest || score.is_nan() {
            merit.hopeless += 1;
        } else {
            merit.score = f64::NEG_INFINITY;
        }
        merit
    }

    /// Whether every limit is kept and the score is there.
    pub fn keeps_all(&self) -> bool {
        self.hopeless == 0 && self.beyond == 0.0
    }

    /// The order, the best first.
    pub fn order(&self, other: &Self) -> Ordering {
        self.hopeless
            .cmp(&other.hopeless)
            .then(self.beyond.total_cmp(&other.beyond))
            .then(self.score.total_cmp(&other.score))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests panic")]

    use super::*;
    use crate::score::{LURCH, TIP_MARGIN};

    #[test]
    fn limits_are_read_and_judged() {
        let keep = Keep::parse("tip margin >= 0.2").unwrap();
        assert_eq!((keep.score, keep.at_most, keep.limit), (&TIP_MARGIN, false, 0.2));
        assert_eq!(keep.excess(0.15), 0.2 - 0.15);
        // What never comes is as late as one could wish.
        assert_eq!(keep.excess(f64::INFINITY), 0.0);
        let keep = Keep::parse("'run-on<=0.3 m'").unwrap();
        assert_eq!(keep.excess(f64::INFINITY), f64::INFINITY);
        assert_eq!(keep.excess(f64::NAN), f64::INFINITY);
        assert_eq!(keep.nearer(0.5, f64::NAN), 0.5);
        assert_eq!(keep.nearer(0.2, 0.1), 0.1);
        assert_eq!(keep.describe(), "run-on <= 0.3 m");
        for bad in ["run-on<0.3", "run-on<=", "run-on<=inf", "run-on<=x", "run-on"] {
            assert!(Keep::parse(bad).unwrap_err().contains("SCORE<=NUMBER"), "{bad}");
        }
        let reported = Keep::parse("run-on<=30 cm").unwrap_err();
        assert_eq!(reported, "run-on is given in cm; its unit is m: convert the limit");
        assert!(Keep::parse("run-no<=1").unwrap_err().ends_with("did you mean \"run-on\"?"));
    }

    #[test]
    fn limits_come_before_the_score() {
        let aim = Aim { score: &LURCH, smallest: true };
        let keeps = [Keep::parse("run-on<=2").unwrap()];
        let merit = |values: &[f64]| Merit::of(&aim, &keeps, values);
        let rising = [
            merit(&[1.0, 2.0]),
            merit(&[9.0, 1.0]),
            merit(&[0.0, 2.1]),
            merit(&[0.0, 3.0]),
            merit(&[0.0, f64::INFINITY]),
            merit(&[f64::INFINITY, f64::NAN]),
            Merit::FAILED,
        ];
        for pair in rising.windows(2) {
            assert_eq!(pair[0].order(&pair[1]), Ordering::Less, "{pair:?}");
        }
        assert!(rising[1].keeps_all() && !rising[2].keeps_all());
    }
}
