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
mod shared;

// The path: the stages, and what cuts and checks what they ask for.
mod stages;
mod limits;
mod monitor;

// The whole.
mod trace;
mod controller;
mod settings;
mod prepare;
mod recorder;

// Apart from the path: finding a throttle's end points.
mod calibrate;

// What leaves the board and comes back.
#[cfg(feature = "wire")]
mod wire;

pub mod hal;

pub use calibrate::{
    CalibrationFault, CalibrationProgress, Calibrator, CalibratorSettings, CalibratorState,
};
pub use controller::{Controller, Output, State};
pub use limits::stall::StallSettings;
pub use limits::{LimitFactors, LimitSettings, PackRecovery};
pub use monitor::{Breach, Monitor, MonitorState, Verdict};
pub use recorder::Recorder;
pub use settings::{At, Kind, SETTINGS, Setting, Settings};
pub use shared::choice::Choice;
pub use shared::error::{MOST_ERRORS, SettingsError, SettingsErrorKind, SettingsErrors};
pub use shared::input::Input;
pub use shared::motor::MotorSettings;
pub use shared::ramp::TickRate;
pub use shared::units::{Amp, Celsius, Demand, Duty, Microseconds, Speed, Strength, Volt};
pub use stages::bridge::Command;
pub use stages::curve::{CurveSettings, Knots, MOST_KNOTS};
pub use stages::demand::Calibration;
pub use stages::drag::{DragLaw, DragSettings};
pub use stages::give_way::GiveWaySettings;
pub use stages::hold::HoldSettings;
pub use stages::mode::{Mode, ModeSettings, ReversePolicy};
pub use stages::pulse::PulseSettings;
pub use stages::rest::RestSettings;
pub use stages::safe_state::SafeState;
pub use stages::shape::Shape;
pub use stages::slew::SlewSettings;
pub use trace::{Event, Events, Trace};
#[cfg(feature = "wire")]
pub use wire::{blob, telemetry};
