//! Climbing a step.

use super::{Shown, Trial, Tried};
use crate::run::Run;
use crate::score::{Better, Meaning, Score, TIP_MARGIN, UTILISATION, Value};

/// Height of the step / wheel radius.
const HIGH: f64 = 0.5;
const THROTTLE: f64 = 0.3;

/// How long the step takes.
pub(crate) static CLIMB_TIME: Meaning = Meaning {
    name: "climb time",
    unit: "s",
    definition: "from front wheels at the step to rear wheels over it",
    better: Better::Depends,
};

/// What the step takes of the speed.
pub(crate) static SPEED_LOST: Meaning = Meaning {
    name: "speed lost",
    unit: "-",
    definition: "1 - least speed on the step / speed as it meets the step; over 1: it is thrown back",
    better: Better::Depends,
};

/// How it shoots off behind the step.
pub(crate) static SURGE: Meaning = Meaning {
    name: "surge",
    unit: "-",
    definition: "greatest speed behind the step / speed as it meets the step - 1: what the speed loop pushed and \
                 has not yet taken back, and the throw of the step itself",
    better: Better::Depends,
};

/// Up a step of half a wheel's radius.
pub(super) const STEP: Trial = Trial {
    name: "Climb a step",
    file: "climb-step",
    asks: "Does it get up a step, and what does the drive line feel?",
    how: |subject| {
        format!(
            "At 30 % throttle, not touched again, against a step of {:.0} mm: half the wheels' radius.",
            HIGH * subject.rig.wheels.radius_m * 1_000.0
        )
    },
    shown: Shown::TORQUE,
    run: |subject| {
        let (radius_m, wheelbase_m) =
            (subject.rig.wheels.radius_m, subject.rig.vehicle.wheelbase_m);
        let duration_s = subject.begins_s() + 2.0 * subject.settles_s();
        let foot_m = subject.up_to_speed_m(THROTTLE)? + wheelbase_m / 2.0;
        let mut ground = subject.ground(foot_m, 0.0, duration_s);
        let (high_m, end_m) = (HIGH * radius_m, ground[2][0]);
        ground.truncate(2);
        // As upright as a profile may be: 60 degrees.
        ground.extend([[foot_m + high_m / 1.7, high_m], [end_m, high_m]]);
        let scenario = subject.scenario(ground, subject.pulled(THROTTLE), duration_s);
        let mut tried = subject.tried(scenario, &[&UTILISATION, &TIP_MARGIN])?;
        let [from_m, to_m] =
            [foot_m - wheelbase_m / 2.0 - radius_m, foot_m + wheelbase_m / 2.0 + radius_m];
        let reached =
            |place_m: f64| tried.run.rows.iter().position(|r| r.plant.now.place_m >= place_m);
        let met = reached(from_m);
        let over = reached(to_m);
        let marks = [(met, "step"), (over, "over")];
        let time_s = |row: usize| tried.run.rows[row].time_s;
        let marks =
            marks.into_iter().filter_map(|(row, words)| row.map(|row| (time_s(row), words.into())));
        let mut scores = climbing(&tried.run, met, over);
        scores.append(&mut tried.scores);
        Ok(Tried { marks: marks.collect(), scores, ..tried })
    },
};

fn climbing(run: &Run, met: Option<usize>, over: Option<usize>) -> Vec<Score> {
    let speed = |row: usize| run.rows[row].speed_m_s();
    let time = met.map_or(Value::NotInThisRun, |met| {
        over.map_or(Value::Never, |over| Value::Is((over - met) as f64 * run.tick_s))
    });
    let surge = met.zip(over).map(|(met, over)| {
        (over..run.rows.len()).map(speed).fold(0.0, f64::max) / speed(met).max(1.0e-9) - 1.0
    });
    let slowest = met.map(|met| {
        let least = (met..over.unwrap_or(run.rows.len())).map(speed).fold(f64::INFINITY, f64::min);
        1.0 - least / speed(met).max(1.0e-9)
    });
    vec![CLIMB_TIME.is(time), SPEED_LOST.is(Value::from(slowest)), SURGE.is(Value::from(surge))]
}
