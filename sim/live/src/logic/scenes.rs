//! Where to drive: the folder's or demo's own course, a longer trail, and the exercises' courses.

use easeoff_plant::course::Course;
use easeoff_sim::files::folder::Folder;
use easeoff_sim::files::mistake::{Source, render};

use super::exercise::Exercise;

/// A place to drive.
#[derive(Clone, Copy, Debug)]
pub struct Scene {
    /// Its name.
    pub name: &'static str,
    /// What there is to do, in a sentence.
    pub task: &'static str,
    /// Its course as text, for a drive line of [`SIZED_FOR_N_M`]; `None`: the one that was loaded.
    pub course: Option<&'static str>,
    /// A place to be marked, along the way \[m\].
    pub mark_m: Option<f64>,
    /// What is judged here.
    pub exercise: Option<Exercise>,
}

/// The rating that the courses' snags are sized for \[N m\]: the demo rig's.
pub const SIZED_FOR_N_M: f64 = 2.4;

/// All places; the first is the course that was loaded.
pub const SCENES: [Scene; 6] = [
    Scene {
        name: "Own course",
        task: "Drive as you like: the course of the folder, or of the demo.",
        course: None,
        mark_m: None,
        exercise: None,
    },
    Scene {
        name: "Trail",
        task: "Drive as you like: eighty metres of banks, gravel, stones and brambles.",
        course: Some(include_str!("../../courses/trail.toml")),
        mark_m: None,
        exercise: None,
    },
    Scene {
        name: "Stop on the mark",
        task: "Come down the slope and stop with the axles either side of the mark at 8 m.",
        course: Some(include_str!("../../courses/mark.toml")),
        mark_m: Some(8.0),
        exercise: Some(Exercise::StopOnMark),
    },
    Scene {
        name: "Crawl the step",
        task: "Climb the step of 38 mm at 3 m and pass 4.5 m without lifting an axle.",
        course: Some(include_str!("../../courses/step.toml")),
        mark_m: Some(4.5),
        exercise: Some(Exercise::CrawlStep),
    },
    Scene {
        name: "Feel the snag",
        task: "Drive steadily. Something will catch a wheel: lift off before the part breaks.",
        course: Some(include_str!("../../courses/snag.toml")),
        mark_m: None,
        exercise: Some(Exercise::FeelSnag),
    },
    Scene {
        name: "Keep it cool",
        task: "Reach the top at 24 m within 30 s, with as little heat in the motor as you can.",
        course: Some(include_str!("../../courses/climb.toml")),
        mark_m: Some(24.0),
        exercise: Some(Exercise::KeepCool),
    },
];

impl Scene {
    /// Its course as text, the snags as strong beside a drive line of this rating as the task wants them;
    /// `None` where the loaded course is meant.
    ///
    /// # Errors
    /// None in a program that passed its tests.
    pub fn text(&self, rating_n_m: f64) -> Result<Option<String>, String> {
        let Some(text) = self.course else { return Ok(None) };
        if rating_n_m == SIZED_FOR_N_M {
            return Ok(Some(text.into()));
        }
        let mut table: toml::Table = toml::from_str(text).map_err(|error| error.to_string())?;
        let snags = table.get_mut("snag").and_then(toml::Value::as_array_mut).into_iter().flatten();
        for snag in snags.filter_map(toml::Value::as_table_mut) {
            for key in ["stiffness_n_m_per_rad", "break_n_m"] {
                if let Some(value) = snag.get_mut(key)
                    && let Some(number) = value.as_float()
                {
                    *value = (number * rating_n_m / SIZED_FOR_N_M).into();
                }
            }
        }
        toml::to_string(&table).map(Some).map_err(|error| error.to_string())
    }

    /// Its course; `None` where the loaded one is meant.
    ///
    /// # Errors
    /// As [`text`](Self::text).
    pub fn read(&self, rating_n_m: f64) -> Result<Option<Course>, String> {
        let Some(text) = self.text(rating_n_m)? else { return Ok(None) };
        easeoff_sim::files::course::read(&Source::new(self.name, text), &Folder::Embedded(&[]))
            .map(Some)
            .map_err(|refusals| render(&refusals))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_scene_can_be_read_and_its_snags_grow_with_the_rig() {
        let demo = easeoff_sim::files::demo::scenario("garden").unwrap();
        assert_eq!(demo.rig.gears.rating_n_m, SIZED_FOR_N_M);
        for scene in &SCENES {
            let [own, twice] = [1.0, 2.0].map(|times| scene.read(times * SIZED_FOR_N_M).unwrap());
            assert_eq!(own.is_some(), scene.course.is_some(), "{}", scene.name);
            let (Some(own), Some(twice)) = (own, twice) else { continue };
            assert_eq!(own.profile_m, twice.profile_m);
            assert_eq!(own.snags.len(), twice.snags.len());
            for (one, other) in own.snags.iter().zip(&twice.snags) {
                assert_eq!(other.break_n_m, 2.0 * one.break_n_m);
                assert_eq!(other.stiffness_n_m_per_rad, 2.0 * one.stiffness_n_m_per_rad);
                assert_eq!(other.at_m, one.at_m);
            }
        }
    }
}
