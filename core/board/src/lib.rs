//! What firmware needs around [`easeoff_core`], without the chip: how counted edges become a speed and
//! counts a voltage, whether the board may drive, what its status LED and its telemetry say.
//!
//! Chips differ in registers; this does not. So it is tested on the host, and the firmwares in
//! `core/chips` only move numbers between it and their peripherals:
//!
//! ```text
//! edges -> EdgeSpeed  \
//! counts -> Divider    > Input -> Node -> Command -> bridge
//! pulse width         /            |-> status LED
//!                                  '-> frames -> Outbox -> serial line
//! ```
//!
//! # Safety
//! A board that is not sure does not drive: whatever is wrong at power-on ends as coasting with a
//! [`Status`] in telemetry and its [`Remedy`] on the status LED. First power with the wheels off the ground.

#![no_std]
#![cfg_attr(
    test,
    allow(
        clippy::arithmetic_side_effects,
        clippy::float_arithmetic,
        clippy::float_cmp,
        reason = "tests compute what the board must give, and panic when it does not"
    )
)]

#[cfg(test)]
extern crate std;

mod divider;
mod edges;
mod node;
mod outbox;
mod status;
mod status_led;

pub use divider::Divider;
pub use edges::{EdgeCount, EdgeSpeed, EdgeState};
pub use node::{BoardFacts, Node, Sensed};
pub use outbox::Outbox;
pub use status::{Notice, Remedy, Status};
pub use status_led::{Rhythm, status_led};
