//! Results written so that a reader never finds half of them.

use std::fs::{self, File};
use std::io::{ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

/// A folder of results could not be written.
#[derive(Debug)]
pub struct WriteError {
    /// The file or folder.
    pub path: PathBuf,
    /// What went wrong.
    pub what: String,
}

impl std::fmt::Display for WriteError {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{} cannot be written: {}", self.path.display(), self.what)
    }
}

impl std::error::Error for WriteError {}

/// The file that marks a folder as one of ours.
const MARK: &str = "run.json";

/// Files to be written together, by their path inside the folder.
#[derive(Debug, Default)]
pub struct Results {
    files: Vec<(PathBuf, Vec<u8>)>,
}

impl Results {
    /// Adds a file.
    pub fn add(&mut self, name: impl Into<PathBuf>, content: impl Into<Vec<u8>>) {
        self.files.push((name.into(), content.into()));
    }

    /// Writes all files: each first under a temporary name beside its place, synced, and only when
    /// all of them are there, renamed into place.
    ///
    /// # Errors
    /// When the folder holds something else than results of ours, or the disk refuses. The files of
    /// an earlier run are then as they were.
    pub fn write(&self, folder: &Path) -> Result<(), WriteError> {
        refuse_foreign(folder)?;
        for (name, _) in &self.files {
            let path = folder.join(name);
            if path.exists() && !path.is_file() {
                let what = "something else than a file has its name".into();
                return Err(WriteError { path, what });
            }
        }
        let mut ready = Vec::new();
        for (name, content) in &self.files {
            let path = folder.join(name);
            let file = prepare(&path, content)?;
            ready.push((path, file));
        }
        for (path, file) in ready {
            publish(&path, file)?;
        }
        // So that the new names survive a power cut, where the system can sync folders.
        if let Ok(folder) = File::open(folder) {
            let _ = folder.sync_all();
        }
        Ok(())
    }
}

/// Writes one file: under a temporary name beside its place, synced, and then renamed into place. An
/// older file there is replaced only when it begins with `ours`, as this one does.
///
/// # Errors
/// When something else is there, or the disk refuses. What was there is then as it was.
pub fn write_file(path: &Path, content: &[u8], ours: &[u8]) -> Result<(), WriteError> {
    let foreign = match fs::metadata(path) {
        Err(error) if error.kind() == ErrorKind::NotFound => false,
        Err(error) => return Err(at(path)(error)),
        // A pipe or a device would wait for ever, or never end.
        Ok(facts) if !facts.is_file() => true,
        Ok(_) => {
            let mut start = vec![0; ours.len()];
            let mut file = File::open(path).map_err(at(path))?;
            file.read_exact(&mut start).is_err() || start != ours
        }
    };
    if foreign {
        let what = "something else has its name; name a new file with --out".into();
        return Err(WriteError { path: path.to_owned(), what });
    }
    publish(path, prepare(path, content)?)
}

/// Writes one file that must not be there yet: under a temporary name beside its place, synced, and then
/// renamed into place.
///
/// # Errors
/// When something is there, or the disk refuses.
pub fn write_new(path: &Path, content: &[u8]) -> Result<(), WriteError> {
    let file = prepare(path, content)?.persist_noclobber(path).map_err(|error| {
        let taken = error.error.kind() == ErrorKind::AlreadyExists;
        let what = match taken {
            true => "it is there already; name a new file with --out".into(),
            false => error.error.to_string(),
        };
        WriteError { path: path.to_owned(), what }
    })?;
    share(&file).map_err(at(path))
}

/// The content on disk beside its place, not yet in it.
fn prepare(path: &Path, content: &[u8]) -> Result<NamedTempFile, WriteError> {
    let parent = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    fs::create_dir_all(parent).map_err(at(parent))?;
    let mut file = NamedTempFile::new_in(parent).map_err(at(path))?;
    file.write_all(content).map_err(at(path))?;
    file.as_file().sync_all().map_err(at(path))?;
    Ok(file)
}

fn publish(path: &Path, file: NamedTempFile) -> Result<(), WriteError> {
    let file = file.persist(path).map_err(|error| at(path)(error.error))?;
    share(&file).map_err(at(path))
}

fn at(path: &Path) -> impl Fn(std::io::Error) -> WriteError + '_ {
    |error| WriteError { path: path.to_owned(), what: error.to_string() }
}

/// Temporary files are private; results are for everybody, as any new file is.
#[cfg(unix)]
fn share(file: &File) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.set_permissions(fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn share(_file: &File) -> std::io::Result<()> {
    Ok(())
}

/// A folder that is not empty and has no results of ours in it is left alone.
fn refuse_foreign(folder: &Path) -> Result<(), WriteError> {
    let foreign = |what: &str| Err(WriteError { path: folder.to_owned(), what: what.into() });
    if folder.exists() && !folder.is_dir() {
        return foreign("it is not a folder; name a new or empty one");
    }
    let Ok(mut entries) = fs::read_dir(folder) else { return Ok(()) };
    let ours = || {
        let record = fs::read(folder.join(MARK)).unwrap_or_default();
        serde_json::from_slice::<serde_json::Value>(&record)
            .is_ok_and(|record| record.get("easeoff").is_some())
    };
    if entries.next().is_some() && !ours() {
        return foreign("the folder holds files that are no results; name a new or empty folder");
    }
    Ok(())
}
