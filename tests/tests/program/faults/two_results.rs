//! A folder with results that a second run replaces: which of both is in it?

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use crate::runner::{easeoff, good};

/// The second run.
pub(crate) const DRIVE_NEW: &[&str] = &["drive", "new", "--out", "out"];
/// What a killed run may leave.
pub(crate) const LEFT: [&str; 3] =
    [easeoff_sim::results::STAGE, easeoff_sim::results::READY, easeoff_sim::results::LOCK];

/// Every file under a folder, by its path in it.
pub(crate) type Files = BTreeMap<PathBuf, Vec<u8>>;

pub(crate) fn files(folder: &Path) -> Files {
    let mut found = Files::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = PathBuf::from(path.file_name().unwrap());
        if path.is_dir() {
            found.extend(
                files(&path).into_iter().map(|(under, content)| (name.join(under), content)),
            );
        } else {
            found.insert(name, fs::read(path).unwrap());
        }
    }
    found
}

/// Two short drives that differ in every file, both into `out`.
pub(crate) struct TwoResults {
    folder: TempDir,
    old: Files,
    pub(crate) new: Files,
}

impl TwoResults {
    pub(crate) fn new() -> Self {
        let folder = TempDir::new().unwrap();
        let result = |name: &str, onset: &str| {
            good(folder.path(), &["new", name]);
            let edit = |file: &str, from: &str, to: &str| {
                let path = folder.path().join(name).join(file);
                let text = fs::read_to_string(&path).unwrap();
                assert!(text.contains(from), "{file} has no {from}");
                fs::write(path, text.replacen(from, to, 1)).unwrap();
            };
            edit("driver.toml", "duration_s = 16", "duration_s = 1.5");
            edit("driver.toml", "throttle = [[0, 0]", "throttle = [[0, 1]");
            edit("tune.toml", "onset_ms = 330", onset);
            edit(
                "rig.toml",
                "mass_kg = 2.4",
                if name == "old" { "mass_kg = 2.4" } else { "mass_kg = 3" },
            );
            good(folder.path(), &["drive", name, "--out", name_of(name)]);
            files(&folder.path().join(name_of(name)))
        };
        let (old, new) = (result("old", "onset_ms = 330"), result("new", "onset_ms = 900"));
        // As both name their run in picture and page, every file differs.
        assert!(old.keys().eq(new.keys()) && old.len() == 5);
        assert!(old.iter().all(|(name, content)| new[name] != *content));
        Self { folder, old, new }
    }

    pub(crate) fn path(&self) -> &Path {
        self.folder.path()
    }

    pub(crate) fn out(&self) -> PathBuf {
        self.path().join("out")
    }

    /// As if the first run had just ended.
    pub(crate) fn put_old(&self) {
        let out = self.out();
        let _ = fs::remove_dir_all(&out);
        fs::create_dir(&out).unwrap();
        for (name, content) in &self.old {
            fs::write(out.join(name), content).unwrap();
        }
    }

    /// The results in place, without what a killed run left beside them.
    fn placed(&self) -> Files {
        let mut found = files(&self.out());
        found.retain(|name, _| !LEFT.iter().any(|left| name.starts_with(left)));
        found
    }

    pub(crate) fn is_old(&self) -> bool {
        self.placed() == self.old
    }

    pub(crate) fn is_new(&self) -> bool {
        self.placed() == self.new
    }

    pub(crate) fn nothing_left(&self) -> bool {
        LEFT.iter().all(|left| !self.out().join(left).exists())
    }

    /// Asks the program which results count; fails if it is neither wholly.
    #[track_caller]
    pub(crate) fn settle(&self, after: &str) -> &Self {
        let output = easeoff(self.path(), &["check", "out"]);
        assert!(output.status.success(), "{after}: {output:?}");
        assert!(self.is_old() || self.is_new(), "{after}: a mix of old and new results");
        assert!(self.nothing_left(), "{after}: something is left");
        self
    }
}

fn name_of(name: &str) -> &'static str {
    if name == "old" { "results-old" } else { "results-new" }
}
