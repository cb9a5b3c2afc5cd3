//! What is wrong, as Python is told it: the words of the program.

use easeoff_sim::files::mistake::{Refusal, render};
use easeoff_sim::run::RunError;
use easeoff_sim::study::sweep::Wrong;
use pyo3::create_exception;
use pyo3::exceptions::{PyRuntimeError, PyValueError};
use pyo3::prelude::*;

create_exception!(
    easeoff,
    Refused,
    PyValueError,
    "What was given is refused, with every mistake in it; nothing was run.\n\n\
     `mistakes` lists them. The text is what the program `easeoff` says of the same files."
);
create_exception!(
    easeoff,
    RunFailed,
    PyRuntimeError,
    "A run could not be finished; the text says where, and what to do."
);

/// One mistake: where it is, what is wrong, and what to do about it.
#[pyclass(frozen, get_all, module = "easeoff")]
pub(crate) struct Mistake {
    /// The file's name; None where no file is wrong but what was asked for.
    file: Option<String>,
    /// The line in it, from 1; None where the mistake concerns the whole file.
    line: Option<usize>,
    /// What is wrong, with key, value and allowed range.
    what: String,
    /// What to do about it; None where `what` says so.
    remedy: Option<String>,
}

#[pymethods]
impl Mistake {
    fn __repr__(&self) -> String {
        let place = match (&self.file, self.line) {
            (Some(file), Some(line)) => format!("{file}:{line}: "),
            (Some(file), None) => format!("{file}: "),
            _ => String::new(),
        };
        let remedy = self.remedy.iter().map(|remedy| format!("; {remedy}"));
        format!("<easeoff.Mistake {place}{}{}>", self.what, remedy.collect::<String>())
    }
}

/// The exception for what is wrong.
pub(crate) fn raised(wrong: impl Into<Wrong>) -> PyErr {
    match wrong.into() {
        Wrong::Asked(what) => {
            let text = what.clone();
            refused(text, vec![Mistake { file: None, line: None, what, remedy: None }])
        }
        Wrong::Refused(refusals) => {
            refused(render(&refusals), refusals.into_iter().flat_map(mistakes).collect())
        }
        Wrong::Run(error) => failed(&error),
    }
}

/// The exception for a run that could not be finished.
fn failed(error: &RunError) -> PyErr {
    RunFailed::new_err(error.to_string())
}

fn mistakes(Refusal { source, mistakes }: Refusal) -> Vec<Mistake> {
    let line = |place: usize| {
        source.text.bytes().take(place).filter(|byte| *byte == b'\n').count().saturating_add(1)
    };
    let reported = mistakes.into_iter().map(|mistake| Mistake {
        file: Some(source.name.clone()),
        line: mistake.span.map(|span| line(span.start)),
        what: mistake.what,
        remedy: Some(mistake.remedy),
    });
    reported.collect()
}

fn refused(text: String, mistakes: Vec<Mistake>) -> PyErr {
    Python::attach(|py| {
        let error = Refused::new_err(text);
        match error.value(py).setattr("mistakes", mistakes) {
            Ok(()) => error,
            Err(worse) => worse,
        }
    })
}
