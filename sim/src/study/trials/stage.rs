//! The ground, the throttle and the measuring that the trials have in common.

use easeoff_core::Settings;
use easeoff_plant::course::{Course, Surface};
use easeoff_plant::heating::Temperatures;
use easeoff_plant::rig::Rig;
use easeoff_plant::steady::Steady;

use super::Tried;
use crate::files::driver::{Driver, Motion, Radio};
use crate::files::scenario::Scenario;
use crate::run::controller::Make;
use crate::run::{Method, Run, RunError, simulate_by};
use crate::score::{Score, ScoreRow};
use crate::study::measured::Measuring;

/// A rig, a tune and a controller on trial.
#[derive(Clone)]
pub struct Subject<'m> {
    /// The rig.
    pub rig: Rig,
    /// Its tune.
    pub tune: Settings,
    /// The plant's step, and the slope of the trials that have one.
    pub method: Method,
    /// Makes the controller; easeoff's own is `&Own::make`.
    pub make: &'m Make<'m>,
}

/// Once neutral was long enough: so much later the driver begins \[s\].
const AFTER_ARMING_S: f64 = 0.3;
/// How long a driver takes to let go of the throttle \[s\].
pub(crate) const LETS_GO_S: f64 = 0.02;
/// How long it takes to pull the throttle where it wants it, without haste \[s\].
pub(crate) const PULLS_S: f64 = 0.4;

/// Dry and firm: grip of asphalt (Wong, Theory of Ground Vehicles, second hand), rolling resistance
/// assumed.
const GROUND: Surface = Surface { from_m: -1.0, grip: 0.80, grip_sliding: 0.75, rolling: 0.03 };

impl Subject<'_> {
    /// When the driver first moves \[s\].
    pub(crate) fn begins_s(&self) -> f64 {
        f64::from(self.tune.mode.arm_ms) / 1_000.0 + AFTER_ARMING_S
    }

    /// Speed with nothing to pull, at full throttle \[m/s\].
    pub fn top_m_s(&self) -> f64 {
        let free = Steady::new(&self.rig).under(1.0, &Temperatures::cold(&self.rig), |_| 0.0);
        free.map_or(0.1, |point| point.wheel_rad_s * self.rig.wheels.radius_m)
    }

    /// Time in which any rig is at speed, and with both axles past an edge \[s\].
    pub(crate) fn settles_s(&self) -> f64 {
        2.0 + 4.0 * self.rig.vehicle.wheelbase_m / self.top_m_s()
    }

    /// Where it is once `throttle` has been held for most of the time to settle, on level ground with nothing in the way
    /// \[m\]: an obstacle there is met at the speed that this tune and controller really have. Not less than a wheel's
    /// radius, for one that does not move.
    pub(crate) fn up_to_speed_m(&self, throttle: f64) -> Result<f64, RunError> {
        let duration_s = self.begins_s() + PULLS_S + 0.75 * self.settles_s();
        let ground = self.ground(0.0, 0.0, duration_s);
        let run = self.drive(&self.scenario(ground, self.pulled(throttle), duration_s))?;
        let place_m = run.rows.last().map_or(0.0, |row| row.plant.now.place_m);
        Ok(place_m.max(self.rig.wheels.radius_m))
    }

    /// Far enough for a drive of so long \[m\].
    fn reach_m(&self, seconds: f64) -> f64 {
        1.5 * self.top_m_s() * seconds + 10.0 * self.rig.vehicle.wheelbase_m
    }

    /// The throttle pulled to `throttle` and held, from the first moment on.
    pub fn pulled(&self, throttle: f64) -> Vec<[f64; 2]> {
        let begins_s = self.begins_s();
        vec![[0.0, 0.0], [begins_s, 0.0], [begins_s + PULLS_S, throttle]]
    }

    /// Level ground, and from `edge_m` on a slope \[degrees, uphill positive\] without an end.
    pub fn ground(&self, edge_m: f64, slope_deg: f64, seconds: f64) -> Vec<[f64; 2]> {
        let end_m = edge_m + self.reach_m(seconds);
        let rise = libm::tan(slope_deg.to_radians()) * (end_m - edge_m);
        vec![[-self.reach_m(1.0), 0.0], [edge_m, 0.0], [end_m, rise]]
    }

    /// This rig and tune over a profile, driven by a throttle over time.
    pub fn scenario(
        &self,
        profile_m: Vec<[f64; 2]>,
        throttle: Vec<[f64; 2]>,
        duration_s: f64,
    ) -> Scenario {
        let pulses = &self.tune.calibration;
        let forward = if pulses.reversed { pulses.low_us } else { pulses.high_us };
        Scenario {
            rig: self.rig.clone(),
            tune: self.tune,
            course: Course {
                surfaces: vec![Surface { from_m: profile_m[0][0], ..GROUND }],
                profile_m,
                rough: None,
                start_m: 0.0,
                snags: Vec::new(),
            },
            driver: Driver {
                duration_s,
                motion: Motion::ByTime(throttle),
                steer: Vec::new(),
                // A radio that the tune was calibrated for.
                radio: Radio {
                    frame_ms: 20.0,
                    neutral_us: pulses.neutral_us.into(),
                    travel_us: f64::from(forward - pulses.neutral_us),
                    jitter_us: 0.0,
                    missing_share: 0.0,
                },
                lost_s: Vec::new(),
                retunes: Vec::new(),
            },
        }
    }

    /// Drives.
    pub fn drive(&self, scenario: &Scenario) -> Result<Run, RunError> {
        simulate_by(scenario, self.method.step_s, (self.make)(scenario)?.as_mut())
    }

    /// Drives, and takes these of the usual scores.
    pub fn tried(
        &self,
        scenario: Scenario,
        wanted: &[&'static ScoreRow],
    ) -> Result<Tried, RunError> {
        let run = self.drive(&scenario)?;
        let &Self { method, make, .. } = self;
        let found = Measuring { method, make, alike: None }.of(&scenario, &run, wanted)?;
        let taken =
            |score: &&Score| wanted.iter().any(|row| row.meaning.name == score.meaning.name);
        let scores = found.list.iter().filter(taken).copied().collect();
        let mut marks = Vec::new();
        let mut mark = |row: Option<usize>, words: &str| {
            if let Some(row) = row.and_then(|row| run.rows.get(row)) {
                marks.push((row.time_s, words.to_owned()));
            }
        };
        mark(found.let_off.map(|found| found.start), "lets go");
        mark(found.let_off.and_then(|found| found.stop), "stops");
        mark(found.load.map(|found| found.start), "load begins");
        mark(found.load.and_then(|found| found.noticed), "driver notices");
        Ok(Tried { scenario, run, scores, marks, shown_s: None })
    }
}
