//! Everything that is read: rig, tune, course and driver, with every mistake at its line.

pub mod hash;
pub mod mistake;
pub(crate) mod document;
mod renamed;
pub(crate) mod reader;
pub mod folder;
pub mod table;
pub mod track;
pub mod rig;
pub mod tune;
pub mod tune_edit;
pub mod tune_text;
pub mod full_speed;
pub mod export;
pub mod course;
pub mod human;
pub mod retune;
pub mod driver;
pub mod scenario;
pub mod overrides;
pub mod demo;
