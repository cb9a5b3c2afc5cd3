//! The core through its public face only: one program, so that the core is linked once.
#![allow(
    clippy::arithmetic_side_effects,
    clippy::as_conversions,
    clippy::float_arithmetic,
    clippy::float_cmp,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used,
    reason = "tests compute and panic"
)]

mod common;
mod stories;

mod calibrate;
mod events;
mod exhaustive;
mod fixed_point;
mod hal;
mod invariants;
mod monitor;
mod properties;
mod published_hold;
mod rates;
mod safety;
mod settings_list;
mod settings_refused;
mod take_over;
#[cfg(feature = "wire")]
mod wire;
