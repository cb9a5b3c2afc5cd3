//! Throttle and drag-brake response for a small electric vehicle, in fixed point, without a heap.
//!
//! One straight path, every tick:
//!
//! ```text
//! pulse -> demand -> curve -> slew -> mode -> drag | hold -> limits -> bridge
//! ```
//!
//! [`Settings`] are in physical units and are checked once, by [`Settings::prepare`]; it returns the
//! [`Controller`], whose [`step`](Controller::step) takes what the board measured and returns a
//! [`Command`] for the bridge with a [`Trace`] of everything in between. The same inputs give the
//! same bits on every build.
//!
//! # Goals
//! A path short enough to read in an evening; settings that say what they do to the rig; the same
//! code in the simulator and on the chip.
//!
//! # Out of scope
//! Commutation of brushless motors, position control, radio protocols, vehicles that carry people.
//!
//! # Safety
//! Lift the wheels off the ground for first power and for every new tune. This crate comes without
//! warranty; local rules and qualified advice come first.

#![no_std]
#![cfg_attr(
    test,
    allow(
        clippy::arithmetic_side_effects,
        clippy::float_arithmetic,
        clippy::float_cmp,
        reason = "tests compute what the core must give, and panic when it does not"
    )
)]

#[cfg(test)]
extern crate std;

// What the stages share.
mod units;
mod error;
mod ramp;
mod shape;
mod motor;

// The stages, in the order of the path.
mod pulse;
mod demand;
mod curve;
mod slew;
mod mode;
mod drag;
mod pi;
mod hold;
mod limits;
mod bridge;

// The whole.
mod trace;
mod controller;
mod settings;

pub mod hal;

pub use bridge::Command;
pub use controller::{Controller, Input, Output, State};
pub use curve::CurveSettings;
pub use demand::Calibration;
pub use drag::{DragLaw, DragSettings};
pub use error::{MOST_ERRORS, SettingsError, SettingsErrorKind, SettingsErrors};
pub use hold::HoldSettings;
pub use limits::{LimitFactors, LimitSettings};
pub use mode::{Mode, ModeSettings, ReversePolicy};
pub use motor::MotorSettings;
pub use pulse::PulseSettings;
pub use ramp::{Phase, TickRate};
pub use settings::{SafeState, Settings};
pub use shape::Shape;
pub use slew::SlewSettings;
pub use trace::{Event, Events, Trace};
pub use units::{Amp, Celsius, Demand, Duty, Microseconds, Speed, Strength, Volt};
