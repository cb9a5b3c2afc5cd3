//! Many runs over a grid of settings.

use std::sync::atomic::{AtomicBool, Ordering};

use easeoff_sim::score::ScoreRow;
use easeoff_sim::study::sweep::{Answers, Plan, in_turn};
use pyo3::exceptions::PyKeyError;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};

use crate::array::{floats, settings};
use crate::refused::raised;
use crate::score::Score;

/// Scores over a grid of settings, each an array with a dimension for each key that was varied, in their order.
///
/// `sweep["lurch"]` is such an array. `inf` is a score that never comes, `nan` one that the run has nothing to measure
/// on, or of a run that failed.
#[pyclass(frozen, get_all, module = "easeoff")]
pub(crate) struct Sweep {
    /// The values of each key that was varied, in the order of the arrays' dimensions.
    axes: Py<PyDict>,
    /// The scores by name, the value of each being its array.
    scores: Py<PyDict>,
    /// Why runs failed, by their place in the arrays.
    failed: Py<PyDict>,
}

#[pymethods]
impl Sweep {
    fn __getitem__<'py>(&self, py: Python<'py>, name: &str) -> PyResult<Bound<'py, PyAny>> {
        let scores = self.scores.bind(py);
        match scores.get_item(name)? {
            Some(score) => score.getattr("value"),
            None => {
                let has = scores.keys();
                Err(PyKeyError::new_err(format!("\"{name}\" was not asked for; there is {has}")))
            }
        }
    }

    fn __repr__(&self, py: Python<'_>) -> String {
        let (axes, scores) = (self.axes.bind(py).keys(), self.scores.bind(py).keys());
        format!("<easeoff.Sweep of {scores} over {axes}>")
    }
}

/// Runs a plan on so many threads, while others may use Python. Ctrl-C ends it once the runs that have begun are finished.
pub(crate) fn swept(py: Python<'_>, plan: &Plan, threads: usize) -> PyResult<Sweep> {
    let (answers, why) = py.detach(|| {
        let bench = plan.ready().map_err(raised)?;
        let mut answers = Answers::new(plan.points(), plan.scores.len());
        let (stop, mut why, mut interrupted) = (AtomicBool::new(false), Vec::new(), Ok(()));
        let work = |point| bench.answer(&plan.values(point));
        in_turn(plan.points(), threads, &stop, work, |point, answer| {
            if let Err(reason) = &answer {
                why.push((point, reason.clone()));
            }
            answers.put(point, answer);
            if interrupted.is_ok() {
                interrupted = Python::attach(|py| py.check_signals());
                stop.store(interrupted.is_err(), Ordering::Relaxed);
            }
        });
        why.sort();
        interrupted.map(|()| (answers, why))
    })?;
    let (axes, scores, failed) = (PyDict::new(py), PyDict::new(py), PyDict::new(py));
    for axis in &plan.axes {
        axes.set_item(&axis.name, settings(py, &axis.values)?)?;
    }
    let shape = PyTuple::new(py, plan.axes.iter().map(|axis| axis.values.len()))?;
    for (place, ScoreRow { meaning, .. }) in plan.scores.iter().enumerate() {
        let values: Vec<f64> =
            (0..plan.points()).map(|point| answers.values(point)[place]).collect();
        // The points are in the order of such an array: the last axis changes quickest.
        let array = floats(py, &values)?.call_method1("reshape", (&shape,))?;
        scores.set_item(meaning.name, Score::new(meaning, array.unbind()))?;
    }
    for (point, why) in why {
        failed.set_item(PyTuple::new(py, plan.digits(point))?, why)?;
    }
    Ok(Sweep { axes: axes.unbind(), scores: scores.unbind(), failed: failed.unbind() })
}
