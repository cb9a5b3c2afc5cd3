//! Checks that hold core, simulator and program against published values, stated properties and
//! tracks; see `tests/`.

#[cfg(feature = "bench")]
pub mod bench;
pub mod cargo;
#[cfg(feature = "bench")]
pub mod from_c;
pub mod fuzz;
#[cfg(feature = "bench")]
pub mod made_log;
#[cfg(feature = "bench")]
pub mod made_throttle;
#[cfg(feature = "bench")]
pub mod made_walk;

use std::io::Write;

/// Fails unless `ours` lies within `tolerance` of the `published` value.
#[track_caller]
pub fn near(ours: f64, published: f64, tolerance: f64) {
    assert!((ours - published).abs() <= tolerance, "{ours}, published {published} +- {tolerance}");
}

/// Says, past the test's capture, that a test compares nothing: nobody should take this for a check.
///
/// # Panics
/// When standard error is closed.
pub fn skipped(why: &str) {
    let mut seen = std::io::stderr();
    writeln!(seen, "SKIPPED: {why}").unwrap();
}

/// README's samples compile and run.
#[cfg(doctest)]
#[doc = include_str!("../../README.md")]
struct Readme;
