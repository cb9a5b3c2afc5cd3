//! Whether the results in a folder are one run's, and whole.

use std::collections::BTreeMap;
use std::fs;
use std::io::ErrorKind;
use std::path::{Component, Path, PathBuf};

use serde_json::{Value, json};

use super::error::WriteError;
use super::finish::finish;
use super::lock::Lock;
use super::{Asked, LOCK, READY, RECORD, STAGE};
use crate::files::hash::sha256;

/// What `run.json` says of itself and the files beside it.
pub(super) struct Record {
    /// Empty in records that do not say.
    pub(super) command: String,
    /// SHA-256 by path inside the folder.
    pub(super) files: BTreeMap<String, String>,
}

impl Record {
    /// The folder's record; `None` without one of ours.
    pub(super) fn read(folder: &Path) -> Option<Self> {
        let record: Value = serde_json::from_slice(&fs::read(folder.join(RECORD)).ok()?).ok()?;
        record.get("easeoff")?;
        let inside = |name: &str| {
            Path::new(name).components().all(|part| matches!(part, Component::Normal(_)))
        };
        let files = record["files"].as_object().into_iter().flatten();
        let files = files
            .filter(|(name, _)| inside(name))
            .filter_map(|(name, hash)| Some((name.clone(), hash.as_str()?.to_owned())));
        let command = record["command"].as_str().unwrap_or_default().to_owned();
        Some(Self { command, files: files.collect() })
    }

    pub(super) fn is_of_another(&self, command: &str) -> bool {
        !self.command.is_empty() && !command.is_empty() && self.command != command
    }

    /// The record as it is written: with the command and the other files' hashes.
    pub(super) fn complete(
        record: &[u8],
        asked: &Asked,
        files: &[(PathBuf, Vec<u8>)],
    ) -> Result<Vec<u8>, WriteError> {
        let wrong = |what: String| WriteError::new(Path::new(RECORD), what);
        let found: Value = serde_json::from_slice(record)
            .map_err(|error| wrong(format!("{error}; this is a mistake of the program")))?;
        let mut record = crate::results::record(found);
        let others = files.iter().filter(|(name, _)| name.as_os_str() != RECORD);
        let hashes = others.map(|(name, content)| {
            // The same on every system.
            (name.to_string_lossy().replace('\\', "/"), json!(sha256(content)))
        });
        record["files"] = Value::Object(hashes.collect());
        record["command"] = json!(asked.command);
        Ok(crate::results::pretty(&record).into_bytes())
    }
}

impl Checked {
    /// Whether every file is as it was written.
    pub fn whole(&self) -> bool {
        self.missing.is_empty() && self.changed.is_empty() && self.unread.is_empty()
    }
}

/// What was found in a folder of results.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checked {
    /// The command that wrote them.
    pub command: String,
    /// Files that are as they were written.
    pub good: Vec<String>,
    /// Files that are gone.
    pub missing: Vec<String>,
    /// Files that are not as they were written.
    pub changed: Vec<String>,
    /// Files that are there and cannot be read.
    pub unread: Vec<String>,
    /// A killed run had left something, which was finished or thrown away.
    pub tidied: bool,
}

/// Finishes what a killed run left in a folder, and compares every file with its record. `None` when there
/// are no results.
///
/// # Errors
/// When another run is writing there, or something was left and the disk refuses.
pub fn check(folder: &Path) -> Result<Option<Checked>, WriteError> {
    let left = [STAGE, READY, LOCK].iter().any(|name| folder.join(name).exists());
    if left {
        let _lock = Lock::take(folder.join(LOCK), folder)?;
        finish(folder)?;
    }
    let Some(record) = Record::read(folder) else { return Ok(None) };
    let mut found = Checked {
        command: record.command,
        good: Vec::new(),
        missing: Vec::new(),
        changed: Vec::new(),
        unread: Vec::new(),
        tidied: left,
    };
    for (name, hash) in record.files {
        let list = match fs::read(folder.join(&name)) {
            Err(error) if error.kind() == ErrorKind::NotFound => &mut found.missing,
            Err(_) => &mut found.unread,
            Ok(content) if sha256(&content) == hash => &mut found.good,
            Ok(_) => &mut found.changed,
        };
        list.push(name);
    }
    Ok(Some(found))
}
