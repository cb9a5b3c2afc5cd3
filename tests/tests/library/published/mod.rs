//! The plant held against published values.

mod bridge;
mod motor;
mod vehicle;
