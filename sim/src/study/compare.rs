//! The two trade-offs, each as three runs side by side.

use easeoff_core::{DragSettings, HoldSettings};
use easeoff_plant::interpolate::straight;

use crate::files::demo::{Demo, find, scenario};
use crate::files::driver::{Driver, Motion};
use crate::files::full_speed::usual_hold;
use crate::files::scenario::Scenario;
use crate::run::controller::Make;
use crate::run::{Method, Run, RunError, simulate, simulate_by};
use crate::score::Scores;
use crate::score::episode::load;
use crate::study::let_off_at::LetOffAt;
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
    let measuring = Measuring::own(method);
    scenarios.into_iter().map(|(name, scenario)| driven(&measuring, name, scenario)).collect()
}

/// As [`variants`], but that all are judged as if they let off where the first does.
///
/// # Errors
/// When a run cannot be finished.
pub fn compared(
    scenarios: Vec<(String, Scenario)>,
    method: Method,
) -> Result<Vec<Variant>, RunError> {
    let mut all: Vec<Variant> = Vec::new();
    let mut alike = None;
    for (name, scenario) in scenarios {
        let measuring = Measuring { alike: alike.as_ref(), ..Measuring::own(method) };
        let variant = driven(&measuring, name, scenario)?;
        // All let off where the first does.
        if all.is_empty() {
            alike = LetOffAt::of(&variant.scenario, &variant.run);
        }
        all.push(variant);
    }
    Ok(all)
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
    driven(&Measuring { method, make, alike: None }, name, scenario)
}

pub(super) fn driven(
    measuring: &Measuring<'_>,
    name: String,
    scenario: Scenario,
) -> Result<Variant, RunError> {
    let mut control = (measuring.make)(&scenario)?;
    let run = simulate_by(&scenario, measuring.method.step_s, control.as_mut())?;
    let scores = measuring.all(&scenario, &run)?;
    Ok(Variant { name, scenario, run, scores })
}

/// The same scenario with three onset times: at once, as the tune says (or 300 ms), and three times as long.
pub fn onset_times(scenario: &Scenario) -> Vec<(String, Scenario)> {
    let own_ms = scenario.tune.drag.onset_ms;
    let own_ms = if own_ms > 0.0 { own_ms } else { 300.0 };
    let with = |onset_ms: f32| {
        let mut changed = scenario.clone();
        changed.tune.drag = DragSettings { onset_ms, ..scenario.tune.drag };
        (format!("onset {onset_ms} ms"), changed)
    };
    [0.0, own_ms, 3.0 * own_ms].map(with).into()
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

/// The same scenes, but that each driver eases off once a driver notices the load. Only a throttle by time is eased.
///
/// # Errors
/// When a run cannot be finished.
fn eased_when_noticed(
    mut scenarios: Vec<(String, Scenario)>,
    method: Method,
) -> Result<Vec<(String, Scenario)>, RunError> {
    for (_, scenario) in &mut scenarios {
        let run = simulate(scenario, method.step_s)?;
        let noticed = load(&run).and_then(|load| load.noticed);
        let Driver { motion: Motion::ByTime(throttle), duration_s, .. } = &mut scenario.driver
        else {
            continue;
        };
        let Some(row) = noticed.map(|index| &run.rows[index]) else { continue };
        let held = straight(throttle, row.time_s);
        throttle.retain(|point| point[0] < row.time_s);
        let let_go_s = row.time_s + EASES_IN_S;
        throttle.extend([[row.time_s, held], [let_go_s, 0.0], [let_go_s.max(*duration_s), 0.0]]);
    }
    Ok(scenarios)
}

/// So quickly a driver eases off \[s\].
const EASES_IN_S: f64 = 0.2;

/// Letting off with three onset times, and the snag with three kinds of speed hold, of the demos.
///
/// # Errors
/// When a run cannot be finished.
pub fn trade_offs(method: Method) -> Result<[Vec<Variant>; 2], RunError> {
    let run = |name| match (find(name), scenario(name)) {
        (Ok(demo), Some(scenario)) => side_by_side(Some(demo), name, &scenario, method),
        _ => Ok(Vec::new()),
    };
    Ok([run("let-off")?, run("snag")?])
}

/// What is laid side by side to show what a demo shows; of any other scene, itself.
pub fn shown(demo: Option<&Demo>, name: &str, scenario: &Scenario) -> Vec<(String, Scenario)> {
    match demo.map(|demo| demo.name) {
        Some("let-off") => onset_times(scenario),
        Some("snag") => hold_kinds(scenario),
        _ => vec![(name.to_owned(), scenario.clone())],
    }
}

/// Drives what is [`shown`]; beside a snag the driver eases off once it is noticed.
///
/// # Errors
/// When a run cannot be finished.
pub fn side_by_side(
    demo: Option<&Demo>,
    name: &str,
    scenario: &Scenario,
    method: Method,
) -> Result<Vec<Variant>, RunError> {
    let mut scenarios = shown(demo, name, scenario);
    if demo.is_some_and(|demo| demo.name == "snag") {
        scenarios = eased_when_noticed(scenarios, method)?;
    }
    variants(scenarios, method)
}
