//! Ctrl-C, and what a batch system sends before it kills.

use std::sync::atomic::AtomicBool;
#[cfg(any(unix, windows))]
use std::sync::atomic::Ordering;

#[cfg(any(unix, windows))]
use super::failure::INTERRUPTED;

static STOP: AtomicBool = AtomicBool::new(false);

/// Set at the first Ctrl-C: what was begun is finished and written. The second ends the program at once; a journal
/// is then still there.
pub(super) fn stop() -> &'static AtomicBool {
    // Refused only when it is watched for already.
    #[cfg(any(unix, windows))]
    let _ = ctrlc::set_handler(|| {
        if STOP.swap(true, Ordering::Relaxed) {
            std::process::exit(INTERRUPTED.into());
        }
    });
    &STOP
}
