//! One file on its own.

use std::fs::{self, File};
use std::io::{ErrorKind, Read};
use std::path::Path;

use super::error::{WriteError, at};
use super::lock::Lock;
use super::{asked, sync_folder, write_synced};

/// Writes one file: under another name beside its place, synced, and then renamed into place. An older file
/// there is replaced only when it begins with `ours`, as this one does, or when that was asked for.
///
/// # Errors
/// When something else is there, another run writes it, or the disk refuses. What was there is then as it
/// was.
pub fn write_file(path: &Path, content: &[u8], ours: &[u8]) -> Result<(), WriteError> {
    refuse_foreign(path, ours)?;
    place(path, content, |_| Ok(()))
}

/// Writes one file that must not be there yet, in the same steps, or that replaces what is there when that
/// was asked for.
///
/// # Errors
/// As [`write_file`], and when anything has the file's name.
pub fn write_new(path: &Path, content: &[u8]) -> Result<(), WriteError> {
    place(path, content, |path| {
        let taken = path.symlink_metadata().is_ok();
        match taken && !(asked().force && path.is_file()) {
            true => Err(WriteError::new(
                path,
                "it is there already; name a new file with --out, or replace it with --force",
            )),
            false => Ok(()),
        }
    })
}

/// The content under another name beside its place, and then, if `allowed` says so while the lock is held,
/// renamed into place.
fn place(
    path: &Path,
    content: &[u8],
    allowed: impl Fn(&Path) -> Result<(), WriteError>,
) -> Result<(), WriteError> {
    let parent = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    fs::create_dir_all(parent).map_err(at(parent))?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    // The same name every time: what a killed run left is found.
    let lock = Lock::take(parent.join(format!(".{name}.easeoff-lock")), path)?;
    allowed(path)?;
    let stage = parent.join(format!(".{name}.easeoff-stage"));
    match fs::remove_file(&stage) {
        Err(error) if error.kind() != ErrorKind::NotFound => return Err(at(&stage)(error)),
        _ => {}
    }
    let written = write_synced(&stage, content)
        .and_then(|()| fs::rename(&stage, path).map_err(at(path)))
        .map_err(|error| {
            let _ = fs::remove_file(&stage);
            error.but("what was there before is untouched")
        });
    written?;
    sync_folder(parent)
        .map_err(|error| error.but("the new file is there, but may not survive a power cut"))?;
    drop(lock);
    Ok(())
}

fn refuse_foreign(path: &Path, ours: &[u8]) -> Result<(), WriteError> {
    let (foreign, file) = match fs::metadata(path) {
        Err(error) if error.kind() == ErrorKind::NotFound => (false, true),
        Err(error) => return Err(at(path)(error)),
        // A pipe or a device would wait for ever, or never end.
        Ok(facts) if !facts.is_file() => (true, false),
        Ok(_) => {
            let mut start = vec![0; ours.len()];
            let mut file = File::open(path).map_err(at(path))?;
            (file.read_exact(&mut start).is_err() || start != ours, true)
        }
    };
    match (foreign, file) {
        (true, false) => Err(WriteError::new(
            path,
            "something else than a file has its name; name a new file with --out",
        )),
        (true, true) if !asked().force => Err(WriteError::new(
            path,
            "something else has its name; name a new file with --out, or replace it with --force",
        )),
        _ => Ok(()),
    }
}
