//! Where to drive: the folder's or demo's own course, a longer trail, and the exercises' courses.

use easeoff_sim::course::Course;
use easeoff_sim::folder::Folder;
use easeoff_sim::mistake::Source;

use super::exercise::Exercise;

/// A place to drive.
#[derive(Clone, Copy, Debug)]
pub struct Scene {
    /// Its name.
    pub name: &'static str,
    /// What there is to do, in a sentence.
    pub task: &'static str,
    /// Its course as text; `None`: the one that was loaded.
    pub course: Option<&'static str>,
    /// A place to be marked, along the way \[m\].
    pub mark_m: Option<f64>,
    /// What is judged here.
    pub exercise: Option<Exercise>,
}

/// All places; the first is the course that was loaded.
pub const SCENES: [Scene; 6] = [
    Scene {
        name: "Own course",
        task: "Drive as you like: the course of the folder, or the demo's garden.",
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
        task: "Climb the step at 3 m and pass 4.5 m without lifting an axle.",
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
    /// Its course; `None` where the loaded one is meant.
    ///
    /// # Errors
    /// None in a program that passed its tests.
    pub fn read(&self) -> Result<Option<Course>, String> {
        let Some(text) = self.course else { return Ok(None) };
        let source = Source::new(self.name, text);
        Course::read(&source, &Folder::Embedded(&[])).map(Some).map_err(|refusals| {
            refusals.iter().map(|refusal| refusal.render()).collect::<Vec<_>>().join("\n")
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_scene_can_be_read() {
        for scene in &SCENES {
            let course = scene.read().unwrap();
            assert_eq!(course.is_some(), scene.course.is_some(), "{}", scene.name);
        }
    }
}
