//! Every demand and every tick, one by one.

mod curve;
mod drag;
