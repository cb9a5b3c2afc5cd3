//! Plays a tape of inputs to the core and answers what came of it. Host and chip compile this very
//! code, so that a comparison of their answers compares builds of the core and nothing else.
//!
//! ```text
//! tape     head, then a record a tick, then the end
//!   head   bytes of the tune's blob (u16), the blob, tick rate [Hz] (u16), ticks from mark to mark (u32)
//!   record which values are given (u8), then each given one as its raw number (i32)
//!   end    0xff
//! answer   whether the tune was accepted, then one part a tick, then the counts
//!   tick   running checksum (u32); at a mark also the tick's telemetry frame
//!   counts see `Counts`
//! ```
//!
//! All numbers little end first. With a mark every tick and the next record sent only after the
//! answer it is a controller at the end of a line.
#![no_std]

#[cfg(feature = "std")]
extern crate std;

mod line;
mod meter;
mod play;
mod record;
#[cfg(feature = "std")]
mod stream;

pub use line::{Broken, Line};
pub use meter::{Counts, Meter, Unmetered};
pub use play::{ACCEPTED, REFUSED, play};
pub use record::{END, Head, write_record};
#[cfg(feature = "std")]
pub use stream::Stream;
