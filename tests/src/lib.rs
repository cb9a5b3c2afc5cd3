//! Checks that hold core, simulator and program against published values, stated properties and
//! tracks; see `tests/`.

#[cfg(feature = "bench")]
pub mod bench;
#[cfg(feature = "bench")]
pub mod from_c;
pub mod fuzz;
#[cfg(feature = "bench")]
pub mod made_log;
#[cfg(feature = "bench")]
pub mod made_walk;

/// Fails unless `ours` lies within `tolerance` of the `published` value.
#[track_caller]
#[expect(clippy::float_arithmetic, reason = "compares numbers")]
pub fn near(ours: f64, published: f64, tolerance: f64) {
    assert!((ours - published).abs() <= tolerance, "{ours}, published {published} +- {tolerance}");
}

/// README's samples compile and run.
#[cfg(doctest)]
#[doc = include_str!("../../README.md")]
struct Readme;
