//! Pictures: charts over time and place, and what each study shows.

pub mod canvas;
mod sharp_turns;
pub mod chart;
pub mod tooltip;
pub mod run;
pub mod overlay;
pub mod compare;
pub mod sweep;
pub mod goals;
pub mod gearing;
pub mod trials;
pub mod fit;
pub mod throttle;
