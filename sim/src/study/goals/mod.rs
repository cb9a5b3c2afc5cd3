//! Goals: the settings with which one score is best while others keep their limits.
//!
//! A grid over all that may be varied, then finer grids round the best place, and round others that looked good, until
//! the spacing is small enough. Scores have steps (a stop is at a tick, a rig stops or does not) and places where
//! they never come, so nothing here asks for a slope.

mod aim;
mod measure;
mod search;
mod verdict;

pub use aim::{Aim, Keep};
pub use measure::{Dimension, Kind, dimensions};
pub use search::{Found, Limits, Tried, first_grid, search};
pub use verdict::{Verdict, place, sentences, verdict};
