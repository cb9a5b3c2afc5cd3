//! A small electric vehicle and the ground under it: what flows between pack, bridge, motor, gears, tyres
//! and ground, integrated with a fixed step. No files and no controller.
//!
//! - [`Rig`] and [`Course`] are data. [`Plant`] couples the [`parts`] over the [`ground`]; [`PlantState`] is what changes.
//! - [`Plant::over`] steps a stretch of time under one [`Action`] and gives the [`Flows`]; [`ledger`] says where the
//!   energy went.
//! - [`steady`] and [`heating`] answer without a run.
//!
//! ```
//! use easeoff_plant::{Action, DEFAULT_STEP_S, Plant};
//!
//! // The demo's rig and course; only this example needs easeoff-sim.
//! let demo = easeoff_sim::demo::scenario("garden").unwrap();
//! let plant = Plant::new(&demo.rig, &demo.course);
//! let mut state = plant.at_rest(&demo.rig, demo.course.start_m);
//! for _ in 0..1_000 {
//!     plant.over(&mut state, Action::Drive(0.5), 1.0e-3, DEFAULT_STEP_S);
//! }
//! assert!(state.now.speed_m_s > 0.3, "after a second at half duty: {} m/s", state.now.speed_m_s);
//! ```
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
pub use parts::bridge::Action;
pub use plant::{
    AIR_DENSITY, DEFAULT_STEP_S, Flows, GRAVITY, Plant, PlantState, air_n, ledger, level_loads_n,
    steps_in,
};
pub use rig::Rig;
