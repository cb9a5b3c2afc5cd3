//! The two trade-offs, each as three runs side by side.

use easeoff_core::{DragSettings, HoldSettings};

use crate::files::demo::Demo;
use crate::files::full_speed::usual_hold;
use crate::files::scenario::Scenario;
use crate::run::controller::{Make, Own};
use crate::run::{Method, Run, RunError, simulate_by};
use crate::score::Scores;
use crate::study::measured::Measuring;

/// One of the runs laid side by side.
#[derive(Clone, Debug)]
pub struct Variant {
    /// What is different about it.
    pub name: String,
    /// What was run.
    pub scenario: Scenario,
    /// The run.
    pub run: Run,
    /// Its scores.
    pub scores: Scores,
}

/// Runs one scenario several times, each with a changed tune.
///
/// # Errors
/// When a run cannot be finished.
pub fn variants(
    scenarios: Vec<(String, Scenario)>,
    method: Method,
) -> Result<Vec<Variant>, RunError> {
    let run = |(name, scenario): (String, Scenario)| driven_by(&Own::make, name, scenario, method);
    scenarios.into_iter().map(run).collect()
}

/// Runs one scenario by the controller that `make` makes.
///
/// # Errors
/// When the run cannot be finished.
pub fn driven_by(
    make: &Make<'_>,
    name: String,
    scenario: Scenario,
    method: Method,
) -> Result<Variant, RunError> {
    let run = simulate_by(&scenario, method.step_s, make(&scenario)?.as_mut())?;
    let scores = Measuring { method, make }.all(&scenario, &run)?;
    Ok(Variant { name, scenario, run, scores })
}

/// The same scenario with three onset times.
pub fn onset_times(scenario: &Scenario) -> Vec<(String, Scenario)> {
    let with = |onset_ms: f32| {
        let mut changed = scenario.clone();
        changed.tune.drag = DragSettings { onset_ms, ..scenario.tune.drag };
        (format!("onset {onset_ms} ms"), changed)
    };
    [0.0, 300.0, 900.0].map(with).into()
}

/// The same scenario with speed hold off, bounded as the tune says, and with full authority.
pub fn hold_kinds(scenario: &Scenario) -> Vec<(String, Scenario)> {
    let bounded = scenario.tune.hold.unwrap_or_else(|| usual_hold(&scenario.rig));
    let full = HoldSettings { authority: 1.0, ..bounded };
    let with = |(name, hold): (String, Option<HoldSettings>)| {
        let mut changed = scenario.clone();
        changed.tune.hold = hold;
        (name, changed)
    };
    let percent = bounded.authority * 100.0;
    [
        ("speed hold off".to_owned(), None),
        (format!("hold may add {percent:.0} % duty"), Some(bounded)),
        ("hold may add all it wants".to_owned(), Some(full)),
    ]
    .map(with)
    .into()
}

/// What is driven side by side to show what a demo shows; of any other scene, itself.
pub fn shown(demo: Option<&Demo>, name: &str, scenario: &Scenario) -> Vec<(String, Scenario)> {
    match demo.map(|demo| demo.name) {
        Some("let-off") => onset_times(scenario),
        Some("snag") => hold_kinds(scenario),
        _ => vec![(name.to_owned(), scenario.clone())],
    }
}
