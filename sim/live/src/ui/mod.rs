//! Draws what [`logic`](crate::logic) does, and hands it what the driver does.

mod hand;
mod palette;
mod plots;
mod rig;
mod scene;
mod settings;
pub mod window;
