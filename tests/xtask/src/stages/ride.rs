//! The demo rig on a made-up course: the controller in the simulator's loop.

use easeoff::draw::chart::Series;
use easeoff::draw::run::line;
use easeoff_plant::course::{AfterBreak, Course, Snag, Surface};
use easeoff_sim::files::demo;
use easeoff_sim::files::driver::Motion;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::palette::Colour;
use easeoff_sim::run::{DEFAULT_STEP_S, Row, simulate};

use super::Failure;

/// The demo rig and tune, open loop, on level ground; the driver's throttle over time.
pub(crate) fn level(throttle: &[[f64; 2]], duration_s: f64) -> Result<Scenario, Failure> {
    slope(0.0, throttle, duration_s)
}

/// The same on a slope, falling forward.
pub(crate) fn slope(
    degrees: f64,
    throttle: &[[f64; 2]],
    duration_s: f64,
) -> Result<Scenario, Failure> {
    let mut scenario = demo::scenario("snag").ok_or("the demo snag is broken")?;
    let fall = degrees.to_radians();
    let grade = libm::sin(fall) / libm::cos(fall);
    let surface = Surface { grip: 0.8, grip_sliding: 0.75, ..Surface::default() };
    scenario.course = Course {
        profile_m: vec![[-1.0, grade], [60.0, -60.0 * grade]],
        rough: None,
        start_m: 0.0,
        surfaces: vec![surface],
        snags: Vec::new(),
    };
    scenario.driver.duration_s = duration_s;
    scenario.driver.motion = Motion::ByTime(throttle.into());
    scenario.tune.hold = None;
    Ok(scenario)
}

/// Something that catches at a place and then drags with a torque.
pub(crate) fn dragging(at_m: f64, stiffness_n_m_per_rad: f64, break_n_m: f64) -> Snag {
    Snag { at_m, stiffness_n_m_per_rad, break_n_m, then: AfterBreak::Stays }
}

/// Drives it.
pub(crate) fn drive(scenario: &Scenario) -> Result<Vec<Row>, Failure> {
    Ok(simulate(scenario, DEFAULT_STEP_S)?.rows)
}

/// A line over the seconds since `start_s`.
pub(crate) fn since(
    rows: &[Row],
    start_s: f64,
    name: &str,
    colour: Colour,
    value: impl Fn(&Row) -> f64,
) -> Series {
    line(rows, name, colour, |_, row| value(row), |row| row.time_s - start_s)
}

/// When something first happens, in seconds since `start_s`.
pub(crate) fn first(
    rows: &[Row],
    start_s: f64,
    happens: impl Fn(&Row) -> bool,
) -> Result<f64, Failure> {
    let found = rows.iter().find(|row| happens(row));
    found
        .map(|row| row.time_s - start_s)
        .ok_or_else(|| "the picture's story does not happen".into())
}
