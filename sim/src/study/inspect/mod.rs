//! Looking over a rig and its tune before anything is driven: what does not go together.
//!
//! Each check is a small function in the file of its subject. It says nothing where all is well, or
//! where the rig file does not give what it needs; [`unchecked`] names what that is.

mod pack;
mod servo;
mod wiring;
mod current;
mod heat;
mod direction;
pub(crate) mod slope;
mod speed;
mod teeth;
pub mod first_power;

use easeoff_plant::heating::Temperatures;
use easeoff_plant::rig::Rig;
use easeoff_plant::steady::{Pull, Steady};
use serde::Serialize;

use crate::digits::digits;
use crate::files::scenario::Scenario;
use crate::run::controller::Own;
use crate::run::creep::{Creep, creep};
use crate::run::{Method, RunError};
use crate::study::gearing::row::{Pinion, Trial};

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// Something will be damaged or run away: not to be powered like this.
    Wrong,
    /// It may be meant, and may go well; look again.
    Doubtful,
    /// Good to know.
    Note,
}

impl Severity {
    /// As it is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::Wrong => "wrong",
            Self::Doubtful => "doubtful",
            Self::Note => "note",
        }
    }
}

/// Something found.
#[derive(Clone, Debug, Serialize)]
pub struct Finding {
    /// What was looked at.
    pub what: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// The number, with unit.
    pub is: String,
    /// Its limit, with unit.
    pub limit: String,
    /// What that means, in a sentence.
    pub says: String,
    /// Where the limit comes from.
    pub source: &'static str,
    /// What can happen to people or parts.
    pub caution: &'static str,
    /// What to do.
    pub remedy: String,
}

/// Limits without a publication behind them.
pub(crate) const PRACTICE: &str = "common practice, no source";
/// Limits that follow from the rig's own numbers.
pub(crate) const ALGEBRA: &str = "algebra of the rig's own numbers";
/// Limits that the file gives.
pub(crate) const GIVEN: &str = "the rating in the rig file";

/// A rig and its tune, with what the checks ask of them in common.
#[derive(Clone, Debug)]
pub struct Subject<'s> {
    /// Rig, tune, course and driver.
    pub scenario: &'s Scenario,
    /// The slope it is to stand on \[degrees\].
    pub slope_deg: f64,
    /// Current of the motor held fast at full duty \[A\].
    pub stall_a: f64,
    /// The greatest motor current while driving \[A\]: the limit, or that of the motor held fast.
    pub drive_a: f64,
    /// The greatest motor current while braking \[A\]: the limit, or the motor shorted at full speed.
    pub brake_a: f64,
    /// The rig's own pinion on that slope.
    pub pinion: Pinion,
    /// How it creeps there, the drag brake fully on.
    pub creep: Creep,
}

impl<'s> Subject<'s> {
    /// Computes it.
    ///
    /// # Errors
    /// When the trial of creeping cannot be finished.
    pub fn new(scenario: &'s Scenario, method: Method) -> Result<Self, RunError> {
        let (rig, limits) = (&scenario.rig, &scenario.tune.limits);
        let (steady, cold) = (Steady::new(rig), Temperatures::cold(rig));
        let stall_a = steady.at_speed(1.0, 0.0, &cold, Pull::AtOnce).motor_a;
        let free_rad_s = steady.under(1.0, &cold, |_| 0.0).map_or(0.0, |point| point.motor_rad_s);
        let shorted_a = -steady.at_speed(0.0, free_rad_s, &cold, Pull::AtOnce).motor_a;
        // A limit whose sensor is missing does nothing.
        let least = |limit: Option<f32>, most: f64| match limit {
            Some(limit) if rig.board.current_sensor => most.min(limit.into()),
            _ => most,
        };
        // A radio that rests elsewhere has its own finding.
        let mut at_neutral = scenario.clone();
        at_neutral.driver.radio.neutral_us = scenario.tune.calibration.neutral_us.into();
        let trial = Trial::of(scenario, Some(method.creep_slope_deg));
        Ok(Self {
            scenario,
            slope_deg: method.creep_slope_deg,
            stall_a,
            drive_a: least(limits.drive_a, stall_a),
            brake_a: least(limits.brake_a, shorted_a),
            pinion: Pinion::on(rig, rig.gears.pinion_teeth, &trial),
            creep: creep(&at_neutral, method, &Own::make)?,
        })
    }

    /// The rig.
    pub fn rig(&self) -> &'s Rig {
        &self.scenario.rig
    }
}

/// A check: what it finds, or nothing.
type Check = fn(&Subject<'_>) -> Vec<Finding>;

/// All checks, in the order of a look from the pack to the wheels.
const CHECKS: [Check; 21] = [
    pack::cells,
    pack::chemistry,
    pack::cut_off,
    pack::bridge_voltage,
    servo::voltage,
    servo::stall,
    servo::dropout,
    wiring::wire,
    wiring::connector,
    current::unlimited,
    current::unseen,
    current::ratings,
    heat::insulation,
    heat::magnets,
    heat::unseen,
    direction::reverse,
    direction::neutral,
    slope::all,
    speed::full_throttle,
    teeth::mesh,
    teeth::load,
];

/// Everything found, the worst first.
pub fn examine(subject: &Subject<'_>) -> Vec<Finding> {
    let mut found: Vec<Finding> = CHECKS.iter().flat_map(|check| check(subject)).collect();
    found.sort_by_key(|finding| finding.severity);
    found
}

/// What the rig file does not give, so that it was not looked at.
pub fn unchecked(rig: &Rig) -> Vec<&'static str> {
    let mesh = rig.mesh.as_ref();
    let missing = [
        ("pack.label_v", rig.pack.label_v.is_none()),
        ("pack.rated_a", rig.pack.rated_a.is_none()),
        ("pack.connector_a", rig.pack.connector_a.is_none()),
        ("pack.wire_awg", rig.pack.wire_awg.is_none()),
        ("bridge.rated_v", rig.bridge.rated_v.is_none()),
        ("bridge.rated_a", rig.bridge.rated_a.is_none()),
        ("motor.rated_a", rig.motor.rated_a.is_none()),
        ("motor.magnet_grade", rig.motor.magnet_limit_c.is_none()),
        ("[steering]", rig.steering.is_none()),
        ("[mesh]", mesh.is_none()),
        ("mesh.face_width_mm", mesh.is_some_and(|mesh| mesh.face_width_mm.is_none())),
        ("mesh.pinion_allowable_mpa", mesh.is_some_and(|mesh| mesh.pinion_allowable_mpa.is_none())),
        ("mesh.spur_allowable_mpa", mesh.is_some_and(|mesh| mesh.spur_allowable_mpa.is_none())),
        ("mesh.centre_least_mm", mesh.is_some_and(|mesh| mesh.slot_mm.is_none())),
    ];
    missing.into_iter().filter(|(_, missing)| *missing).map(|(key, _)| key).collect()
}

/// A number with its unit.
fn with(number: f64, unit: &str) -> String {
    format!("{} {unit}", digits(number))
}
