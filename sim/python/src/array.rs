//! NumPy arrays, made by NumPy itself. The crate `numpy` would do it too, but it widens what nalgebra is built with, so that the
//! simulator would be built a second time for this module alone.

use easeoff_sim::study::sweep::bare;
use pyo3::IntoPyObjectExt;
use pyo3::prelude::*;
use pyo3::types::{PyByteArray, PyModule};
use toml_edit::Value as Setting;

/// Numbers in one dimension.
pub(crate) fn floats<'py>(py: Python<'py>, values: &[f64]) -> PyResult<Bound<'py, PyAny>> {
    // An array of bytes and not a string of them: what is made of it can be written to.
    let bytes: Vec<u8> = values.iter().flat_map(|value| value.to_ne_bytes()).collect();
    numpy(py)?.call_method1("frombuffer", (PyByteArray::new(py, &bytes), "=f8"))
}

/// The values of an axis as NumPy makes an array of them.
pub(crate) fn settings<'py>(py: Python<'py>, values: &[Setting]) -> PyResult<Bound<'py, PyAny>> {
    let given = |value: &Setting| match value {
        Setting::Integer(number) => number.value().into_bound_py_any(py),
        Setting::Float(number) => number.value().into_bound_py_any(py),
        Setting::Boolean(truth) => truth.value().into_bound_py_any(py),
        other => bare(other).into_bound_py_any(py),
    };
    let values = values.iter().map(given).collect::<PyResult<Vec<_>>>()?;
    numpy(py)?.call_method1("asarray", (values,))
}

fn numpy(py: Python<'_>) -> PyResult<Bound<'_, PyModule>> {
    py.import("numpy")
}
