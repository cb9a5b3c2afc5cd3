//! What leaves the board and comes back: the stored tune and telemetry.

mod checksum;
pub mod blob;
pub mod telemetry;
