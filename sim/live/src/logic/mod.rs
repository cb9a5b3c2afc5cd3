//! What the window does, without any drawing: tests drive it as the window does.

pub mod pace;
pub mod frames;
pub mod lever;
pub mod sheet;
pub mod off;
pub mod knob;
pub mod tunes;
pub mod trace;
pub mod bog;
pub mod way;
pub mod load;
pub mod exercise;
pub mod blind;
pub mod scenes;
pub mod session;
pub mod save;
pub mod export;
