//! The window without a display: every control by its label, the hands, blind series, traces.
#![allow(
    clippy::arithmetic_side_effects,
    clippy::as_conversions,
    clippy::float_arithmetic,
    clippy::float_cmp,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used,
    missing_docs,
    reason = "tests compute and panic"
)]

#[path = "../common/mod.rs"]
mod common;

mod blind;
mod controls;
mod hands;
mod harness;
mod traces;
