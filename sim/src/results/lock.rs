//! One writer at a time.

use std::fs::{self, File, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};

#[cfg(any(unix, windows))]
use fs4::{FileExt, TryLockError};

use super::error::{WriteError, at};

/// Held while something is written. The system lets go of it when the program ends, however it ends,
/// so a killed run never blocks the next.
pub(super) struct Lock {
    file: File,
    path: PathBuf,
    stays: bool,
}

impl Lock {
    /// Takes the lock whose file is `path`, for writing `what`.
    ///
    /// # Errors
    /// When somebody has it, or the file cannot be made.
    pub(super) fn take(path: PathBuf, what: &Path) -> Result<Self, WriteError> {
        loop {
            let mut options = OpenOptions::new();
            let options = options.read(true).write(true).create(true).truncate(false);
            let file = options.open(&path).map_err(at(&path))?;
            if !locked(&file).map_err(at(&path))? {
                let reported =
                    "another run is writing there; wait for its end, or name another place";
                return Err(WriteError::new(what, reported));
            }
            // Its last holder may have removed it between our opening and locking it.
            if !removed(&file) {
                return Ok(Self { file, path, stays: false });
            }
        }
    }

    /// Whether its file stays when it is let go.
    pub(super) fn keep(&mut self, stays: bool) {
        self.stays = stays;
    }

    /// Its file, for what else may stand in it.
    pub(super) fn file(&self) -> &File {
        &self.file
    }
}

/// Whether it could be locked, nobody else having it.
#[cfg(any(unix, windows))]
fn locked(file: &File) -> io::Result<bool> {
    match FileExt::try_lock(file) {
        Ok(()) => Ok(true),
        Err(TryLockError::WouldBlock) => Ok(false),
        Err(TryLockError::Error(error)) => Err(error),
    }
}

/// A page has no files to lock; opening one has failed before this.
#[cfg(not(any(unix, windows)))]
fn locked(_file: &File) -> io::Result<bool> {
    Ok(true)
}

#[cfg(unix)]
fn removed(file: &File) -> bool {
    use std::os::unix::fs::MetadataExt;
    file.metadata().is_ok_and(|facts| facts.nlink() == 0)
}

/// Elsewhere a file that is open cannot be removed.
#[cfg(not(unix))]
fn removed(_file: &File) -> bool {
    false
}

impl Drop for Lock {
    fn drop(&mut self) {
        // While it is still held: see `take`. What cannot be removed does no harm.
        if !self.stays {
            let _ = fs::remove_file(&self.path);
        }
        #[cfg(any(unix, windows))]
        let _ = FileExt::unlock(&self.file);
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests panic")]

    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::*;

    /// Also while holders come and go and each removes the file.
    #[test]
    fn never_two_have_it() {
        let folder = std::env::temp_dir().join(format!("easeoff-lock-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let (inside, taken) = (AtomicUsize::new(0), AtomicUsize::new(0));
        std::thread::scope(|threads| {
            for _ in 0..4 {
                threads.spawn(|| {
                    for _ in 0..20_000 {
                        let Ok(_lock) = Lock::take(folder.join("lock"), &folder) else { continue };
                        assert_eq!(inside.fetch_add(1, Ordering::SeqCst), 0, "two have it");
                        std::thread::yield_now();
                        inside.fetch_sub(1, Ordering::SeqCst);
                        taken.fetch_add(1, Ordering::SeqCst);
                    }
                });
            }
        });
        fs::remove_dir_all(&folder).unwrap();
        assert!(taken.into_inner() > 1_000);
    }
}
