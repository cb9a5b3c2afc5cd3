//! What is driven: a folder's four files, or a demo's.

use std::path::{Path, PathBuf};

use easeoff_sim::demo;
use easeoff_sim::folder::Folder;
use easeoff_sim::mistake::Refusal;
use easeoff_sim::scenario::{Files, Scenario};

/// A scenario with the texts that it was read from.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// The folder's or the demo's name.
    pub name: String,
    /// What the texts say.
    pub scenario: Scenario,
    /// Where the texts are.
    pub folder: Folder,
    /// The rig's text.
    pub rig: String,
    /// The tune's text.
    pub tune: String,
    /// The course's text.
    pub course: String,
    /// The tune's file, if it is one on disk.
    pub tune_path: Option<PathBuf>,
}

impl Loaded {
    /// A demo.
    ///
    /// # Errors
    /// An unknown name.
    pub fn demo(name: &str) -> Result<Self, String> {
        let folder = demo::folder(name).ok_or_else(|| {
            let names: Vec<&str> = demo::DEMOS.iter().map(|demo| demo.name).collect();
            format!("there is no demo \"{name}\"; allowed is {}", names.join(", "))
        })?;
        Self::of(name.into(), folder, None)
    }

    /// A folder with `rig.toml`, `tune.toml`, `course.toml` and `hand.toml`.
    ///
    /// # Errors
    /// Every mistake in the files, rendered.
    pub fn folder(path: &Path) -> Result<Self, String> {
        let whole = path.canonicalize().unwrap_or_else(|_| path.to_owned());
        let name = whole.file_name().map_or("run".into(), |name| name.to_string_lossy().into());
        let tune = path.join("tune.toml");
        Self::of(name, Folder::Disk(path.to_owned()), Some(tune))
    }

    fn of(name: String, folder: Folder, tune_path: Option<PathBuf>) -> Result<Self, String> {
        let all = |refusals: Vec<Refusal>| {
            refusals.iter().map(Refusal::render).collect::<Vec<_>>().join("\n")
        };
        let scenario = Scenario::load(&Files::in_folder(&folder)).map_err(all)?;
        let text = |name: &str| {
            folder.read(name).map(|source| source.text).map_err(|refusal| refusal.render())
        };
        Ok(Self {
            name,
            scenario,
            rig: text("rig.toml")?,
            tune: text("tune.toml")?,
            course: text("course.toml")?,
            folder,
            tune_path,
        })
    }
}
