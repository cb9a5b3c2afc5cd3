//! Draws what [`logic`](crate::logic) does, and hands it what the driver does.

mod axes;
mod bar;
mod bench;
mod curve;
mod hand;
mod keys;
pub mod message;
mod number;
mod overlay;
mod palette;
mod results;
mod rig;
mod scene;
mod settings;
mod status;
mod thin;
mod traces;
pub mod window;
