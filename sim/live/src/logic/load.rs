//! What is driven: a folder's four files, or a demo's.

use std::path::{Path, PathBuf};

use easeoff_sim::files::demo;
use easeoff_sim::files::folder::Folder;
use easeoff_sim::files::mistake::{Source, render};
use easeoff_sim::files::scenario::{Files, Scenario};
use easeoff_sim::files::tune_edit::TuneFile;

/// A scenario with the texts that it was read from.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// The folder's or the demo's name.
    pub name: String,
    /// What the texts say.
    pub scenario: Scenario,
    /// The rig's text.
    pub rig: String,
    /// The tune's text.
    pub tune: String,
    /// The course.
    pub course: CourseText,
    /// The tune's file, if it is one on disk.
    pub tune_path: Option<PathBuf>,
}

/// A course as text.
#[derive(Clone, Debug, Default)]
pub struct CourseText {
    /// The course's own file.
    pub text: String,
    /// Name and text of the profile that it names.
    pub profile: Option<(&'static str, String)>,
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

    /// A folder with `rig.toml`, `tune.toml`, `course.toml` and `driver.toml`.
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
        let scenario =
            Scenario::load(&Files::in_folder(&folder)).map_err(|refusals| render(&refusals))?;
        let text = |name: &str| {
            folder.read(name).map(|source| source.text).map_err(|refusal| refusal.render())
        };
        let course = with_profile(text("course.toml")?, text)?;
        Ok(Self {
            name,
            scenario,
            rig: text("rig.toml")?,
            tune: text("tune.toml")?,
            course,
            tune_path,
        })
    }
}

/// The course with the profile that it names, which is called the same wherever it came from: nobody can
/// change it on disk while the window is open, and no name of another file can be in its way.
fn with_profile(
    course: String,
    text: impl Fn(&str) -> Result<String, String>,
) -> Result<CourseText, String> {
    let table: toml::Table = toml::from_str(&course).map_err(|error| error.to_string())?;
    for (key, plain) in [("profile_csv", "profile.csv"), ("profile_gpx", "profile.gpx")] {
        let Some(name) = table.get(key).and_then(|name| name.as_str()) else { continue };
        let profile = text(name)?;
        let mut file = TuneFile::parse(&Source::new("course.toml", course.as_str()))
            .map_err(|refusal| refusal.render())?;
        file.set("", key, plain);
        return Ok(CourseText { text: file.text(), profile: Some((plain, profile)) });
    }
    Ok(CourseText { text: course, profile: None })
}
