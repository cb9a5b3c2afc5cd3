//! Many runs over a grid of values. Point k of the grid is always the same point and its run depends on
//! nothing else, so neither threads nor shards, nor that it was interrupted and resumed, change a bit of the result.

mod answers;
mod axis;
mod bench;
mod grid;
mod journal;
mod pareto;
mod plan;
mod pool;
mod ready;

pub use answers::{Answers, Shard, as_number, as_value};
pub use axis::{Axis, bare, tidy, whole};
pub use bench::{Answer, Bench};
pub use grid::{Grid, Varied, short};
pub use pareto::front;
pub use plan::{MOST_POINTS, Plan, digits};
pub use pool::{cores, in_turn};
pub use ready::Wrong;
