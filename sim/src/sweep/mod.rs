//! Many runs over a grid of values. Point k of the grid is always the same point and its run depends on
//! nothing else, so neither threads nor shards, nor that it was interrupted and resumed, change a bit of the result.

mod answers;
mod axis;
mod bench;
mod plan;
mod pool;

pub use answers::{Answers, Shard};
pub use axis::{Axis, bare};
pub use bench::{Answer, Bench};
pub use plan::{MOST_POINTS, Plan};
pub use pool::in_turn;
