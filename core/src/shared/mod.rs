//! What the stages share.

pub(crate) mod units;
pub(crate) mod error;
pub(crate) mod ramp;
pub(crate) mod motor;
pub(crate) mod input;
pub(crate) mod pi;
pub(crate) mod choice;
