//! What commands of many runs share.

use std::num::NonZero;

use easeoff_sim::study::sweep::cores;

/// On how many threads to run.
#[derive(clap::Args, Clone, Copy)]
pub(super) struct Threads {
    /// So many runs at a time [default: as many as there are cores].
    #[arg(long)]
    threads: Option<NonZero<usize>>,
}

impl Threads {
    pub(super) fn count(self) -> usize {
        self.threads.map_or_else(cores, NonZero::get)
    }
}
