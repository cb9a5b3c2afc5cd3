//! How far a long job is, and how long it still takes: on standard error, and only where that is a terminal.

use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// A bar that is gone when it is dropped.
pub(super) struct Progress(ProgressBar);

impl Progress {
    /// Of so many runs, some of them done.
    pub(super) fn new(runs: usize, done: usize) -> Self {
        let bar = ProgressBar::with_draw_target(Some(runs as u64), ProgressDrawTarget::stderr());
        // Only a wrong template is refused.
        if let Ok(style) = ProgressStyle::with_template("{wide_bar} {pos} of {len} runs{msg}") {
            bar.set_style(style);
        }
        bar.set_position(done as u64);
        bar.reset_eta();
        bar.enable_steady_tick(Duration::from_millis(500));
        Self(bar)
    }

    /// Of a job of which nobody can tell how many runs it takes.
    pub(super) fn without_end(what: &'static str) -> Self {
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
        if let Ok(style) = ProgressStyle::with_template("{spinner} {msg}, {elapsed}; Ctrl-C stops")
        {
            bar.set_style(style);
        }
        bar.set_message(what);
        bar.enable_steady_tick(Duration::from_millis(200));
        Self(bar)
    }

    /// One more is done.
    pub(super) fn one(&self) {
        self.0.inc(1);
        // Before the first there is nothing to reckon with.
        self.0.set_message(format!(", {} s left; Ctrl-C stops", self.0.eta().as_secs()));
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}
