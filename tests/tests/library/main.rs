//! Core and simulator, called as libraries: published values, algebra, stated properties, files, and the
//! demos' bits.

mod files;
mod from_c;
mod golden;
mod layers;
mod lints;
mod plant;
mod published;
mod scores;
mod sources;
mod study;
