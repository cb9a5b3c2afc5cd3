//! The signal goes, and comes back with the throttle still open.

use easeoff_core::Command;

use super::{Shown, Trial, Tried};
use crate::run::{Row, Run};
use crate::score::{Better, Meaning, Score, Value};

/// How long the signal is gone \[s\].
const GONE_S: f64 = 1.0;
const THROTTLE: f64 = 0.5;

/// How soon it stops driving.
pub(crate) static TIME_TO_SAFE_STATE: Meaning = Meaning {
    name: "time to the safe state",
    unit: "s",
    definition: "from the signal's end until nothing drives",
    better: Better::Depends,
};

/// How far it gets meanwhile.
pub(crate) static WAY_WITHOUT_SIGNAL: Meaning = Meaning {
    name: "way without a signal",
    unit: "m",
    definition: "from the signal's end until |v| < 0.01 m/s, if within 4 s",
    better: Better::Depends,
};

/// Whether it drives before it may.
pub(crate) static DRIVES_UNASKED: Meaning = Meaning {
    name: "drives unasked",
    unit: "s",
    definition: "time in which it drives after the safe state, or without one after the loss, before the throttle was \
                 let go; must be 0",
    better: Better::Depends,
};

/// Whether it drives once it may.
pub(crate) static ANSWERS_AGAIN: Meaning = Meaning {
    name: "answers after letting go",
    unit: "s",
    definition: "from the throttle's second opening, after it had been let go, until it drives",
    better: Better::Depends,
};

/// The signal is lost at half throttle.
pub const LOST: Trial = Trial {
    name: "A lost signal",
    file: "lost-signal",
    asks: "What does it do without a signal, and when the signal is back?",
    how: |_| {
        "Level ground, half throttle; the signal is gone for 1 s and comes back with the throttle still open; \
         3 s later the throttle is let go, and opened again."
            .into()
    },
    shown: Shown {
        label: "duty, and brake share below 0 (1 is all)",
        values: |tried| tried.run.rows.iter().map(Row::commanded).collect(),
        level: |_| None,
        bottom: None,
        least_span: None,
        from_start: false,
    },
    run: |subject| {
        let lost_s = subject.begins_s() + subject.settles_s();
        let (back_s, neutral_s) = (lost_s + GONE_S, lost_s + GONE_S + 3.0);
        let again_s = neutral_s + f64::from(subject.tune.mode.arm_ms) / 1_000.0 + 0.3;
        let duration_s = again_s + 1.0;
        let mut throttle = subject.pulled(THROTTLE);
        throttle.extend([
            [neutral_s, THROTTLE],
            [neutral_s + 0.02, 0.0],
            [again_s, 0.0],
            [again_s + 0.1, THROTTLE],
        ]);
        let ground = subject.ground(0.0, 0.0, duration_s);
        let mut scenario = subject.scenario(ground, throttle, duration_s);
        scenario.driver.lost_s = vec![[lost_s, back_s]];
        let tried = subject.tried(scenario, &[])?;
        let scores = losing(&tried.run, [lost_s, neutral_s, again_s]);
        let marks = [
            (lost_s, "signal gone"),
            (back_s, "back"),
            (neutral_s, "lets go"),
            (again_s, "throttle again"),
        ];
        let marks = marks.map(|(time_s, words)| (time_s, words.to_owned()));
        Ok(Tried { scores, marks: marks.into(), ..tried })
    },
};

fn drives(row: &Row) -> bool {
    matches!(row.command, Command::Drive { duty } if duty.to_f32() != 0.0)
}

fn losing(run: &Run, [lost_s, neutral_s, again_s]: [f64; 3]) -> Vec<Score> {
    let gone: Vec<&Row> = run.rows.iter().filter(|row| row.time_s >= lost_s).collect();
    let open: Vec<&&Row> = gone.iter().filter(|row| row.time_s < neutral_s).collect();
    let safe = open.iter().find(|row| !drives(row));
    // What never comes to a safe state drives unasked from the loss on.
    let safe_s = safe.map_or(lost_s, |safe| safe.time_s);
    let uncommanded = open.iter().filter(|row| row.time_s > safe_s && drives(row)).count();
    let from_m = gone.first().map_or(0.0, |row| row.plant.now.place_m);
    let stands = open.iter().find(|row| row.speed_m_s().abs() < crate::score::episode::STOPPED_M_S);
    let again = gone.iter().find(|row| row.time_s >= again_s && drives(row));
    vec![
        TIME_TO_SAFE_STATE.is(safe.map_or(Value::Never, |row| Value::Is(row.time_s - lost_s))),
        WAY_WITHOUT_SIGNAL
            .is(stands.map_or(Value::Never, |row| Value::Is(row.plant.now.place_m - from_m))),
        DRIVES_UNASKED.is(Value::Is(uncommanded as f64 * run.tick_s)),
        ANSWERS_AGAIN.is(again.map_or(Value::Never, |row| Value::Is(row.time_s - again_s))),
    ]
}
