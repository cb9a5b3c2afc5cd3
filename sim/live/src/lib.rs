//! A window to drive the simulated rig by hand and to turn its settings while driving.
//!
//! [`logic`] steps the simulation in real time and knows nothing of windows; `ui` draws what it does.
#![allow(
    clippy::arithmetic_side_effects,
    clippy::as_conversions,
    clippy::float_arithmetic,
    clippy::float_cmp,
    clippy::indexing_slicing,
    reason = "the host computes in f64 and usize; the strict rules guard the firmware"
)]
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::panic, reason = "tests panic"))]

mod clock;
pub mod logic;
pub mod ui;
pub mod pad;
#[cfg(feature = "screen")]
pub mod app;
#[cfg(all(feature = "screen", not(target_arch = "wasm32")))]
pub mod native;
#[cfg(all(feature = "screen", target_arch = "wasm32"))]
pub mod web;
