//! What a run is made of: one rig, one tune, one course, one driver.

use easeoff_core::Settings;
use easeoff_plant::course::Course;
use easeoff_plant::rig::Rig;
use serde::Serialize;

use crate::files::driver::Driver;
use crate::files::folder::Folder;
use crate::files::hash::sha256;
use crate::files::mistake::{Refusal, Source};
use crate::files::tune;

/// One rig, one tune, one course, one driver.
#[derive(Clone, Debug, Serialize)]
#[expect(missing_docs, reason = "the four files, documented at their types")]
pub struct Scenario {
    pub rig: Rig,
    pub tune: Settings,
    pub course: Course,
    pub driver: Driver,
}

/// Where each of the four files is: a folder and a name in it.
#[derive(Clone, Debug)]
#[expect(missing_docs, reason = "the four files, documented at their types")]
pub struct Files {
    pub rig: (Folder, String),
    pub tune: (Folder, String),
    pub course: (Folder, String),
    pub driver: (Folder, String),
}

impl Files {
    /// The four files under their usual names in one folder.
    pub fn in_folder(folder: &Folder) -> Self {
        let usual = |name: &str| (folder.clone(), name.to_owned());
        Self {
            rig: usual("rig.toml"),
            tune: usual("tune.toml"),
            course: usual("course.toml"),
            driver: usual("driver.toml"),
        }
    }
}

impl Scenario {
    /// Reads all four files.
    ///
    /// # Errors
    /// Every mistake in every file. A tune cannot be judged without its rig, so after a refused rig
    /// it is read against the demo's.
    pub fn load(files: &Files) -> Result<Self, Vec<Refusal>> {
        Self::load_over(None, files, &|_| true)
    }

    /// As [`Scenario::load`], but only the files that `changed` names are read (`rig`, `tune`, `course`, `driver`); the
    /// others are as they are here. A tune is read again with its rig.
    ///
    /// # Errors
    /// As `load`.
    pub(crate) fn reload(
        &self,
        files: &Files,
        changed: &dyn Fn(&str) -> bool,
    ) -> Result<Self, Vec<Refusal>> {
        Self::load_over(Some(self), files, changed)
    }

    fn load_over(
        base: Option<&Self>,
        files: &Files,
        changed: &dyn Fn(&str) -> bool,
    ) -> Result<Self, Vec<Refusal>> {
        let kept = |name: &str| base.filter(|_| !changed(name));
        let mut refusals = Vec::new();
        let rig = match kept("rig") {
            Some(base) => Ok(base.rig.clone()),
            None => read(&files.rig).and_then(|source| crate::files::rig::read(&source)),
        };
        let rig = rig.map_err(|refusal| refusals.push(refusal)).ok();
        let stand_in = rig.clone().or_else(|| crate::files::demo::rig().ok());
        let tune = stand_in.and_then(|rig| {
            let tune = match kept("tune").filter(|_| kept("rig").is_some()) {
                Some(base) => Ok(base.tune),
                None => read(&files.tune).and_then(|source| tune::read(&source, &rig)),
            };
            tune.map_err(|refusal| refusals.push(refusal)).ok()
        });
        let course = match kept("course") {
            Some(base) => Ok(base.course.clone()),
            None => read(&files.course)
                .map_err(|refusal| vec![refusal])
                .and_then(|source| crate::files::course::read(&source, &files.course.0)),
        };
        let course = course.map_err(|found| refusals.extend(found)).ok();
        let driver = match kept("driver") {
            Some(base) => Ok(base.driver.clone()),
            None => read(&files.driver)
                .map_err(|refusal| vec![refusal])
                .and_then(|source| Driver::read(&source, &files.driver.0)),
        };
        let driver = driver.map_err(|found| refusals.extend(found)).ok();
        match (rig, tune, course, driver) {
            (Some(rig), Some(tune), Some(course), Some(driver)) if refusals.is_empty() => {
                let ticks = driver.duration_s * f64::from(rig.board.tick_hz);
                if ticks > MOST_TICKS {
                    return Err(vec![too_long(&files.driver.1, ticks)]);
                }
                Ok(Self { rig, tune, course, driver })
            }
            _ => Err(refusals),
        }
    }

    /// SHA-256 over the effective settings, as hexadecimal digits: two runs with the same hash and
    /// the same version are the same run.
    pub fn hash(&self) -> String {
        sha256(serde_json::to_vec(self).unwrap_or_default())
    }
}

/// As many controller ticks as one run may have: ten minutes at the usual rate. All of them are kept.
pub const MOST_TICKS: f64 = 600_000.0;

fn too_long(name: &str, ticks: f64) -> Refusal {
    Source::new(name, "").refuse(
        format!(
            "duration_s times the rig's board.tick_hz is {ticks} ticks; allowed is up to {MOST_TICKS}"
        ),
        "shorten the run, or lower the tick rate",
    )
}

fn read(file: &(Folder, String)) -> Result<Source, Refusal> {
    file.0.read(&file.1)
}
