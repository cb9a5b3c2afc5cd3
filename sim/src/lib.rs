//! The host side of easeoff: drives [`easeoff_core`] over rough ground and shows what the settings
//! do and what they hide.
//!
//! Data flows one way: [`files`] -> [`run`] -> [`score`] -> [`study`]; [`results`] writes what came of it.
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
