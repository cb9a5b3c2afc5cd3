//! The plant in the whole simulator: against algebra, other step sizes and independent programs.

mod brown_out;
mod closed_forms;
mod convergence;
mod energy;
mod reference;
mod switched_bridge;
