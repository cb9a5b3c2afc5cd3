//! Drives [`easeoff_core`] over rough ground and says what the settings do and what they hide.
//!
//! Data flows one way: [`files`] -> [`run`] -> [`score`] -> [`study`]; [`results`] writes what came of it. Nothing here
//! draws or knows a terminal: that is the crate `easeoff`.
//!
//! - [`Scenario`] is a rig, a tune, a course and a driver, read from files with every mistake at its line, or a [`demo`].
//! - [`simulate`] runs it to its end: a [`Run`] has a [`Row`] per controller tick. [`Simulation`] is the same tick by
//!   tick; [`Control`] is the seam for another controller.
//! - [`SCORES`] lists what is measured of runs; [`Measuring`] makes the extra runs that some need.
//! - [`study`] asks more of runs: comparison, sweep, goals, standard trials, gearing, inspection, a fit to a log.
//!
//! ```
//! use easeoff_sim::{Measuring, Method, demo, score, simulate};
//!
//! let mut scenario = demo::scenario("let-off").unwrap();
//! scenario.tune.drag.onset_ms = 900.0;
//! let method = Method::default();
//! let run = simulate(&scenario, method.step_s).unwrap();
//! let scores = Measuring::own(method).of(&scenario, &run, &[&score::LURCH, &score::RUN_ON]).unwrap();
//! let lurch = scores.value(&score::LURCH).number().unwrap();
//! assert!(lurch < 20.0, "a slow onset is soft: {lurch} m/s\u{b3}");
//! ```
#![allow(
    clippy::arithmetic_side_effects,
    clippy::as_conversions,
    clippy::float_arithmetic,
    clippy::float_cmp,
    clippy::indexing_slicing,
    reason = "the host computes in f64 and usize; the strict rules guard the firmware"
)]

pub mod digits;
pub mod palette;
pub mod files;
pub mod results;
pub mod run;
pub mod score;
pub mod study;

pub use files::demo;
pub use files::mistake::Refusal;
pub use files::scenario::{Files, Scenario};
pub use run::controller::Control;
pub use run::{Method, Row, Run, RunError, Simulation, simulate};
pub use score::{SCORES, Scores, Value};
pub use study::measured::Measuring;
