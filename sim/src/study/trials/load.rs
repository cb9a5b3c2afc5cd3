//! Something holds the wheels back: at once, or more and more.

use easeoff_plant::course::{AfterBreak, Snag};

use super::stage::Subject;
use super::{Shown, Trial, Tried};
use crate::run::RunError;
use crate::score::{HIDDEN_HEAT, HIDDEN_TORQUE, MASKING, NOTICE_TIME, SPEED_DROP, ScoreRow};

const TAKEN: [&ScoreRow; 5] = [&SPEED_DROP, &MASKING, &NOTICE_TIME, &HIDDEN_TORQUE, &HIDDEN_HEAT];
const THROTTLE: f64 = 0.32;

/// A load that comes at once and stays.
pub(super) const STEP: Trial = Trial {
    name: "A load at once",
    file: "load-at-once",
    asks: "Does a load that comes and stays show in the speed?",
    how: |subject| {
        format!(
            "Level ground, throttle held at 32 %; a drag of {} N m, 40 % of the drive line's rating, comes on \
             within half a radian of the wheels.",
            crate::digits::digits(0.4 * subject.rig.gears.rating_n_m)
        )
    },
    shown: Shown::TORQUE,
    run: |subject| under_load(subject, 0.4, 0.5),
};

/// A snag that winds up until a part breaks.
pub(crate) const SNAG: Trial = Trial {
    name: "A snag that tightens",
    file: "snag",
    asks: "Does the driver notice before a part breaks?",
    how: |subject| {
        format!(
            "Level ground, throttle held at 32 %; something winds itself round an axle, up to {} N m, 125 % of \
             the drive line's rating, within three turns of the wheels. The driver does not move: \"driver notices\" \
             says when a driver who sees the speed would.",
            crate::digits::digits(1.25 * subject.rig.gears.rating_n_m)
        )
    },
    shown: Shown::TORQUE,
    run: |subject| under_load(subject, 1.25, 6.0 * std::f64::consts::PI),
};

/// A snag that stands `share` of the rating and is there after so much wheel rotation.
fn under_load(subject: &Subject<'_>, share: f64, within_rad: f64) -> Result<Tried, RunError> {
    let duration_s = subject.begins_s() + subject.settles_s() + 6.0;
    let break_n_m = share * subject.rig.gears.rating_n_m;
    let ground = subject.ground(0.0, 0.0, duration_s);
    let mut scenario = subject.scenario(ground, subject.pulled(THROTTLE), duration_s);
    scenario.course.snags.push(Snag {
        at_m: subject.up_to_speed_m(THROTTLE)?,
        stiffness_n_m_per_rad: break_n_m / within_rad,
        break_n_m,
        then: AfterBreak::Stays,
    });
    subject.tried(scenario, &TAKEN)
}
