//! The simulator as a Python module. Nothing is computed here: what Python gives is handed to `easeoff_sim`, and what comes
//! back is laid into NumPy arrays, so that a notebook and the program `easeoff` cannot differ.
#![allow(
    clippy::arithmetic_side_effects,
    clippy::float_arithmetic,
    clippy::indexing_slicing,
    reason = "the host computes in f64 and usize; the strict rules guard the firmware"
)]

mod refused;
mod value;
mod array;
mod score;
mod run;
mod sweep;
mod scene;

/// What the package `easeoff` is made of.
#[pyo3::pymodule]
mod _native {
    #[pymodule_export]
    use super::refused::{Mistake, Refused, RunFailed};
    #[pymodule_export]
    use super::run::Run;
    #[pymodule_export]
    use super::scene::{Scene, demo, load};
    #[pymodule_export]
    use super::score::Score;
    #[pymodule_export]
    use super::sweep::Sweep;
}
