//! The trial behind creep and roll-away: the rig on a constant slope, the drag brake fully on.

use std::ops::RangeInclusive;

use crate::files::scenario::Scenario;
use crate::run::controller::{Fault, Make};
use crate::run::{Method, Row, RunError, Simulation};

/// The slope on which creep is measured where none is named \[degrees\].
pub const USUAL_SLOPE_DEG: f64 = 12.0;

/// The slopes that a rig may be asked to stand on \[degrees\].
pub const SLOPES_DEG: RangeInclusive<f64> = 0.0..=45.0;

/// Creep and roll-away on a constant slope, the drag brake fully on.
#[derive(Clone, Debug)]
pub struct Creep {
    /// Steady speed \[m/s\].
    pub speed_m_s: f64,
    /// Distance in the first five seconds \[m\].
    pub rolled_m: f64,
    /// Why it was not the controller that braked, if that is so.
    pub fault: Option<Fault>,
}

/// Measures creep and roll-away of this rig and controller on a slope \[degrees\]. Before it is let go, the
/// rig is held as long as the tune's brake needs to come in.
///
/// # Errors
/// As a run's.
pub fn creep(scenario: &Scenario, method: Method, make: &Make<'_>) -> Result<Creep, RunError> {
    creep_by(scenario, method, make, |_| {})
}

/// As [`creep`], and hands over every row of the five seconds.
///
/// # Errors
/// As a run's.
pub(crate) fn creep_by(
    scenario: &Scenario,
    method: Method,
    make: &Make<'_>,
    mut take: impl FnMut(Row),
) -> Result<Creep, RunError> {
    let slope = method.creep_slope_deg.to_radians();
    let mut trial = scenario.clone();
    // Beyond its end the slope goes on.
    trial.course.profile_m = vec![[-1.0, 0.0], [1.0, -2.0 * libm::tan(slope)]];
    trial.course.start_m = 0.0;
    trial.course.snags.clear();
    trial.driver.motion = crate::files::driver::Motion::ByTime(vec![[0.0, 0.0], [1.0, 0.0]]);
    // A servo that moves may take the receiver its voltage, and with it the brake.
    trial.driver.steer.clear();
    trial.driver.lost_s.clear();
    trial.driver.retunes.clear();
    let drag = &scenario.tune.drag;
    let brake_on_s = (scenario.tune.mode.arm_ms + drag.delay_ms + drag.onset_ms) / 1_000.0;
    let mut simulation = Simulation::new(&trial, method.step_s)?;
    let mut control = make(&trial)?;
    simulation.hold_still(f64::from(brake_on_s) + 0.2, control.as_mut());
    let ticks = (5.0 / simulation.tick_s()).round() as usize;
    let start_m = simulation.state.now.place_m;
    let mut last_second_m = start_m;
    for tick in 0..ticks {
        if tick * 5 == ticks * 4 {
            last_second_m = simulation.state.now.place_m;
        }
        take(simulation.tick_with(control.as_mut())?);
    }
    let end_m = simulation.state.now.place_m;
    Ok(Creep {
        speed_m_s: end_m - last_second_m,
        rolled_m: end_m - start_m,
        fault: control.fault(),
    })
}
