//! What the images share: the gate that no panic path passes.
#![no_std]

// The library for C has the same one.
#[path = "../../../../core/c/src/gate.rs"]
mod gate;
