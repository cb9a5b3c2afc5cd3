//! Checks that hold core, simulator and program against published values, stated properties and
//! real tracks; see `tests/`.

/// README's samples compile and run.
#[cfg(doctest)]
#[doc = include_str!("../../README.md")]
struct Readme;
