//! Results written so that a reader never takes half of them for the whole.
//!
//! All files of a run are first written and synced in a folder of their own inside the results' folder,
//! [`STAGE`]. One rename makes it [`READY`]: before it the old results count, from it on the new ones.
//! Then each file is renamed to its place, `run.json` last. What a killed run left of these steps the next
//! one does: it throws away a stage, and finishes what was ready.

mod check;
mod error;
mod finish;
mod journal;
mod lock;
mod record;
mod single;

use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

pub use check::{Checked, check};
pub use error::WriteError;
pub(crate) use journal::JOURNAL;
pub use journal::Journal;
pub use record::{pretty, record};
pub use single::{write_file, write_new};

use check::Record;
use error::at;
use finish::{clear, finish};
use lock::Lock;

/// The file that marks a folder as one of ours, and says which files belong to the results.
pub(crate) const RECORD: &str = "run.json";
/// What is being written, not complete yet.
pub const STAGE: &str = ".easeoff-stage";
/// What is complete, but not all in its place yet.
pub const READY: &str = ".easeoff-ready";
/// Held by the run that writes.
pub const LOCK: &str = ".easeoff-lock";

/// What was asked of how results are written.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Asked {
    /// The command whose results they are; empty outside the program.
    pub command: String,
    /// Write also where something else is.
    pub force: bool,
}

impl Asked {
    /// Makes this what [`Results::write`] and [`write_file`] go by in this process, so that no command has
    /// to pass it on, and none can forget to. Only the first call counts.
    pub fn by_this_process(self) {
        let _ = ASKED.set(self);
    }
}

static ASKED: OnceLock<Asked> = OnceLock::new();

/// What this process was asked.
pub fn asked() -> Asked {
    ASKED.get().cloned().unwrap_or_default()
}

/// Files to be written together, by their path inside the folder.
#[derive(Debug, Default)]
pub struct Results {
    files: Vec<(PathBuf, Vec<u8>)>,
}

impl Results {
    /// Adds a file. `run.json` gets, when it is written, the command's name and the SHA-256 of every
    /// other file.
    pub fn add(&mut self, name: impl Into<PathBuf>, content: impl Into<Vec<u8>>) {
        self.files.push((name.into(), content.into()));
    }

    /// Writes all files or none, as the process was asked to.
    ///
    /// # Errors
    /// As [`Results::write_as`].
    pub fn write(&self, folder: &Path) -> Result<(), WriteError> {
        self.write_as(folder, &asked())
    }

    /// Writes all files or none; the message says which results count after a failure.
    ///
    /// # Errors
    /// When the folder holds something else than results of this command and that was not asked for, when
    /// another run writes there, or when the disk refuses.
    pub fn write_as(&self, folder: &Path, asked: &Asked) -> Result<(), WriteError> {
        // Before the lock leaves a file in somebody else's folder.
        may_write_as(folder, asked)?;
        let made = make_folder(folder)?;
        let lock = Lock::take(folder.join(LOCK), folder);
        let written = lock.and_then(|lock| {
            finish(folder)?;
            refuse_foreign(folder, asked)?;
            self.stage(folder, asked).map_err(|error| {
                let _ = clear(&folder.join(STAGE));
                error.but("what was there before is untouched")
            })?;
            finish(folder)?;
            drop(lock);
            Ok(())
        });
        if written.is_err() && made {
            // Only if it is empty.
            let _ = fs::remove_dir(folder);
        }
        written
    }

    /// Everything on disk, and then with one rename, ready.
    fn stage(&self, folder: &Path, asked: &Asked) -> Result<(), WriteError> {
        for (name, _) in &self.files {
            let path = folder.join(name);
            if path.exists() && !path.is_file() {
                let what = "something else than a file has its name; move that away";
                return Err(WriteError::new(&path, what));
            }
            for under in name.ancestors().skip(1).map(|under| folder.join(under)) {
                if under.exists() && !under.is_dir() {
                    let what = "something else than a folder has its name; move that away";
                    return Err(WriteError::new(&under, what));
                }
            }
        }
        let stage = folder.join(STAGE);
        fs::create_dir(&stage).map_err(at(&stage))?;
        let mut folders = vec![stage.clone()];
        for (name, content) in &self.files {
            let path = stage.join(name);
            let parent = path.parent().unwrap_or(&stage).to_owned();
            if !folders.contains(&parent) {
                fs::create_dir_all(&parent).map_err(at(&parent))?;
                folders.push(parent);
            }
            if name.as_os_str() == RECORD {
                write_synced(&path, &Record::complete(content, asked, &self.files)?)?;
            } else {
                write_synced(&path, content)?;
            }
        }
        for made in folders.iter().rev() {
            sync_folder(made)?;
        }
        let ready = folder.join(READY);
        fs::rename(&stage, &ready).map_err(at(&ready))
    }
}

/// Whether results of this process may be written to a folder: asked before a long job, and not only at its end.
///
/// # Errors
/// When they may not, with the remedy.
pub fn may_write(folder: &Path) -> Result<(), WriteError> {
    may_write_as(folder, &asked())
}

fn may_write_as(folder: &Path, asked: &Asked) -> Result<(), WriteError> {
    if folder.exists() && !folder.is_dir() {
        return Err(WriteError::new(folder, "it is not a folder; name a new or empty one"));
    }
    refuse_foreign(folder, asked)
}

/// Makes a folder that survives a power cut; returns whether it was not there.
fn make_folder(folder: &Path) -> Result<bool, WriteError> {
    let made = !folder.exists();
    fs::create_dir_all(folder).map_err(at(folder))?;
    if let Some(parent) = folder.parent().filter(|parent| made && !parent.as_os_str().is_empty()) {
        sync_folder(parent)?;
    }
    Ok(made)
}

/// Leaves alone what is no result of this command, unless it was asked to write there all the same.
fn refuse_foreign(folder: &Path, asked: &Asked) -> Result<(), WriteError> {
    if asked.force {
        return Ok(());
    }
    if journal::is_of_another(folder, &asked.command) {
        return Err(WriteError::new(
            folder,
            "the folder holds unfinished work of easeoff sweep; go on with that with --resume, name another folder, \
             or write beside it with --force",
        ));
    }
    if !holds_anything(folder) || folder.join(READY).is_dir() {
        return Ok(());
    }
    match Record::read(folder) {
        None => Err(WriteError::new(
            folder,
            "the folder holds files that are no results; name a new or empty folder, or write beside them \
             with --force",
        )),
        Some(record) if record.is_of_another(&asked.command) => Err(WriteError::new(
            folder,
            format!(
                "the folder holds results of easeoff {}; name another folder, or replace them with --force",
                record.command
            ),
        )),
        Some(_) => Ok(()),
    }
}

/// Whether a folder holds more than what a killed run left, or one that is under way.
pub fn holds_anything(folder: &Path) -> bool {
    let ours =
        |name: &std::ffi::OsStr| [STAGE, READY, LOCK, JOURNAL].iter().any(|ours| name == *ours);
    fs::read_dir(folder)
        .is_ok_and(|entries| entries.flatten().any(|entry| !ours(&entry.file_name())))
}

/// A new file with this content, on disk when it returns.
fn write_synced(path: &Path, content: &[u8]) -> Result<(), WriteError> {
    let mut file = File::create_new(path).map_err(at(path))?;
    file.write_all(content).map_err(at(path))?;
    file.sync_all().map_err(at(path))
}

/// So that the names in a folder survive a power cut.
#[cfg(unix)]
fn sync_folder(folder: &Path) -> Result<(), WriteError> {
    use std::io::ErrorKind::{InvalidInput, Unsupported};
    match File::open(folder).and_then(|open| open.sync_all()) {
        // Some file systems, of networks above all, have no such thing.
        Err(error) if !matches!(error.kind(), InvalidInput | Unsupported) => Err(at(folder)(error)),
        _ => Ok(()),
    }
}

/// Elsewhere folders cannot be synced.
#[cfg(not(unix))]
fn sync_folder(_folder: &Path) -> Result<(), WriteError> {
    Ok(())
}
