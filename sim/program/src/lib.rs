//! The program `easeoff`: draws, reports and writes what [`easeoff_sim`] computes.
//!
//! Data flows one way: [`draw`] -> [`report`] -> [`cli`]. As a library it is for a controller of one's own:
//! [`run_alongside`] is the main function of such a program, and drives it and easeoff's controller over the same rides.
//!
//! ```no_run
//! use easeoff_sim::run::controller::{Command, Control, Input, Throttle, drive};
//!
//! /// Throttle is duty, and nothing else.
//! struct ThrottleToDuty(Throttle);
//!
//! impl Control for ThrottleToDuty {
//!     fn name(&self) -> String {
//!         "throttle to duty".into()
//!     }
//!
//!     fn step(&mut self, input: &Input) -> Command {
//!         self.0.read(input).map_or(Command::Coast, drive)
//!     }
//! }
//!
//! fn main() -> std::process::ExitCode {
//!     easeoff::run_alongside(&|scenario| Ok(Box::new(ThrottleToDuty(Throttle::new(scenario)?))))
//! }
//! ```
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
