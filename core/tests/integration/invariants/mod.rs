//! What holds through the whole controller and in no other test.

mod hold;
mod path;
mod soft_end;
