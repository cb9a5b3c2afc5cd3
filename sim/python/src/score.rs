//! Scores, of a run or of all runs of a sweep.

use easeoff_sim::score::Meaning;
use easeoff_sim::study::sweep::as_value;
use pyo3::prelude::*;

/// A score with its unit and what it means; `value` is a number of a run, an array of a sweep.
///
/// `inf` is what never comes, `nan` what the run has nothing to measure on.
#[pyclass(frozen, module = "easeoff")]
pub(crate) struct Score {
    meaning: &'static Meaning,
    /// The number, or an array of them.
    #[pyo3(get)]
    value: Py<PyAny>,
}

impl Score {
    pub(crate) fn new(meaning: &'static Meaning, value: Py<PyAny>) -> Self {
        Self { meaning, value }
    }
}

#[pymethods]
impl Score {
    /// Its name, such as "run-on".
    #[getter]
    fn name(&self) -> &str {
        self.meaning.name
    }

    /// Its unit; "-" for a ratio.
    #[getter]
    fn unit(&self) -> &str {
        self.meaning.unit
    }

    /// What exactly it is.
    #[getter]
    fn definition(&self) -> &str {
        self.meaning.definition
    }

    /// True where less is better, False where more is, None where that depends.
    #[getter]
    fn less_is_better(&self) -> Option<bool> {
        self.meaning.better.with_more().map(|more| !more)
    }

    /// Name and unit, as on an axis: "run-on [m]".
    #[getter]
    fn label(&self) -> String {
        self.meaning.label()
    }

    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        let value = self.value.bind(py);
        Ok(match value.extract::<f64>() {
            Ok(number) => {
                format!(
                    "<easeoff.Score {}: {}>",
                    self.meaning.name,
                    self.meaning.amount(as_value(number))
                )
            }
            Err(_) => {
                format!(
                    "<easeoff.Score {}, shape {}>",
                    self.meaning.label(),
                    value.getattr("shape")?
                )
            }
        })
    }
}
