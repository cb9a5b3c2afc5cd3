//! Many runs over a grid of values. Point k of the grid is always the same point and its run depends on
//! nothing else, so neither threads nor shards change a bit of the result.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;

use toml_edit::Value as Setting;

use crate::controller::Own;
use crate::patch::{self, Path};
use crate::run::simulate;
use crate::scenario::{Files, Scenario};
use crate::score::{Value, wanted_scores};

/// One thing that is varied, with its values.
#[derive(Clone, Debug)]
pub struct Axis {
    /// As the user wrote it.
    pub name: String,
    path: Path,
    /// The values in turn.
    pub values: Vec<Setting>,
}

/// As many points as one sweep may have.
pub const MOST_POINTS: usize = 10_000_000;
const USUAL_COUNT: usize = 5;

impl Axis {
    /// Reads `tune.drag.onset_ms=0..900:7`, both ends included, or `tune.drag.law=share,current`.
    ///
    /// # Errors
    /// What is wrong with it, and how to write it.
    pub fn parse(text: &str) -> Result<Self, String> {
        let how = "write KEY=FROM..TO:COUNT or KEY=VALUE,VALUE";
        let (name, values) = text.split_once('=').ok_or(how)?;
        let path = Path::parse(name)?;
        let values = match values.split_once("..") {
            Some((from, rest)) => {
                let (to, count) = rest.split_once(':').unwrap_or((rest, ""));
                let count = if count.is_empty() { Ok(USUAL_COUNT) } else { count.parse() };
                let range = (from.parse::<f64>(), to.parse::<f64>(), count);
                let (Ok(from), Ok(to), Ok(count @ 2..=100_000)) = range else {
                    return Err(format!("{values} is no range; {how}, COUNT from 2 to 100000"));
                };
                if !from.is_finite() || !to.is_finite() {
                    return Err(format!("{values} has an end that is not finite; {how}"));
                }
                let part = |index: usize| index as f64 / (count - 1) as f64;
                (0..count).map(|index| from + (to - from) * part(index)).map(tidy).collect()
            }
            None => values.split(',').map(setting).collect::<Vec<_>>(),
        };
        Ok(Self { name: name.into(), path, values })
    }
}

/// Twelve digits are enough for a setting, and 0.3 is then 0.3.
fn tidy(number: f64) -> Setting {
    Setting::from(format!("{number:.11e}").parse().unwrap_or(number))
}

fn setting(text: &str) -> Setting {
    let read = text.trim().parse::<Setting>().ok().filter(|value| !value.is_array());
    read.unwrap_or_else(|| Setting::from(text.trim()))
}

/// What to run and what to measure.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The files that are changed.
    pub files: Files,
    /// What is varied; the last one changes quickest.
    pub axes: Vec<Axis>,
    /// Names of the scores.
    pub scores: Vec<String>,
    /// Slope of creep \[degrees\].
    pub slope_deg: f64,
    /// The plant's step \[s\].
    pub step_s: f64,
}

/// What a point gave: its scores in the order asked for, or why there are none.
pub type Answer = Result<Vec<Value>, String>;

impl Plan {
    /// Number of points.
    pub fn points(&self) -> usize {
        self.axes.iter().fold(1_usize, |count, axis| count.saturating_mul(axis.values.len()))
    }

    /// The values of a point, one for each axis.
    pub fn values(&self, point: usize) -> Vec<&Setting> {
        let mut left = point;
        let digit = |axis: &'_ Axis| {
            let digit = left % axis.values.len();
            left /= axis.values.len();
            digit
        };
        let digits: Vec<usize> = self.axes.iter().rev().map(digit).collect();
        self.axes
            .iter()
            .zip(digits.iter().rev())
            .map(|(axis, digit)| &axis.values[*digit])
            .collect()
    }

    /// The files of a point.
    ///
    /// # Errors
    /// When a file has no place for a key.
    pub fn files_of(&self, point: usize) -> Result<Files, String> {
        let values = self.values(point);
        let mut changes = self.axes.iter().zip(values);
        changes.try_fold(self.files.clone(), |files, (axis, value)| {
            patch::with(&files, &axis.path, value)
        })
    }

    /// Runs one point.
    pub fn answer(&self, point: usize) -> Answer {
        let scenario = Scenario::load(&self.files_of(point)?).map_err(|refusals| {
            let mistakes = refusals.iter().flat_map(|refusal| &refusal.mistakes);
            mistakes.map(|mistake| mistake.what.clone()).collect::<Vec<_>>().join("; ")
        })?;
        let run = simulate(&scenario, self.step_s).map_err(|error| error.to_string())?;
        let wanted = |name: &str| self.scores.iter().any(|score| score == name);
        let scores =
            wanted_scores(&scenario, &run, self.slope_deg, self.step_s, &Own::make, &wanted)
                .map_err(|error| error.to_string())?;
        Ok(self.scores.iter().map(|name| scores.value(name)).collect())
    }

    /// Runs `points` on so many threads and gives each answer to `take`, in their order.
    pub fn answers(&self, points: &[usize], threads: usize, mut take: impl FnMut(usize, Answer)) {
        let next = AtomicUsize::new(0);
        let (send, receive) = mpsc::channel();
        std::thread::scope(|scope| {
            for _ in 0..threads.max(1) {
                let (send, next) = (send.clone(), &next);
                scope.spawn(move || {
                    while let Some(&point) = points.get(next.fetch_add(1, Ordering::Relaxed)) {
                        if send.send((point, self.answer(point))).is_err() {
                            break;
                        }
                    }
                });
            }
            drop(send);
            let mut early = BTreeMap::new();
            let mut expected = points.iter();
            let mut due = expected.next();
            for (point, answer) in receive {
                early.insert(point, answer);
                while let Some(answer) = due.and_then(|point| early.remove(point)) {
                    take(*due.unwrap_or(&0), answer);
                    due = expected.next();
                }
            }
        });
    }
}
