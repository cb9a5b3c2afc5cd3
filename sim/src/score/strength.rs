//! Scores of what the parts take: torque and heat.

use easeoff_core::Mode;
use easeoff_plant::heating::{Temperatures, heating};
use easeoff_plant::state::State;

use super::list::rows;
use super::{Better, Kind, Meaning, Measured, Needs, Said, ScoreRow, Value};
use crate::run::Row;

rows! {
    /// How near the drive line is to breaking.
    UTILISATION = ScoreRow {
        meaning: Meaning {
            name: "utilisation",
            unit: "-",
            definition: "peak torque in the drive line / its rating; over 1 is a failure",
            better: Better::Less,
        },
        needs: Needs::Nothing,
        measure: |m| {
            let torques = m.run.rows.iter().map(|row| row.flows.shaft_n_m.abs());
            Value::Is(torques.fold(0.0, f64::max) / m.scenario.rig.gears.rating_n_m)
        },
        said: Said {
            kind: Kind::Differs(100.0, "% of the rating"),
            more: "loads the drive line {} more",
            less: "loads the drive line {} less",
            happens: None,
        },
    };

    /// How long until winding or bridge is too hot.
    HEAT_TIME = ScoreRow {
        meaning: Meaning {
            name: "heat time",
            unit: "s",
            definition: "until winding or bridge reaches its limit if the run's mean heat went on, from its end",
            better: Better::More,
        },
        needs: Needs::Nothing,
        measure: heat_time,
        said: Said {
            kind: Kind::Differs(1.0, "s"),
            more: "is too hot {} later",
            less: "is too hot {} sooner",
            happens: Some("gets too hot"),
        },
    };
}

fn heat_time(m: &Measured<'_>) -> Value {
    let rows: Vec<&Row> =
        m.run.rows.iter().filter(|row| !matches!(row.mode(), Mode::Disarmed)).collect();
    let Some(last) = rows.last() else { return Value::NotInThisRun };
    let mean_w =
        |heat: fn(&Row) -> f64| rows.iter().map(|row| heat(row)).sum::<f64>() / rows.len() as f64;
    let (winding_w, bridge_w) =
        (mean_w(|row| row.flows.winding_w), mean_w(|row| row.flows.bridge_w));
    let State { winding_c, case_c, bridge_c, .. } = last.plant.now;
    let now = Temperatures { winding_c, case_c, bridge_c };
    let limit_s = heating(&m.scenario.rig, now, |_| [winding_w, bridge_w]).limit_s;
    limit_s.map_or(Value::Never, Value::Is)
}
