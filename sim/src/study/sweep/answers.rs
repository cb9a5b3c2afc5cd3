//! What the points of a sweep gave, in little memory: a number per score and point.

use std::collections::BTreeMap;

use super::{Answer, Plan, bare};
use crate::score::Value;

/// Every n-th point of a grid: the part of it that one run of the program does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shard {
    /// Which of them, from 1.
    pub part: usize,
    /// How many there are.
    pub parts: usize,
}

impl Shard {
    /// `3/16`: the third of sixteen.
    ///
    /// # Errors
    /// What is allowed.
    pub fn parse(text: &str) -> Result<Self, String> {
        let parts =
            text.split_once('/').and_then(|(a, b)| Some((a.parse().ok()?, b.parse().ok()?)));
        match parts {
            Some((part, parts)) if (1..=parts).contains(&part) => Ok(Self { part, parts }),
            _ => Err("allowed is K/N, K from 1 to N, such as 3/16".into()),
        }
    }

    /// How many of so many points are its own.
    pub fn count(self, points: usize) -> usize {
        (points + self.parts - self.part) / self.parts
    }

    /// The point at a place among its own.
    pub fn point(self, index: usize) -> usize {
        self.part - 1 + index * self.parts
    }
}

/// The answers of a shard's points.
#[derive(Clone, Debug)]
pub struct Answers {
    pub(super) scores: usize,
    /// By place and score; what never comes is infinite, what there is nothing to measure on is no number.
    pub(super) values: Vec<f64>,
    pub(super) state: Vec<State>,
    pub(super) failed: BTreeMap<usize, String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum State {
    Open,
    Done,
}

impl Answers {
    /// None yet, of so many points.
    pub fn new(count: usize, scores: usize) -> Self {
        Self {
            scores,
            values: vec![f64::NAN; count * scores],
            state: vec![State::Open; count],
            failed: BTreeMap::new(),
        }
    }

    /// Puts an answer in its place.
    pub fn put(&mut self, index: usize, answer: Answer) {
        self.state[index] = State::Done;
        match answer {
            Ok(values) => {
                let places = &mut self.values[index * self.scores..(index + 1) * self.scores];
                for (place, value) in places.iter_mut().zip(values) {
                    *place = as_number(value);
                }
            }
            Err(why) => {
                self.failed.insert(index, why);
            }
        }
    }

    /// How many there may be.
    pub fn count(&self) -> usize {
        self.state.len()
    }

    /// Those that are still to come.
    pub fn open(&self) -> Vec<usize> {
        (0..self.count()).filter(|&index| self.state[index] == State::Open).collect()
    }

    /// The scores at a place: infinite for never, no number where there is none.
    pub fn values(&self, index: usize) -> &[f64] {
        &self.values[index * self.scores..(index + 1) * self.scores]
    }

    /// How many runs failed.
    pub fn failed(&self) -> usize {
        self.failed.len()
    }

    /// Why the first of them failed.
    pub fn first_failure(&self) -> Option<&str> {
        self.failed.values().next().map(String::as_str)
    }

    /// The table of those that are there: a row per point, in the order of the grid. What never comes is `inf`;
    /// what the run has nothing to measure on is empty.
    ///
    /// # Errors
    /// The table's complaint.
    pub fn csv(&self, plan: &Plan, shard: Shard) -> Result<Vec<u8>, String> {
        let mut writer = csv::Writer::from_writer(Vec::new());
        let heads = plan.scores.iter().map(|score| score.meaning.column());
        let varied = plan.axes.iter().map(|axis| axis.name.clone());
        let heads = std::iter::once("point".into()).chain(varied).chain(heads);
        writer.write_record(heads.chain(["failed".to_owned()])).map_err(|e| e.to_string())?;
        for index in (0..self.count()).filter(|&index| self.state[index] == State::Done) {
            let point = shard.point(index);
            let mut cells = vec![point.to_string()];
            cells.extend(plan.values(point).into_iter().map(bare));
            let cell = |value: &f64| if value.is_nan() { String::new() } else { value.to_string() };
            cells.extend(self.values(index).iter().map(cell));
            cells.push(self.failed.get(&index).map_or_else(String::new, |w| w.replace('\n', ";")));
            writer.write_record(cells).map_err(|error| error.to_string())?;
        }
        writer.into_inner().map_err(|error| error.to_string())
    }
}

/// A score as a number: infinite for never, no number where there is nothing to measure.
pub fn as_number(value: Value) -> f64 {
    match value {
        Value::Is(number) => number,
        Value::Never => f64::INFINITY,
        Value::NotInThisRun => f64::NAN,
    }
}

/// The score of such a number.
pub fn as_value(number: f64) -> Value {
    match number {
        _ if number.is_nan() => Value::NotInThisRun,
        _ if number.is_infinite() => Value::Never,
        _ => Value::Is(number),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shards_share_the_points_without_a_gap_or_a_double() {
        for (points, parts) in [(0, 3), (1, 3), (8, 3), (9, 3), (10, 16), (7, 1)] {
            let mut seen: Vec<usize> = (1..=parts)
                .map(|part| Shard { part, parts })
                .flat_map(|shard| (0..shard.count(points)).map(move |index| shard.point(index)))
                .collect();
            seen.sort_unstable();
            assert_eq!(seen, (0..points).collect::<Vec<_>>(), "{points} in {parts}");
        }
    }
}
