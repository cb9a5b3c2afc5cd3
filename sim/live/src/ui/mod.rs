//! Draws what [`logic`](crate::logic) does, and hands it what the driver does.

mod bar;
mod bench;
mod hand;
mod overlay;
mod palette;
mod plots;
mod results;
mod rig;
mod scene;
mod settings;
pub mod window;
