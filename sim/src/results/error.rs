//! Why results could not be written, and what to do about it.

use std::io::{Error, ErrorKind};
use std::path::{Path, PathBuf};

/// Results could not be written.
#[derive(Debug, thiserror::Error)]
#[error("{} cannot be written: {what}", .path.display())]
pub struct WriteError {
    /// The file or folder.
    pub path: PathBuf,
    /// What went wrong, and the remedy.
    pub what: String,
}

impl WriteError {
    /// What went wrong at `path`, remedy included.
    pub(super) fn new(path: &Path, what: impl Into<String>) -> Self {
        Self { path: path.to_owned(), what: what.into() }
    }

    /// The same, and what is on disk now.
    pub(super) fn but(mut self, state: &str) -> Self {
        self.what = format!("{}; {state}", self.what);
        self
    }
}

/// Makes the system's error one at `path`.
pub(super) fn at(path: &Path) -> impl Fn(Error) -> WriteError + '_ {
    |error| WriteError::new(path, format!("{error}; {}", remedy(error.kind())))
}

fn remedy(kind: ErrorKind) -> &'static str {
    match kind {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => {
            "free some space, or name a place on another disk"
        }
        ErrorKind::PermissionDenied => {
            "change the permissions of the folder it is in, or name another place"
        }
        ErrorKind::ReadOnlyFilesystem => "name a place that can be written to",
        ErrorKind::NotADirectory | ErrorKind::AlreadyExists => {
            "a file has the name of a folder in this path; name another place"
        }
        ErrorKind::InvalidFilename => "name a place with a shorter and plainer name",
        _ => "check the disk, or name a place on another one",
    }
}
