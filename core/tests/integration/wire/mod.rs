//! What leaves the controller as bytes, and the words for what is wrong with it.

mod blob;
mod drawn;
mod messages;
mod telemetry;
mod tunes;
