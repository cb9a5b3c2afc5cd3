//! A small electric vehicle and the ground under it: what flows between pack, bridge, motor, gears, tyres
//! and ground, integrated with a fixed step.
//!
//! [`Rig`] and [`Course`] are data; [`Plant`] couples the [`parts`] over the [`ground`]; [`steady`] and
//! [`heating`] answer without a run.
#![allow(
    clippy::arithmetic_side_effects,
    clippy::as_conversions,
    clippy::float_arithmetic,
    clippy::float_cmp,
    clippy::indexing_slicing,
    reason = "the plant computes in f64 and usize; the strict rules guard the firmware"
)]

pub mod interpolate;
pub mod wire_gauge;
pub mod rig;
pub mod rough;
pub mod course;
pub mod continuous;
pub mod state;
pub mod parts;
pub mod ground;
mod plant;
pub mod steady;
pub mod heating;

pub use course::Course;
pub use plant::{
    AIR_DENSITY, DEFAULT_STEP_S, Flows, GRAVITY, Plant, PlantState, air_n, ledger, level_loads_n,
    steps_in,
};
pub use rig::Rig;
