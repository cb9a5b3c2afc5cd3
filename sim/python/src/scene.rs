//! A rig, its tune, a course and a driver: what is run.

use std::num::NonZero;
use std::ops::RangeInclusive;
use std::path::PathBuf;

use easeoff_sim::files::demo::{Demo, find};
use easeoff_sim::files::folder::{Folder, folder_and_name, named};
use easeoff_sim::files::mistake::out_of_range;
use easeoff_sim::files::overrides::{Original, Path};
use easeoff_sim::files::scenario::{Files, Scenario};
use easeoff_sim::files::tune_text;
use easeoff_sim::run::controller::Own;
use easeoff_sim::run::creep::{SLOPES_DEG, USUAL_SLOPE_DEG};
use easeoff_sim::run::{DEFAULT_STEP_S, Method, STEPS_US};
use easeoff_sim::score;
use easeoff_sim::study::compare::{Variant, driven_by, shown};
use easeoff_sim::study::marks::marks;
use easeoff_sim::study::sweep::{Plan, cores};
use easeoff_sim::study::trials::{Subject, all};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyMapping};

use crate::refused::raised;
use crate::run::{Kept, Run};
use crate::sweep::{Sweep, swept};
use crate::value::{axis, setting};

/// The plant's step where none is named \[us\].
const STEP_US: f64 = DEFAULT_STEP_S * 1.0e6;

/// A rig, its tune, a course and a driver, read and found good. It never changes; `change` gives another.
#[pyclass(frozen, module = "easeoff")]
pub(crate) struct Scene {
    /// The folder's or the demo's name.
    #[pyo3(get)]
    name: String,
    demo: Option<&'static Demo>,
    files: Files,
    scenario: Scenario,
}

/// A built-in demo: "garden", "let-off" or "snag". A path takes another file in the place of the demo's.
#[pyfunction]
#[pyo3(signature = (name = "garden", *, rig = None, tune = None, course = None, driver = None))]
pub(crate) fn demo(
    name: &str,
    rig: Option<PathBuf>,
    tune: Option<PathBuf>,
    course: Option<PathBuf>,
    driver: Option<PathBuf>,
) -> PyResult<Scene> {
    let demo = find(name).map_err(raised)?;
    let base = (Folder::Embedded(demo.files), demo.name.to_owned());
    Scene::read(base, Some(demo), [rig, tune, course, driver])
}

/// A folder with rig.toml, tune.toml, course.toml and driver.toml. A path takes another file in the place of one.
#[pyfunction]
#[pyo3(signature = (folder, *, rig = None, tune = None, course = None, driver = None))]
pub(crate) fn load(
    folder: PathBuf,
    rig: Option<PathBuf>,
    tune: Option<PathBuf>,
    course: Option<PathBuf>,
    driver: Option<PathBuf>,
) -> PyResult<Scene> {
    let base = named(folder).map_err(|refusal| raised(vec![refusal]))?;
    Scene::read(base, None, [rig, tune, course, driver])
}

impl Scene {
    fn read(
        (base, name): (Folder, String),
        demo: Option<&'static Demo>,
        instead: [Option<PathBuf>; 4],
    ) -> PyResult<Self> {
        let mut files = Files::in_folder(&base);
        let Files { rig, tune, course, driver } = &mut files;
        for (file, path) in [rig, tune, course, driver].into_iter().zip(instead) {
            if let Some(path) = path {
                *file = folder_and_name(&path);
            }
        }
        Self::of(files, name, demo)
    }

    fn of(files: Files, name: String, demo: Option<&'static Demo>) -> PyResult<Self> {
        let scenario = Scenario::load(&files).map_err(raised)?;
        Ok(Self { name, demo, files, scenario })
    }

    /// The same with another tune, written as a file, so that it can be changed like any other.
    fn tuned(&self, name: String, scenario: &Scenario) -> PyResult<Self> {
        let text = tune_text::text(&scenario.tune, Some(&scenario.rig))
            .map_err(|refusal| raised(vec![refusal]))?;
        let mut files = self.files.clone();
        let (under, file) = files.tune;
        let changed = Folder::Changed { under: Box::new(under), name: file.clone(), text };
        files.tune = (changed, file);
        Self::of(files, name, None)
    }
}

#[pymethods]
impl Scene {
    /// SHA-256 over the effective settings: the same in `run.json` of the same scene.
    #[getter]
    fn settings_sha256(&self) -> String {
        self.scenario.hash()
    }

    /// The same scene with other values, by the keys of `easeoff sweep --vary`: `{"tune.drag.onset_ms": 900}`.
    ///
    /// The files' own readers check them; files on disk stay as they are.
    fn change(&self, values: &Bound<'_, PyMapping>) -> PyResult<Self> {
        let mut changes = Vec::new();
        for pair in values.items()? {
            let (key, value): (String, Bound<'_, PyAny>) = pair.extract()?;
            changes.push((Path::parse(&key).map_err(raised)?, setting(&value)?));
        }
        let paths = changes.iter().map(|(path, _)| path);
        let original = Original::read(&self.files, paths).map_err(raised)?;
        let files = original.with(changes.iter().map(|(path, value)| (path, value)));
        Self::of(files.map_err(raised)?, self.name.clone(), self.demo)
    }

    /// The scenes that show what a demo shows, by name: three onset times of "let-off", three kinds of speed hold of
    /// "snag", each with the throttle held throughout; any other scene is its only one.
    fn variants<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let found = PyDict::new(py);
        for (name, scenario) in shown(self.demo, &self.name, &self.scenario) {
            found.set_item(&name, self.tuned(name.clone(), &scenario)?)?;
        }
        Ok(found)
    }

    /// Drives it, as `easeoff drive` does.
    ///
    /// `creep_slope_deg` is the slope on which creep is measured [degrees], 0 to 45; `step_us` the plant's step
    /// [us], 10 to 1000.
    #[pyo3(signature = (*, creep_slope_deg = USUAL_SLOPE_DEG, step_us = STEP_US))]
    fn run(&self, py: Python<'_>, creep_slope_deg: f64, step_us: f64) -> PyResult<Run> {
        let method = measured(creep_slope_deg, step_us)?;
        let kept = py.detach(|| {
            let (name, scenario) = (self.name.clone(), self.scenario.clone());
            let variant = driven_by(&Own::make, name, scenario, method);
            let Variant { name, scenario, run, scores } = variant.map_err(raised)?;
            let events = marks(&run, &scores);
            PyResult::Ok(Kept::new(name, &scenario, &run, scores.list, events))
        })?;
        kept.shown(py)
    }

    /// Runs a grid of settings on all cores, as `easeoff sweep` does, and gives scores by name as arrays.
    ///
    /// `vary` names keys and their values: a list, an array, or a range with both ends such as "0..900:7". Each
    /// dimension of the arrays is one of them. Creep, roll-away, masking and half-throttle speed cost extra runs. `threads` is so many runs at a
    /// time; else as many as there are cores. Ctrl-C ends it.
    #[pyo3(signature = (vary, scores, *, threads = None, creep_slope_deg = USUAL_SLOPE_DEG, step_us = STEP_US))]
    fn sweep(
        &self,
        py: Python<'_>,
        vary: &Bound<'_, PyMapping>,
        scores: Vec<String>,
        threads: Option<NonZero<usize>>,
        creep_slope_deg: f64,
        step_us: f64,
    ) -> PyResult<Sweep> {
        let method = measured(creep_slope_deg, step_us)?;
        let mut axes = Vec::new();
        for pair in vary.items()? {
            let (key, values): (String, Bound<'_, PyAny>) = pair.extract()?;
            axes.push(axis(&key, &values)?);
        }
        let scores = scores.iter().map(|name| score::find(name).map_err(raised));
        let scores = scores.collect::<PyResult<_>>()?;
        let plan = Plan { files: self.files.clone(), axes, scores, method };
        swept(py, &plan, threads.map_or_else(cores, NonZero::get))
    }

    /// Puts rig and tune through the ten standard trials of `easeoff trials`; a run each, by name.
    ///
    /// The course and the driver are the trials' own. `creep_slope_deg` and `step_us` are as for `run`.
    #[pyo3(signature = (*, creep_slope_deg = USUAL_SLOPE_DEG, step_us = STEP_US))]
    fn trials<'py>(
        &self,
        py: Python<'py>,
        creep_slope_deg: f64,
        step_us: f64,
    ) -> PyResult<Bound<'py, PyDict>> {
        let method = measured(creep_slope_deg, step_us)?;
        let done = py.detach(|| {
            let (rig, tune) = (self.scenario.rig.clone(), self.scenario.tune);
            let done = all(&[Subject { rig, tune, method, make: &Own::make }]);
            let kept = |done: easeoff_sim::study::trials::Done| {
                let name = done.trial.name.to_owned();
                done.tried.into_iter().map(move |tried| {
                    Kept::new(name.clone(), &tried.scenario, &tried.run, tried.scores, tried.marks)
                })
            };
            PyResult::Ok(done.map_err(raised)?.into_iter().flat_map(kept).collect::<Vec<_>>())
        })?;
        let found = PyDict::new(py);
        for kept in done {
            found.set_item(kept.name.clone(), kept.shown(py)?)?;
        }
        Ok(found)
    }

    fn __repr__(&self) -> String {
        let hash = self.scenario.hash();
        format!("<easeoff.Scene {}, settings {}>", self.name, hash.get(..12).unwrap_or_default())
    }
}

/// Slope \[degrees\] and step \[s\], if they may be asked for.
fn measured(creep_slope_deg: f64, step_us: f64) -> PyResult<Method> {
    within("creep_slope_deg", creep_slope_deg, &SLOPES_DEG)?;
    within("step_us", step_us, &STEPS_US)?;
    Ok(Method { creep_slope_deg, step_s: step_us * 1.0e-6 })
}

fn within(name: &str, value: f64, range: &RangeInclusive<f64>) -> PyResult<()> {
    match range.contains(&value) {
        true => Ok(()),
        false => Err(raised(out_of_range(name, value, range))),
    }
}
