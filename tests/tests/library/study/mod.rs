//! What is concluded from runs and recordings whose truth is known.

mod driver;
mod fit;
mod full_speed;
mod let_off;
mod throttle;
