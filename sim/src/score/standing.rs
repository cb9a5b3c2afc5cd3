//! Scores of staying where it is, and upright.

use easeoff_plant::level_loads_n;

use super::list::rows;
use super::{Better, Kind, Meaning, Measured, Needs, Said, ScoreRow, Value};

rows! {
    /// How fast it creeps on a slope.
    CREEP = ScoreRow {
        meaning: Meaning {
            name: "creep",
            unit: "mm/s",
            definition: "steady speed on the stated slope with neutral throttle and the drag brake fully on",
            better: Better::Less,
        },
        needs: Needs::CreepTrial,
        measure: |m| Value::from(m.creep().map(|creep| creep.speed_m_s * 1_000.0)),
        said: Said {
            kind: Kind::Differs(1.0, "mm/s"),
            more: "creeps {} faster on the slope",
            less: "creeps {} slower on the slope",
            happens: None,
        },
    };

    /// How far it gets there.
    ROLL_AWAY = ScoreRow {
        meaning: Meaning {
            name: "roll-away",
            unit: "m",
            definition: "distance in the first 5 s on that slope, from rest, the drag brake fully on",
            better: Better::Less,
        },
        needs: Needs::CreepTrial,
        measure: |m| Value::from(m.creep().map(|creep| creep.rolled_m)),
        said: Said {
            kind: Kind::Differs(100.0, "cm"),
            more: "rolls away {} farther in 5 s on the slope",
            less: "rolls away {} less in 5 s on the slope",
            happens: None,
        },
    };

    /// How near it is to lifting a pair of wheels.
    TIP_MARGIN = ScoreRow {
        meaning: Meaning {
            name: "tip margin",
            unit: "-",
            definition: "least axle load over the run / that axle's load at rest on the level; 0 means a wheel pair lifts",
            better: Better::More,
        },
        needs: Needs::Nothing,
        measure: |m| Value::Is(least_load(m)),
        said: Said {
            kind: Kind::Differs(100.0, "percentage points"),
            more: "keeps {} more load on its lighter axle",
            less: "keeps {} less load on its lighter axle",
            happens: None,
        },
    };
}

fn least_load(m: &Measured<'_>) -> f64 {
    let [front_n, rear_n] = level_loads_n(&m.scenario.rig.vehicle);
    let loads = m.run.rows.iter().map(|row| {
        let (front, rear) = (row.flows.front_n / front_n, row.flows.rear_n / rear_n);
        front.min(rear)
    });
    loads.fold(f64::INFINITY, f64::min)
}
