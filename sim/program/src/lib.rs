//! The program `easeoff`: draws, reports and writes what [`easeoff_sim`] computes.
//!
//! Data flows one way: [`draw`] -> [`report`] -> [`cli`].
#![allow(
    clippy::arithmetic_side_effects,
    clippy::as_conversions,
    clippy::float_arithmetic,
    clippy::float_cmp,
    clippy::indexing_slicing,
    reason = "the host computes in f64 and usize; the strict rules guard the firmware"
)]

pub mod draw;
pub mod report;
pub mod cli;

pub use cli::run_alongside;
