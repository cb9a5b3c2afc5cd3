//! What is concluded from runs and recordings whose truth is known.

mod driver;
mod fit;
mod let_off;
mod throttle;
