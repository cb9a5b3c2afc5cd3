//! What is asked of runs: side by side, many of them, goals, standard trials, a fit to a log.

pub mod let_off_at;
pub mod measured;
pub mod compare;
pub mod difference;
pub mod feel;
pub mod words;
pub mod marks;
pub mod sweep;
pub mod goals;
pub mod gearing;
pub mod inspect;
pub mod trials;
pub mod throttle;
pub mod fit;
pub mod own_controller;
