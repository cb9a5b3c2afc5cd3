//! The stages, one a file, in the order of the path. A stage imports what all share and its own helper, no other
//! stage.

pub(crate) mod pulse;
pub(crate) mod demand;
pub(crate) mod curve;
pub(crate) mod slew;
pub(crate) mod ease;
pub(crate) mod mode;
pub(crate) mod safe_state;
pub(crate) mod shape;
pub(crate) mod current_law;
pub(crate) mod soft_end;
pub(crate) mod drag;
pub(crate) mod rest;
pub(crate) mod give_way;
pub(crate) mod hold;
pub(crate) mod bridge;
