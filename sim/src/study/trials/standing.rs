//! Standing on a slope.

use super::{Shown, Trial, Tried};
use crate::run::creep::creep_by;
use crate::run::{Driven, End, Run};
use crate::score::{CREEP, ExtraRuns, Measured, ROLL_AWAY};

/// The drag brake holds, or does not.
pub(crate) const SLOPE: Trial = Trial {
    name: "Hold on a slope",
    file: "hold-slope",
    asks: "Let go on a slope with the brake on, how far does it creep away?",
    how: |subject| {
        format!(
            "Held still {} degrees downhill until the drag brake is fully on, then let go of for 5 s. A \
             shorted motor brakes in proportion to speed: it slows a rig and cannot hold it.",
            subject.method.creep_slope_deg
        )
    },
    shown: Shown {
        label: "rolled, cm",
        values: |tried| {
            let start_m = tried.run.rows.first().map_or(0.0, |row| row.plant.now.place_m);
            tried.run.rows.iter().map(|row| (row.plant.now.place_m - start_m) * 100.0).collect()
        },
        level: |_| None,
        bottom: None,
        least_span: None,
        from_start: true,
    },
    run: |subject| {
        let throttle = vec![[0.0, 0.0], [1.0, 0.0]];
        let scenario = subject.scenario(subject.ground(0.0, 0.0, 1.0), throttle, 5.0);
        let mut rows = Vec::new();
        let mut creep = creep_by(&scenario, subject.method, subject.make, |row| rows.push(row))?;
        // Here it is the run's own, and what the rig did is measured whoever braked.
        let driven = Driven { fault: creep.fault.take(), ..Driven::default() };
        let tick_s = 1.0 / f64::from(subject.rig.board.tick_hz);
        let run = Run { rows, tick_s, end: End::Duration, driven };
        let extra = ExtraRuns { creep: Some(creep), ..ExtraRuns::default() };
        let measured = Measured::new(&scenario, &run).with(extra);
        let scores = [&CREEP, &ROLL_AWAY].map(|row| row.meaning.is((row.measure)(&measured)));
        Ok(Tried { scores: scores.into(), scenario, run, marks: Vec::new(), shown_s: None })
    },
};
