//! Scores of letting go.

use std::ops::Range;

use super::episode::{LetOff, STOPPED_M_S};
use super::list::rows;
use super::{Better, Kind, Meaning, Measured, Needs, Said, ScoreRow, Value};

rows! {
    /// How hard it jerks as the brake comes in.
    LURCH = ScoreRow {
        meaning: Meaning {
            name: "lurch",
            unit: "m/s\u{b3}",
            definition: "largest |d(a)/dt| of the body from letting go until its speed has fallen to a quarter, a \
                         low-pass filtered at 10 Hz (2nd-order Butterworth, zero phase)",
            better: Better::Less,
        },
        needs: Needs::Nothing,
        measure: |m| {
            Value::from(m.let_off.map(|found| jerk(m, found.start..nod(m, found))))
        },
        said: Said {
            kind: Kind::Times("lurches", "does not lurch"),
            more: "lurches {} as hard",
            less: "lurches {} as hard",
            happens: None,
        },
    };

    /// How hard it jerks as it comes to stand.
    STOP_JOLT = ScoreRow {
        meaning: Meaning {
            name: "stop jolt",
            unit: "m/s\u{b3}",
            definition: "the same for the rest of the let-off: the last nod as the rig comes to stand",
            better: Better::Less,
        },
        needs: Needs::Nothing,
        measure: |m| Value::from(m.let_off.map(|found| jerk(m, nod(m, found)..found.end))),
        said: Said {
            kind: Kind::Times("nods at the end", "does not nod at the end"),
            more: "nods {} as hard at the end",
            less: "nods {} as hard at the end",
            happens: None,
        },
    };

    /// How hard it brakes.
    PEAK_DECELERATION = ScoreRow {
        meaning: Meaning {
            name: "peak deceleration",
            unit: "m/s\u{b2}",
            definition: "largest deceleration of the body within the let-off, filtered likewise",
            better: Better::Depends,
        },
        needs: Needs::Nothing,
        measure: |m| {
            let peak = |found: LetOff| {
                m.smooth()[found.start..found.end].iter().fold(0.0_f64, |a, b| a.max(-b))
            };
            Value::from(m.let_off.map(peak))
        },
        said: Said {
            kind: Kind::Differs(1.0, "m/s\u{b2}"),
            more: "slows down by up to {} harder",
            less: "slows down by up to {} softer",
            happens: None,
        },
    };

    /// How far it goes on.
    RUN_ON = ScoreRow {
        meaning: Meaning {
            name: "run-on",
            unit: "m",
            definition: "distance from the tick at which demand becomes neutral until |v| < 0.01 m/s for 0.2 s",
            better: Better::Less,
        },
        needs: Needs::Nothing,
        measure: |m| {
            let place = |index: usize| m.run.rows[index].plant.now.place_m;
            stopped(m, |start, stop| place(stop) - place(start))
        },
        said: Said {
            kind: Kind::Differs(100.0, "cm"),
            more: "stops {} later",
            less: "stops {} earlier",
            happens: Some("stops"),
        },
    };

    /// How long it goes on.
    STOP_TIME = ScoreRow {
        meaning: Meaning {
            name: "stop time",
            unit: "s",
            definition: "time from the tick at which demand becomes neutral until |v| < 0.01 m/s for 0.2 s",
            better: Better::Less,
        },
        needs: Needs::Nothing,
        measure: |m| stopped(m, |start, stop| (stop - start) as f64 * m.run.tick_s),
        said: Said {
            kind: Kind::Differs(1.0, "s"),
            more: "takes {} longer to stop",
            less: "takes {} less to stop",
            // Said with the run-on already.
            happens: None,
        },
    };

    /// How much of it the wheels slide.
    SLIP = ScoreRow {
        meaning: Meaning {
            name: "slip",
            unit: "-",
            definition: "share of the let-off during which |wheel surface speed - v| exceeds 20 % of the larger \
                         (and 0.01 m/s)",
            better: Better::Less,
        },
        needs: Needs::Nothing,
        measure: |m| Value::from(m.let_off.map(|found| slipping(m, found.start..found.end))),
        said: Said {
            kind: Kind::Differs(100.0, "percentage points"),
            more: "slips for {} more of the let-off",
            less: "slips for {} less of the let-off",
            happens: None,
        },
    };
}

/// Where the brake's coming-in ends and the shorted motor's last nod begins.
fn nod(m: &Measured<'_>, found: LetOff) -> usize {
    let speed = |index: usize| m.run.rows[index].speed_m_s().abs();
    let quarter = speed(found.start) / 4.0;
    (found.start..found.end).find(|&index| speed(index) < quarter).unwrap_or(found.end)
}

fn jerk(m: &Measured<'_>, rows: Range<usize>) -> f64 {
    let pairs = m.smooth()[rows].windows(2).map(|pair| (pair[1] - pair[0]).abs() / m.run.tick_s);
    pairs.fold(0.0, f64::max)
}

fn stopped(m: &Measured<'_>, measure: impl Fn(usize, usize) -> f64) -> Value {
    match m.let_off {
        None => Value::NotInThisRun,
        Some(LetOff { start, stop: Some(stop), .. }) => Value::Is(measure(start, stop)),
        Some(_) => Value::Never,
    }
}

fn slipping(m: &Measured<'_>, rows: Range<usize>) -> f64 {
    let count = rows.len() as f64;
    let slips = m.run.rows[rows].iter().filter(|row| {
        row.flows.slip_m_s.abs() > 0.2 * row.wheel_speed_m_s().abs().max(row.speed_m_s().abs())
            && row.flows.slip_m_s.abs() > STOPPED_M_S
    });
    slips.count() as f64 / count
}
