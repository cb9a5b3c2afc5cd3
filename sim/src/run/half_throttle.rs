//! The trial behind the half-throttle speed: the rig on level ground, half throttle held until the speed is steady.

use easeoff_plant::course::Surface;

use crate::files::driver::Motion;
use crate::files::scenario::Scenario;
use crate::run::controller::{Fault, Make};
use crate::run::{Method, RunError, Simulation};

/// Once neutral was long enough: so much later the throttle opens \[s\].
const AFTER_ARMING_S: f64 = 0.3;
/// How long it takes to open, without haste \[s\].
const OPENS_S: f64 = 0.4;
/// The speed is the mean over this \[s\].
const WINDOW_S: f64 = 0.5;
/// A mean that is within this part of the one before it is steady.
const STEADY: f64 = 0.005;
/// A rig that is not steady by then has the speed that it has \[s\].
const LONGEST_S: f64 = 20.0;

/// What it came to.
#[derive(Clone, Debug)]
pub struct HalfThrottle {
    /// Steady speed of the body, without its sign \[m/s\].
    pub speed_m_s: f64,
    /// Why it was not the controller that drove, if that is so.
    pub fault: Option<Fault>,
}

/// Drives this rig with half throttle on level ground, of the surface where the course starts, with nothing in the
/// way, a perfect radio and the steering in the middle.
///
/// # Errors
/// As a run's.
pub fn half_throttle(
    scenario: &Scenario,
    method: Method,
    make: &Make<'_>,
) -> Result<HalfThrottle, RunError> {
    let mut trial = scenario.clone();
    let course = &mut trial.course;
    let surface = course.surfaces.get(course.surface_index_at(course.start_m)).cloned();
    // Beyond its ends the level goes on.
    course.profile_m = vec![[-1.0, 0.0], [1.0, 0.0]];
    course.start_m = 0.0;
    course.rough = None;
    course.snags.clear();
    course.surfaces =
        surface.map(|surface| Surface { from_m: -1.0, ..surface }).into_iter().collect();
    let driver = &mut trial.driver;
    let opens_s = f64::from(scenario.tune.mode.arm_ms) / 1_000.0 + AFTER_ARMING_S;
    driver.motion = Motion::ByTime(vec![[0.0, 0.0], [opens_s, 0.0], [opens_s + OPENS_S, 0.5]]);
    driver.steer.clear();
    driver.lost_s.clear();
    driver.retunes.clear();
    (driver.radio.jitter_us, driver.radio.missing_share) = (0.0, 0.0);

    let mut simulation = Simulation::new(&trial, method.step_s)?;
    let mut control = make(&trial)?;
    let tick_s = simulation.tick_s();
    let ticks = |seconds: f64| (seconds / tick_s).round() as usize;
    for _ in 0..ticks(opens_s + OPENS_S) {
        simulation.tick_with(control.as_mut())?;
    }
    let (mut speed_m_s, mut steady) = (0.0, false);
    for _ in 0..ticks(LONGEST_S) / ticks(WINDOW_S).max(1) {
        let from_m = simulation.state.now.place_m;
        for _ in 0..ticks(WINDOW_S) {
            simulation.tick_with(control.as_mut())?;
        }
        let mean_m_s = (simulation.state.now.place_m - from_m).abs() / WINDOW_S;
        // Twice in turn, so that the turn of an overshoot is not taken for the end.
        let same = (mean_m_s - speed_m_s).abs() <= STEADY * mean_m_s;
        let done = same && steady;
        (speed_m_s, steady) = (mean_m_s, same);
        if done {
            break;
        }
    }
    Ok(HalfThrottle { speed_m_s, fault: control.fault() })
}
