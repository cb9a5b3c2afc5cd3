//! Scores of a load that comes on the way: what it takes, and what of that the driver sees.

use super::episode::{self, LEAST_DROP, Load, STEADY_S, mean_wheel_speed};
use super::list::rows;
use super::{Better, Kind, Meaning, Measured, Needs, Said, ScoreRow, Value};
use crate::run::{Row, Run};

rows! {
    /// How much speed the load takes.
    SPEED_DROP = ScoreRow {
        meaning: Meaning {
            name: "speed drop",
            unit: "-",
            definition: "(steady wheel speed before the load - under it) / before",
            better: Better::Depends,
        },
        needs: Needs::Nothing,
        measure: |m| Value::from(m.load.map(|load| lost(m.run, &load))),
        said: Said {
            kind: Kind::Differs(100.0, "percentage points"),
            more: "loses {} more speed under load",
            less: "loses {} less speed under load",
            happens: None,
        },
    };

    /// How much of that the speed hold hides.
    MASKING = ScoreRow {
        meaning: Meaning {
            name: "masking",
            unit: "-",
            definition: "1 - speed drop / speed drop of the same run by easeoff with speed hold off; 0: the driver sees all of it, 1: hidden",
            better: Better::Less,
        },
        needs: Needs::HoldOff,
        measure: |m| Value::from(m.load.and_then(|load| hidden(m, &load))),
        said: Said {
            kind: Kind::Differs(100.0, "percentage points"),
            more: "hides {} more of the load from the driver",
            less: "hides {} less of the load from the driver",
            happens: None,
        },
    };

    /// When the driver acts.
    NOTICE_TIME = ScoreRow {
        meaning: Meaning {
            name: "notice time",
            unit: "s",
            definition: "from the load's start until speed has been 7 % below its earlier value for 0.2 s, plus \
                         0.75 s to react",
            better: Better::Less,
        },
        needs: Needs::Nothing,
        measure: |m| match m.load {
            None => Value::NotInThisRun,
            Some(Load { noticed: None, .. }) => Value::Never,
            Some(Load { noticed: Some(at), start, .. }) => {
                Value::Is((at - start) as f64 * m.run.tick_s)
            }
        },
        said: Said {
            kind: Kind::Differs(1.0, "s"),
            more: "is noticed {} later",
            less: "is noticed {} sooner",
            happens: Some("is noticed"),
        },
    };

    /// What the drive line takes before that.
    HIDDEN_TORQUE = ScoreRow {
        meaning: Meaning {
            name: "hidden torque",
            unit: "N m",
            definition: "peak drive-line torque from the load's start until notice time, or its end",
            better: Better::Less,
        },
        needs: Needs::Nothing,
        measure: |m| {
            let peak = |rows: &[Row]| rows.iter().map(|r| r.flows.shaft_n_m.abs()).fold(0.0, f64::max);
            Value::from(unseen(m).map(peak))
        },
        said: Said {
            kind: Kind::Differs(1.0, "N m"),
            more: "winds up {} more before anybody notices",
            less: "winds up {} less before anybody notices",
            happens: None,
        },
    };

    /// What the winding takes before that.
    HIDDEN_HEAT = ScoreRow {
        meaning: Meaning {
            name: "hidden heat",
            unit: "J",
            definition: "heat in the winding from the load's start until notice time, or its end",
            better: Better::Less,
        },
        needs: Needs::Nothing,
        measure: |m| {
            let heat = |rows: &[Row]| rows.iter().map(|r| r.flows.winding_w * m.run.tick_s).sum();
            Value::from(unseen(m).map(heat))
        },
        said: Said {
            kind: Kind::Differs(1.0, "J"),
            more: "puts {} more heat into the winding unseen",
            less: "puts {} less heat into the winding unseen",
            happens: None,
        },
    };
}

/// Another controller that comes to the load with a speed further than this from easeoff's does not meet
/// it alike: no masking is told from the two.
const SAME_PACE: f64 = 0.3;

/// The part of the speed that a load takes.
fn lost(run: &Run, load: &Load) -> f64 {
    let window = ((STEADY_S / run.tick_s) as usize).min(load.end - load.start);
    let under = load.along * mean_wheel_speed(run, load.end - window, load.end);
    (load.before_m_s - under) / load.before_m_s.max(1.0e-9)
}

fn hidden(m: &Measured<'_>, load: &Load) -> Option<f64> {
    let with = lost(m.run, load);
    let without = if m.may_hide() {
        let open = m.extra.hold_off.as_ref()?;
        let met = episode::load(open).filter(|met| {
            let apart_m_s = (met.before_m_s - load.before_m_s).abs();
            !m.run.driven.foreign || apart_m_s < SAME_PACE * met.before_m_s
        })?;
        lost(open, &met)
    } else {
        with
    };
    (without > LEAST_DROP).then(|| 1.0 - with / without)
}

/// The rows in which the driver has not acted yet.
fn unseen<'r>(m: &Measured<'r>) -> Option<&'r [Row]> {
    let load = m.load?;
    Some(&m.run.rows[load.start..load.noticed.unwrap_or(load.end).max(load.start + 1)])
}
