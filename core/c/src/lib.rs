//! The controller for callers in C: what `easeoff.h` declares, in a static library.
//!
//! ```text
//! cargo rustc -p easeoff-c --profile chip --crate-type staticlib --target thumbv7em-none-eabihf
//! ```
//!
//! The memory is the caller's; there is no heap. Every pointer is looked at before it is used: null and
//! misaligned ones are answered with a [`easeoff_status`]. A controller that was not prepared, or whose
//! last preparation failed, is refused by [`easeoff_step`] with coasting.
//!
//! `easeoff.h` is made from this source by `cargo xtask header`; a test compares the two.

#![cfg_attr(target_os = "none", no_std)]
#![expect(non_camel_case_types, reason = "the names are those in the header")]
#![allow(
    unsafe_code,
    reason = "C hands over pointers and calls functions by plain names; pointer.rs"
)]
#![cfg_attr(
    test,
    allow(
        clippy::arithmetic_side_effects,
        clippy::as_conversions,
        reason = "tests compute and panic"
    )
)]

#[cfg(target_os = "none")]
mod gate;
#[cfg(easeoff_unwraps)]
mod wrong;

mod status;
mod pointer;
mod stored;
mod settings;
mod mistake;
mod prepare;
mod step;
mod wire;

pub use mistake::{EASEOFF_TEXT_BYTES, easeoff_mistake};
pub use prepare::{easeoff_prepare, easeoff_prepare_blob, easeoff_prepare_default};
pub use settings::*;
pub use status::easeoff_status;
pub use step::{
    easeoff_breach, easeoff_command, easeoff_event, easeoff_fast_bridge, easeoff_input,
    easeoff_mode, easeoff_output, easeoff_start, easeoff_step,
};
pub use stored::{
    EASEOFF_CONTROLLER_WORDS, EASEOFF_STATE_WORDS, easeoff_controller, easeoff_state,
};
pub use wire::{
    EASEOFF_BLOB_BYTES, EASEOFF_TELEMETRY_BYTES, easeoff_blob_read, easeoff_blob_write,
    easeoff_telemetry,
};
