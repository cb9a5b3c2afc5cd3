//! Which rig, tune, course and driver a command works on.

use std::path::{Path, PathBuf};

use easeoff_core::Settings;
use easeoff_plant::rig::Rig;
use easeoff_sim::digits::apart;
use easeoff_sim::files::demo::{Demo, find};
use easeoff_sim::files::folder::{Folder, folder_and_name, named};
use easeoff_sim::files::mistake::Refusal;
use easeoff_sim::files::scenario::{Files, Scenario};
use easeoff_sim::files::tune;

use super::failure::Failure;
use crate::draw::overlay::MOST_RUNS;

/// The four files, from a folder, a demo, or named one by one.
#[derive(clap::Args)]
pub(super) struct Scene {
    #[command(flatten)]
    tuned: Tuned,
    /// Read the course from this file instead.
    #[arg(long)]
    course: Option<PathBuf>,
    /// Read the driver file from here instead.
    #[arg(long)]
    driver: Option<PathBuf>,
}

/// Only rig and tune, from a folder, a demo, or named one by one.
#[derive(clap::Args)]
pub(super) struct Tuned {
    /// A folder with rig.toml, tune.toml, course.toml and driver.toml.
    folder: Option<PathBuf>,
    /// A built-in demo: garden, let-off or snag.
    #[arg(long, conflicts_with = "folder")]
    demo: Option<String>,
    /// Read the rig from this file instead.
    #[arg(long)]
    rig: Option<PathBuf>,
    /// Read the tune from this file instead.
    #[arg(long)]
    tune: Option<PathBuf>,
}

/// A scene read and found good.
pub(super) struct Scened {
    /// The demo it is from, if it is.
    pub(super) demo: Option<&'static Demo>,
    /// The folder's or the demo's name.
    pub(super) name: String,
    /// What it says.
    pub(super) scenario: Scenario,
}

impl Tuned {
    /// Where the four files are, the demo if there is one, and what to call it.
    fn files(&self) -> Result<(Option<&'static Demo>, String, Files), Failure> {
        let demo = match (&self.folder, &self.demo) {
            (Some(_), _) => None,
            (None, name) => {
                Some(find(name.as_deref().unwrap_or("garden")).map_err(Failure::Usage)?)
            }
        };
        let (base, name) = match (demo, &self.folder) {
            (Some(demo), _) => (Folder::Embedded(demo.files), demo.name.to_owned()),
            (None, folder) => named(folder.clone().unwrap_or_default())?,
        };
        let mut files = Files::in_folder(&base);
        instead(&mut files.rig, self.rig.as_deref());
        instead(&mut files.tune, self.tune.as_deref());
        Ok((demo, name, files))
    }

    /// Reads both files; also gives the name of the folder or demo.
    pub(super) fn load(&self) -> Result<(String, Rig, Settings), Failure> {
        let (_, name, files) = self.files()?;
        let read = |(folder, name): &(Folder, String)| folder.read(name);
        let rig = easeoff_sim::files::rig::read(&read(&files.rig)?)?;
        let tune = tune::read(&read(&files.tune)?, &rig)?;
        Ok((name, rig, tune))
    }
}

impl Scene {
    /// Where the four files are, the demo if there is one, and what to call it.
    pub(super) fn files(&self) -> Result<(Option<&'static Demo>, String, Files), Failure> {
        let (demo, name, mut files) = self.tuned.files()?;
        instead(&mut files.course, self.course.as_deref());
        instead(&mut files.driver, self.driver.as_deref());
        Ok((demo, name, files))
    }

    /// Whether a course was named at all, or a folder or demo that has one.
    pub(super) fn has_course(&self) -> bool {
        self.tuned.folder.is_some() || self.tuned.demo.is_some() || self.course.is_some()
    }

    /// Reads the files.
    pub(super) fn load(&self) -> Result<Scened, Failure> {
        let (demo, name, files) = self.files()?;
        let scenario = Scenario::load(&files)?;
        Ok(Scened { demo, name, scenario })
    }
}

fn instead(place: &mut (Folder, String), given: Option<&Path>) {
    if let Some(path) = given {
        *place = folder_and_name(path);
    }
}

/// Reads a rig file that is named by itself.
pub(super) fn read_rig(path: &Path) -> Result<Rig, Refusal> {
    let (folder, name) = folder_and_name(path);
    easeoff_sim::files::rig::read(&folder.read(&name)?)
}

/// A short name for what is compared: the folder's, or the file's without its end, unlike those that are `taken`.
pub(super) fn called<'n>(path: &Path, taken: impl Iterator<Item = &'n str>) -> String {
    let name = if path.is_dir() { path.file_name() } else { path.file_stem() };
    let name =
        name.map_or_else(|| path.display().to_string().into(), |name| name.to_string_lossy());
    apart(&name, &taken.collect::<Vec<_>>())
}

/// Refuses more than can be told apart over each other, with `alongside` others; `verb` is what to do in two goes.
pub(super) fn few(against: &[PathBuf], alongside: usize, verb: &str) -> Result<(), Failure> {
    let (has, most) = (against.len(), MOST_RUNS - 1 - alongside);
    if has <= most {
        return Ok(());
    }
    Err(Failure::Usage(format!(
        "--against is given {has} times; allowed is up to {most}: {verb} in two goes"
    )))
}
