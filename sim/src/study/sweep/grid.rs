//! A sweep as its table and record tell it: pictures and page are made from these, so that a sweep in one piece and
//! one joined from shards show the same.

use std::collections::BTreeMap;

use serde_json::Value as Json;

use super::as_value;
use super::plan::digits;
use crate::score::{Better, Meaning, ScoreRow, find};

/// One thing that was varied.
#[derive(Clone, Debug)]
pub struct Varied {
    /// Its key.
    pub key: String,
    /// Its values, as they are written.
    pub values: Vec<String>,
}

/// A finished sweep.
#[derive(Clone, Debug)]
pub struct Grid {
    /// What was varied; the last one changes quickest.
    pub varied: Vec<Varied>,
    /// What was measured.
    pub scores: Vec<&'static ScoreRow>,
    /// Why runs failed, by point.
    pub failed: BTreeMap<usize, String>,
    values: Vec<f64>,
}

/// The last part of a key, which tells most in little room.
pub fn short(key: &str) -> &str {
    key.rsplit('.').next().unwrap_or(key)
}

impl Varied {
    /// The values as numbers, if all of them are and they rise.
    pub fn numbers(&self) -> Option<Vec<f64>> {
        let numbers: Vec<f64> =
            self.values.iter().map(|value| value.parse().ok()).collect::<Option<_>>()?;
        numbers.windows(2).all(|pair| pair[0] < pair[1]).then_some(numbers)
    }

    /// The key's last part, which tells most in little room.
    pub fn short(&self) -> &str {
        short(&self.key)
    }
}

impl Grid {
    /// From the record and the table of a whole sweep.
    ///
    /// # Errors
    /// What does not fit.
    pub fn read(record: &Json, table: &[u8]) -> Result<Self, String> {
        let wrong = |what: &str| format!("sweep.csv and run.json do not fit: {what}");
        let text = |value: &Json| value.as_str().unwrap_or_default().to_owned();
        let list = |value: &Json| value.as_array().cloned().unwrap_or_default();
        let varied: Vec<Varied> = list(&record["vary"])
            .iter()
            .map(|one| Varied {
                key: text(&one["key"]),
                values: list(&one["values"]).iter().map(text).collect(),
            })
            .collect();
        let scores = list(&record["scores"])
            .iter()
            .map(|one| find(&text(&one["name"])).map_err(|why| wrong(&why)))
            .collect::<Result<Vec<_>, _>>()?;
        let points = varied.iter().map(|one| one.values.len()).product::<usize>();
        let (mut values, mut failed) = (Vec::with_capacity(points * scores.len()), BTreeMap::new());
        let mut reader = csv::Reader::from_reader(table);
        for (point, row) in reader.records().enumerate() {
            let row = row.map_err(|error| wrong(&error.to_string()))?;
            if row.len() != 2 + varied.len() + scores.len() {
                return Err(wrong("a row has another length"));
            }
            for cell in row.iter().skip(1 + varied.len()).take(scores.len()) {
                let value = if cell.is_empty() { Ok(f64::NAN) } else { cell.parse() };
                values.push(value.map_err(|_| wrong(&format!("\"{cell}\" is no number")))?);
            }
            if let Some(why) = row.get(row.len() - 1).filter(|why| !why.is_empty()) {
                failed.insert(point, why.to_owned());
            }
        }
        if values.len() != points * scores.len() || points == 0 || scores.is_empty() {
            return Err(wrong("the number of rows is another"));
        }
        Ok(Self { varied, scores, failed, values })
    }

    /// The same points without what has one value only: there is nothing to see along that. Their order is the same.
    pub fn moving(&self) -> Self {
        let varied = self.varied.iter().filter(|one| one.values.len() > 1).cloned().collect();
        Self { varied, ..self.clone() }
    }

    /// Number of points.
    pub fn points(&self) -> usize {
        self.values.len() / self.scores.len()
    }

    /// A score at a point: infinite for never, no number where there is none.
    pub fn value(&self, point: usize, score: usize) -> f64 {
        self.values[point * self.scores.len() + score]
    }

    /// A score at a point in words, with its unit.
    pub fn amount(&self, point: usize, score: usize) -> String {
        self.scores[score].meaning.amount(as_value(self.value(point, score)))
    }

    /// A score and where it is best, in a line.
    pub fn headline(&self, score: usize) -> String {
        let Meaning { name, better, .. } = self.scores[score].meaning;
        let Some(best) = self.best(score) else { return name.to_owned() };
        let word = if better == Better::More { "most" } else { "least" };
        format!("{name}: {word}, {}, with {}", self.amount(best, score), self.describe(best))
    }

    /// The settings of a point, as they are written.
    pub fn settings(&self, point: usize) -> Vec<&str> {
        let counts: Vec<usize> = self.varied.iter().map(|one| one.values.len()).collect();
        let digits = digits(point, &counts).into_iter();
        self.varied.iter().zip(digits).map(|(one, digit)| one.values[digit].as_str()).collect()
    }

    /// The settings of a point in words.
    pub fn describe(&self, point: usize) -> String {
        let pairs = self.varied.iter().zip(self.settings(point));
        let pairs = pairs.map(|(one, value)| format!("{} {value}", one.short()));
        pairs.collect::<Vec<_>>().join(", ")
    }

    /// What [`best`](Self::best) finds: the best, or the least where it depends which way is better.
    pub fn ring(&self, score: usize) -> &'static str {
        if self.scores[score].meaning.sign().is_some() { "best" } else { "least" }
    }

    /// The point where a score is best, the first of several; where it depends, where it is least.
    pub fn best(&self, score: usize) -> Option<usize> {
        let sign = self.scores[score].meaning.sign().unwrap_or(1.0);
        let worth = |point: &usize| sign * self.value(*point, score);
        let finite = (0..self.points()).filter(|point| worth(point).is_finite());
        finite.min_by(|a, b| worth(a).total_cmp(&worth(b)))
    }
}
