//! The drive without a window: what is stepped, turned, judged, saved and exported.
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

mod bumpless;
mod exercises;
mod files;
mod hidden;
#[cfg(feature = "screen")]
mod program;
mod replay;
mod soak;
