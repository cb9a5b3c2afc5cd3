//! The Rust sources under a folder.

use std::fs;
use std::path::{Path, PathBuf};

/// All of them, added to those found already.
pub(crate) fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|end| end == "rs") {
            found.push(path);
        }
    }
}
