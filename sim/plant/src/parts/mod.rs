//! The parts. They know nothing of each other; the plant couples them.

pub mod pack;
pub mod bridge;
pub mod switching;
pub mod servo;
pub mod friction;
pub mod time_constant;
pub mod motor;
pub mod motor_kind;
pub mod cogging;
pub mod heat_path;
pub mod driveline;
pub mod tyre;
pub mod tyre_kind;
