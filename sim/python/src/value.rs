//! Values of settings, from Python.

use easeoff_sim::study::sweep::{Axis, whole};
use pyo3::prelude::*;
use pyo3::types::PyString;
use toml_edit::{Array, Value as Setting};

use crate::refused::raised;

/// A value as it would stand in a file: text, a truth value, a number, or a list of such.
pub(crate) fn setting(value: &Bound<'_, PyAny>) -> PyResult<Setting> {
    if let Some(scalar) = scalar(value) {
        return Ok(scalar);
    }
    let parts = value.try_iter().map_err(|_| {
        raised(format!(
            "{value} is no setting; allowed is a number, text, True, False or a list of such"
        ))
    })?;
    let parts = parts.map(|part| setting(&part?)).collect::<PyResult<Array>>()?;
    Ok(parts.into())
}

/// What is varied: over a range or a list in the words of `easeoff sweep --vary`, or over any values.
pub(crate) fn axis(key: &str, values: &Bound<'_, PyAny>) -> PyResult<Axis> {
    if let Ok(text) = values.cast::<PyString>() {
        return Axis::parse(&format!("{key}={text}")).map_err(raised);
    }
    let how = "give a list of numbers or texts, or a range such as \"0..900:7\"";
    let wrong =
        |one: &Bound<'_, PyAny>| raised(format!("{key} cannot be varied over {one}; {how}"));
    let all = values.try_iter().map_err(|_| wrong(values))?;
    let all = all.map(|one| one.and_then(|one| scalar(&one).ok_or_else(|| wrong(&one))));
    Axis::listed(key, all.collect::<PyResult<_>>()?).map_err(raised)
}

fn scalar(value: &Bound<'_, PyAny>) -> Option<Setting> {
    // A truth value is a number too, in Python, so it comes first; NumPy's own are known alike.
    if let Ok(text) = value.extract::<&str>() {
        return Some(text.into());
    }
    if let Ok(truth) = value.extract::<bool>() {
        return Some(truth.into());
    }
    if let Ok(number) = value.extract::<i64>() {
        return Some(number.into());
    }
    value.extract::<f64>().ok().map(whole)
}
