//! How long something takes, where the platform can tell.

#[cfg(not(target_arch = "wasm32"))]
use std::time::Instant;

/// Runs from when it was made.
pub(crate) struct Stopwatch {
    #[cfg(not(target_arch = "wasm32"))]
    from: Instant,
}

impl Stopwatch {
    pub(crate) fn new() -> Self {
        Self {
            #[cfg(not(target_arch = "wasm32"))]
            from: Instant::now(),
        }
    }

    /// How long it has run \[s\]; a page has no such clock and is told 0.
    pub(crate) fn passed_s(&self) -> f64 {
        #[cfg(not(target_arch = "wasm32"))]
        return self.from.elapsed().as_secs_f64();
        #[cfg(target_arch = "wasm32")]
        return 0.0;
    }
}
