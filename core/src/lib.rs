//! Throttle and drag-brake response for a small electric vehicle, in fixed point, without a heap.
//!
//! One straight path, every tick:
//!
//! ```text
//! pulse -> demand -> curve -> slew -> mode -> drag | rest | hold -> limits -> monitor -> bridge
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
mod input;

// The stages, in the order of the path.
mod pulse;
mod demand;
mod curve;
mod slew;
mod ease;
mod mode;
mod current_law;
mod drag;
mod rest;
mod pi;
mod give_way;
mod hold;
mod fade;
mod fold_back;
mod stall;
mod limits;
mod monitor;
mod bridge;

// The whole.
mod trace;
mod controller;
mod settings;
mod recorder;

// Beside the path.
mod fast_bridge;
mod calibrate;

// What leaves the board and comes back.
#[cfg(feature = "wire")]
mod checksum;
#[cfg(feature = "wire")]
pub mod blob;
#[cfg(feature = "wire")]
pub mod telemetry;

pub mod hal;

pub use bridge::Command;
pub use calibrate::{
    CalibrationFault, CalibrationProgress, Calibrator, CalibratorSettings, CalibratorState,
};
pub use controller::{Controller, Output, State};
pub use curve::{CurveSettings, Knots, MOST_KNOTS};
pub use demand::Calibration;
pub use drag::{DragLaw, DragSettings};
pub use error::{MOST_ERRORS, SettingsError, SettingsErrorKind, SettingsErrors};
pub use give_way::GiveWaySettings;
pub use hold::HoldSettings;
pub use input::Input;
pub use limits::{LimitFactors, LimitSettings, PackRecovery};
pub use mode::{Mode, ModeSettings, ReversePolicy};
pub use monitor::{Breach, Monitor, MonitorState, Verdict};
pub use motor::MotorSettings;
pub use pulse::PulseSettings;
pub use ramp::TickRate;
pub use recorder::Recorder;
pub use rest::RestSettings;
pub use settings::{At, Kind, SETTINGS, SafeState, Setting, Settings};
pub use shape::Shape;
pub use slew::SlewSettings;
pub use stall::StallSettings;
pub use trace::{Event, Events, Trace};
pub use units::{Amp, Celsius, Demand, Duty, Microseconds, Speed, Strength, Volt};
