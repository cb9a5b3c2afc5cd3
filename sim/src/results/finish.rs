//! What comes after the one rename that counts: every file to its place.

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use super::check::Record;
use super::error::{WriteError, at};
use super::{READY, RECORD, STAGE, sync_folder};
use crate::files::hash::sha256;

/// Puts in place what is ready in `folder`, and throws away what never came that far. It may be cut off
/// anywhere and begun again. Needs the folder's lock.
pub(super) fn finish(folder: &Path) -> Result<(), WriteError> {
    clear(&folder.join(STAGE))?;
    let ready = folder.join(READY);
    if !is_folder(&ready) {
        return Ok(());
    }
    move_all(folder, &ready).map_err(|error| {
        error.but(
            "the new results are complete; what is not in its place yet is put there by the next run into \
             this folder, or by `easeoff check` with its name",
        )
    })
}

fn move_all(folder: &Path, ready: &Path) -> Result<(), WriteError> {
    // The name "ready" must be on disk before any file leaves.
    sync_folder(folder)?;
    let mut names = Vec::new();
    list(ready, Path::new(""), &mut names)?;
    let record = names.iter().position(|name| name.as_os_str() == RECORD);
    let record = record.map(|index| names.swap_remove(index));
    for name in &names {
        put(folder, ready, name)?;
    }
    if let Some(record) = record {
        remove_stale(folder, ready);
        put(folder, ready, &record)?;
    }
    sync_folder(folder)?;
    clear(ready)
}

fn put(folder: &Path, ready: &Path, name: &Path) -> Result<(), WriteError> {
    let place = folder.join(name);
    let parent = place.parent().unwrap_or(folder);
    fs::create_dir_all(parent).map_err(at(parent))?;
    fs::rename(ready.join(name), &place).map_err(at(&place))?;
    if parent == folder { Ok(()) } else { sync_folder(parent) }
}

/// Files of the results that are replaced, which the new ones do not have: they would be taken for new.
/// What somebody changed since is theirs and stays.
fn remove_stale(folder: &Path, ready: &Path) {
    let (Some(old), Some(new)) = (Record::read(folder), Record::read(ready)) else { return };
    for (name, hash) in old.files.iter().filter(|(name, _)| !new.files.contains_key(*name)) {
        let path = folder.join(name);
        if fs::read(&path).is_ok_and(|content| sha256(&content) == *hash) {
            // What cannot be removed is no part of the new results: their record does not name it.
            let _ = fs::remove_file(&path);
            if let Some(parent) = path.parent().filter(|parent| *parent != folder) {
                // Only if it is empty.
                let _ = fs::remove_dir(parent);
            }
        }
    }
}

fn list(folder: &Path, under: &Path, names: &mut Vec<PathBuf>) -> Result<(), WriteError> {
    for entry in fs::read_dir(folder).map_err(at(folder))? {
        let entry = entry.map_err(at(folder))?;
        let name = under.join(entry.file_name());
        if is_folder(&entry.path()) {
            list(&entry.path(), &name, names)?;
        } else {
            names.push(name);
        }
    }
    names.sort();
    Ok(())
}

/// A real folder, no link to one.
fn is_folder(path: &Path) -> bool {
    fs::symlink_metadata(path).is_ok_and(|facts| facts.is_dir())
}

/// Removes a folder of ours, if it is there.
pub(super) fn clear(path: &Path) -> Result<(), WriteError> {
    match fs::remove_dir_all(path) {
        Err(error) if error.kind() != ErrorKind::NotFound => Err(at(path)(error)),
        _ => Ok(()),
    }
}
