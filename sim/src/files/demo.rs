//! The demos: a home-built rig and a garden, all of our own invention, inside the program.

use easeoff_plant::rig::Rig;

use crate::files::folder::Folder;
use crate::files::mistake::Refusal;
use crate::files::scenario::{Files, Scenario};

/// A demo's name, its files, and what it shows.
#[derive(Clone, Copy, Debug)]
pub struct Demo {
    /// As given to `--demo`.
    pub name: &'static str,
    /// What it shows, in one line.
    pub shows: &'static str,
    /// Its files by name.
    pub files: &'static [(&'static str, &'static str)],
}

macro_rules! demo {
    ($name:literal, $shows:literal) => {
        Demo {
            name: $name,
            shows: $shows,
            files: &[
                ("rig.toml", include_str!("../../demo/rig.toml")),
                ("tune.toml", include_str!("../../demo/tune.toml")),
                ("course.toml", include_str!(concat!("../../demo/", $name, "/course.toml"))),
                ("driver.toml", include_str!(concat!("../../demo/", $name, "/driver.toml"))),
            ],
        }
    };
}

/// All demos. They share one rig and one tune.
pub const DEMOS: [Demo; 3] = [
    demo!("garden", "one drive round the garden: up the bank, down again, through the bramble"),
    demo!("let-off", "letting go downhill with three onset times side by side"),
    demo!("snag", "one snag with speed hold off, bounded and full side by side"),
];

/// A demo by its name.
///
/// # Errors
/// Which names there are.
pub fn find(name: &str) -> Result<&'static Demo, String> {
    DEMOS.iter().find(|demo| demo.name == name).ok_or_else(|| {
        let names: Vec<&str> = DEMOS.iter().map(|demo| demo.name).collect();
        format!("there is no demo \"{name}\"; allowed is {}", names.join(", "))
    })
}

/// The files of a demo.
pub fn folder(name: &str) -> Option<Folder> {
    find(name).ok().map(|demo| Folder::Embedded(demo.files))
}

/// A demo's scenario; `None` for an unknown name or if the demo itself were wrong.
pub fn scenario(name: &str) -> Option<Scenario> {
    folder(name).and_then(|folder| Scenario::load(&Files::in_folder(&folder)).ok())
}

/// The demos' rig.
///
/// # Errors
/// None in a program that passed its tests.
pub fn rig() -> Result<Rig, Refusal> {
    Folder::Embedded(DEMOS[0].files)
        .read("rig.toml")
        .and_then(|source| crate::files::rig::read(&source))
}
