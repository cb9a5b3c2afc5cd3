//! Where the points of a plan are run. What all of them share is read and made once.

use std::sync::{Arc, OnceLock};

use easeoff_plant::Plant;
use easeoff_plant::ground::Ground;
use toml_edit::Value as Setting;

use super::{Axis, Plan, Wrong};
use crate::files::mistake::Refusal;
use crate::files::overrides::Original;
use crate::files::scenario::{Files, Scenario};
use crate::run::controller::Own;
use crate::run::{RunError, Simulation};
use crate::score::{Needs, ScoreRow, Value, of_let_off};
use crate::study::let_off_at::LetOffAt;
use crate::study::measured::Measuring;

/// What a point gave: its scores in the order asked for, or why there are none.
pub type Answer = Result<Vec<Value>, String>;

/// A plan made ready to run.
pub struct Bench<'p> {
    plan: &'p Plan,
    original: Original,
    base: Scenario,
    /// Of the base; where neither rig nor course is varied it is that of every point.
    ground: Option<Arc<Ground>>,
    /// Where the base lets off, once it is known: there all tunes do, as long as nothing but the tune is varied.
    lets_off: OnceLock<Option<LetOffAt>>,
}

impl<'p> Bench<'p> {
    /// Reads the files. Nothing is run.
    ///
    /// # Errors
    /// Every mistake in them, or why the scene cannot be run as it is.
    pub fn new(plan: &'p Plan) -> Result<Self, Wrong> {
        let base = Scenario::load(&plan.files)?;
        let original = Original::read(&plan.files, plan.axes.iter().map(|axis| &axis.path))?;
        let same = !["rig", "course"].iter().any(|file| varies(plan, file));
        let ground = same.then(|| Arc::new(Ground::new(&base.course, &base.rig)));
        let bench = Self { plan, original, base, ground, lets_off: OnceLock::new() };
        bench.simulation(&bench.base)?;
        Ok(bench)
    }

    /// The scene as it is without any change.
    pub fn base(&self) -> &Scenario {
        &self.base
    }

    /// The files with these values, one for each axis.
    ///
    /// # Errors
    /// When a file has no place for a key.
    pub fn files(&self, values: &[&Setting]) -> Result<Files, String> {
        self.original.with(self.plan.axes.iter().map(|axis| &axis.path).zip(values.iter().copied()))
    }

    /// What is wrong with a value by itself, all else being as it was.
    ///
    /// # Errors
    /// The mistakes, or that the file has no place for the key.
    pub(crate) fn try_alone(
        &self,
        axis: &Axis,
        value: &Setting,
    ) -> Result<Result<(), Vec<Refusal>>, String> {
        let files = self.original.with([(&axis.path, value)])?;
        let changed = |file: &str| file == axis.path.file();
        Ok(self.base.reload(&files, &changed).map(drop))
    }

    /// Runs with these values, one for each axis.
    pub fn answer(&self, values: &[&Setting]) -> Answer {
        let files = self.files(values)?;
        let scenario = self.base.reload(&files, &|file| varies(self.plan, file));
        let scenario = scenario.map_err(|refusals| {
            let mistakes = refusals.iter().flat_map(|refusal| &refusal.mistakes);
            mistakes.map(|mistake| mistake.what.clone()).collect::<Vec<_>>().join("; ")
        })?;
        self.scores(&scenario).unwrap_or_else(|error| Err(error.to_string()))
    }

    fn simulation<'s>(&self, scenario: &'s Scenario) -> Result<Simulation<'s>, RunError> {
        let plant = match &self.ground {
            Some(ground) => Plant::on(Arc::clone(ground), &scenario.rig, &scenario.course),
            None => Plant::new(&scenario.rig, &scenario.course),
        };
        Simulation::of(plant, scenario, self.plan.method.step_s)
    }

    fn lets_off(&self) -> Option<&LetOffAt> {
        let same_scene = !["rig", "course", "driver"].iter().any(|file| varies(self.plan, file));
        if !same_scene || !self.plan.scores.iter().any(|row| of_let_off(row)) {
            return None;
        }
        let base = || {
            let mut own = Own::new(&self.base).ok()?;
            let run = self.simulation(&self.base).ok()?.finish(&mut own).ok()?;
            LetOffAt::of(&self.base, &run)
        };
        self.lets_off.get_or_init(base).as_ref()
    }

    fn scores(&self, scenario: &Scenario) -> Result<Answer, RunError> {
        let Plan { scores, method, .. } = self.plan;
        let mut own = Own::new(scenario)?;
        let run = self.simulation(scenario)?.finish(&mut own)?;
        let measuring = Measuring { alike: self.lets_off(), ..Measuring::own(*method) };
        let found = measuring.of(scenario, &run, scores)?;
        // What is measured in a trial of its own does not need this run to move.
        let of_this_run = |row: &&ScoreRow| matches!(row.needs, Needs::Nothing | Needs::HoldOff);
        if let Some(why) = found.never_moved.as_ref().filter(|_| scores.iter().any(of_this_run)) {
            return Ok(Err(why.to_string()));
        }
        Ok(Ok(scores.iter().map(|score| found.value(score)).collect()))
    }
}

fn varies(plan: &Plan, file: &str) -> bool {
    plan.axes.iter().any(|axis| axis.path.file() == file)
}
