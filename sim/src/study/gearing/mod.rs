//! Which pinion: what each number of teeth does to speed, torque, heat and teeth.

pub mod mesh;
pub mod strength;
pub mod row;
pub mod choice;
pub mod words;
