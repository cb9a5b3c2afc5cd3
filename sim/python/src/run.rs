//! One run: its columns as arrays, its scores, and what happened.

use easeoff_sim::files::mistake::did_you_mean;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::columns::{names, readable, unit, values};
use easeoff_sim::run::never_moved::never_moved;
use easeoff_sim::run::{End, Run as Driven};
use easeoff_sim::score::Score as Measured;
use easeoff_sim::study::sweep::as_number;
use pyo3::IntoPyObjectExt;
use pyo3::exceptions::PyKeyError;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::array::floats;
use crate::score::Score;

/// A run, row by row as in `run.csv`: a row per tick of the controller.
///
/// `run["speed_m_s"]` is a column. The numbers have the bits of the file's.
#[pyclass(frozen, get_all, module = "easeoff")]
pub(crate) struct Run {
    /// What it is called.
    name: String,
    /// Time from row to row [s].
    tick_s: f64,
    /// Why it ended: "duration", the driver's time was up, or "course", the rig reached its end.
    end: &'static str,
    /// Why it never moved, with what to do; None: it moved.
    never_moved: Option<String>,
    /// All columns by name, in the order of `run.csv`; the unit is the end of the name. A missing value is nan.
    columns: Py<PyDict>,
    /// The unit of each column by name, such as "m/s"; "-" for a ratio or a number that tells things apart.
    units: Py<PyDict>,
    /// The scores by name.
    scores: Py<PyDict>,
    /// What happened: time [s] and words, the first of each kind.
    events: Vec<(f64, String)>,
}

#[pymethods]
impl Run {
    fn __getitem__<'py>(&self, py: Python<'py>, name: &str) -> PyResult<Bound<'py, PyAny>> {
        let found = self.columns.bind(py).get_item(name)?;
        found.ok_or_else(|| {
            let near = did_you_mean(name, &names().collect::<Vec<_>>());
            let near = near.map(|near| format!("; did you mean \"{near}\"?")).unwrap_or_default();
            PyKeyError::new_err(format!("there is no column \"{name}\"{near}"))
        })
    }

    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        let rows = self.__getitem__(py, "time_s")?.len()?;
        let columns = self.columns.bind(py).len();
        Ok(format!("<easeoff.Run {}: {rows} rows of {columns} columns>", self.name))
    }
}

/// What is kept of a run, not yet Python's: made while others may run.
pub(crate) struct Kept {
    pub(crate) name: String,
    tick_s: f64,
    end: End,
    never_moved: Option<String>,
    columns: Vec<Vec<f64>>,
    scores: Vec<Measured>,
    events: Vec<(f64, String)>,
}

impl Kept {
    pub(crate) fn new(
        name: String,
        scenario: &Scenario,
        run: &Driven,
        scores: Vec<Measured>,
        events: Vec<(f64, String)>,
    ) -> Self {
        let empty = |_| Vec::with_capacity(run.rows.len());
        let mut columns: Vec<Vec<f64>> = names().map(empty).collect();
        for row in &run.rows {
            for (column, value) in columns.iter_mut().zip(values(row)) {
                column.push(readable(value));
            }
        }
        let never_moved = never_moved(scenario, run).map(|found| found.to_string());
        Self { name, tick_s: run.tick_s, end: run.end, never_moved, columns, scores, events }
    }

    pub(crate) fn shown(self, py: Python<'_>) -> PyResult<Run> {
        let (columns, units, scores) = (PyDict::new(py), PyDict::new(py), PyDict::new(py));
        for (name, values) in names().zip(self.columns) {
            columns.set_item(name, floats(py, &values)?)?;
            units.set_item(name, unit(name))?;
        }
        for score in self.scores {
            let value = as_number(score.value).into_py_any(py)?;
            scores.set_item(score.meaning.name, Score::new(score.meaning, value))?;
        }
        Ok(Run {
            name: self.name,
            tick_s: self.tick_s,
            end: match self.end {
                End::Duration => "duration",
                End::Course => "course",
            },
            never_moved: self.never_moved,
            columns: columns.unbind(),
            units: units.unbind(),
            scores: scores.unbind(),
            events: self.events,
        })
    }
}
