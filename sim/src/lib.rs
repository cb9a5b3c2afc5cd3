//! The host side of easeoff: drives [`easeoff_core`] over rough ground and shows what the settings
//! do and what they hide.
//!
//! Data flows one way: files -> [`scenario`] -> [`run`] -> [`score`] -> pictures and reports.
#![allow(
    clippy::arithmetic_side_effects,
    clippy::as_conversions,
    clippy::float_arithmetic,
    clippy::float_cmp,
    clippy::indexing_slicing,
    reason = "the host computes in f64 and usize; the strict rules guard the firmware"
)]
// Reading.
pub mod hash;
pub mod mistake;
pub mod document;
pub mod reader;
pub mod folder;
pub mod table;
pub mod interpolate;
pub mod track;
pub mod rough;
pub mod wire;
pub mod rig;
pub mod tune;
pub mod tune_edit;
pub mod tune_text;
pub mod export;
pub mod course;
pub mod driver;
pub mod retune;
pub mod hand;
pub mod scenario;
pub mod patch;
pub mod demo;

// Driving.
pub mod plant;
pub mod sensor;
pub mod controller;
pub mod foreign;
pub mod run;

// Judging.
pub mod hot;
pub mod steady;
pub mod filter;
pub mod episode;
pub mod creep;
pub mod score;
pub mod sweep;
pub mod goals;
pub mod gearing;
pub mod inspect;
pub mod trials;

// Showing.
pub mod columns;
pub mod telemetry;
pub mod throttle;
pub mod canvas;
mod turns;
pub mod chart;
pub mod hover;
pub mod picture;
pub mod compare;
pub mod difference;
pub mod overlay;
pub mod words;
pub mod happened;
pub mod aligned;
pub mod html;
pub mod report;
pub mod output;
pub mod publish;
pub mod beside;

// Measuring.
pub mod fit;

pub mod cli;
