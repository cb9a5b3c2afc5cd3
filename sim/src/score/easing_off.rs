//! Scores of letting off: how hard the stop is, how far it runs on, and what of it is not the brake's.

use std::ops::Range;

use super::episode::{LetOff, STOPPED_M_S};
use super::list::rows;
use super::{Better, Kind, Meaning, Measured, Needs, Said, ScoreRow, Value};
use crate::run::Run;

rows! {
    /// How hard the stop is, all of it.
    STOP_JERK = ScoreRow {
        meaning: Meaning {
            name: "stop jerk",
            unit: "m/s\u{b3}",
            definition: "largest |d(a)/dt| of the body from letting off until it stands or creeps, a low-pass filtered at \
                         10 Hz (2nd-order Butterworth, zero phase)",
            better: Better::Less,
        },
        needs: Needs::Nothing,
        measure: |m| Value::from(stop_jerk(m)),
        said: Said {
            kind: Kind::Times("jerks as it stops", "does not jerk as it stops"),
            more: "stops {} as hard",
            less: "stops {} as hard",
            happens: None,
        },
    };

    /// How hard it jerks as the brake comes in.
    LURCH = ScoreRow {
        meaning: Meaning {
            name: "lurch",
            unit: "m/s\u{b3}",
            definition: "its first part: until the deceleration is at the top that is nearest to a quarter of the speed",
            better: Better::Less,
        },
        needs: Needs::Nothing,
        measure: |m| Value::from(m.judged.and_then(|found| jerk(m, found, found.start..nod(m, found)))),
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
            definition: "its last part, from there on: the nod as the rig comes to stand",
            better: Better::Less,
        },
        needs: Needs::Nothing,
        measure: |m| Value::from(m.judged.and_then(|found| jerk(m, found, nod(m, found)..found.end))),
        said: Said {
            kind: Kind::Times("nods at the end", "does not nod at the end"),
            more: "nods {} as hard at the end",
            less: "nods {} as hard at the end",
            happens: None,
        },
    };

    /// What of it comes without any brake.
    FLOOR = ScoreRow {
        meaning: Meaning {
            name: "floor",
            unit: "m/s\u{b3}",
            definition: "stop jerk of the same let-off without any brake: friction and backlash alone",
            better: Better::Depends,
        },
        needs: Needs::NoBrake,
        measure: |m| Value::from(m.extra.unbraked.as_ref().and_then(|run| jerk_of(m, run))),
        said: Said {
            kind: Kind::Times("jerks without a brake", "does not jerk without a brake"),
            more: "jerks {} as hard without any brake",
            less: "jerks {} as hard without any brake",
            happens: None,
        },
    };

    /// What of that comes without backlash.
    FRICTION_FLOOR = ScoreRow {
        meaning: Meaning {
            name: "floor without backlash",
            unit: "m/s\u{b3}",
            definition: "the floor on the same rig without backlash: friction alone",
            better: Better::Depends,
        },
        needs: Needs::NoBacklash,
        measure: |m| Value::from(m.extra.without_backlash.as_ref().and_then(|run| jerk_of(m, run))),
        said: Said {
            kind: Kind::Times("jerks by its friction", "does not jerk by its friction"),
            more: "jerks {} as hard by its friction alone",
            less: "jerks {} as hard by its friction alone",
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
                let along = m.smooth()[found.start..found.end].iter().map(|a| found.along * a);
                along.fold(0.0_f64, |most, a| most.max(-a))
            };
            Value::from(m.judged.map(peak))
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
            definition: "farthest it goes on from the tick at which demand becomes neutral until it stops: |v| < 0.01 m/s \
                         for 0.2 s, or less than a tenth of the speed is left and changes by less than 0.01 m/s in 0.2 s",
            better: Better::Less,
        },
        needs: Needs::Nothing,
        measure: |m| stopped(m, |found, stop| farthest(m, found, stop).1),
        said: Said {
            kind: Kind::Differs(100.0, "cm"),
            more: "stops {} later",
            less: "stops {} earlier",
            happens: Some("stops"),
        },
    };

    /// How far it comes back.
    ROLLED_BACK = ScoreRow {
        meaning: Meaning {
            name: "rolled back",
            unit: "m",
            definition: "how far it comes back from its farthest place until it stops",
            better: Better::Less,
        },
        needs: Needs::Nothing,
        measure: |m| stopped(m, |found, stop| {
            let (row, farthest_m) = farthest(m, found, stop);
            let back = (row..=stop).map(|index| farthest_m - gone(m, found, index));
            back.fold(0.0, f64::max)
        }),
        said: Said {
            kind: Kind::Differs(100.0, "cm"),
            more: "rolls back {} farther",
            less: "rolls back {} less",
            // Said with the run-on already.
            happens: None,
        },
    };

    /// How fast it goes on after that.
    CREEPS_ON = ScoreRow {
        meaning: Meaning {
            name: "creeps on",
            unit: "mm/s",
            definition: "speed that is left once it has stopped, over 0.2 s; 0 where it stands",
            better: Better::Less,
        },
        needs: Needs::Nothing,
        measure: |m| stopped(m, |found, _| found.creeps_m_s * 1_000.0),
        said: Said {
            kind: Kind::Differs(1.0, "mm/s"),
            more: "creeps on {} faster after the stop",
            less: "creeps on {} slower after the stop",
            // Said with the run-on already.
            happens: None,
        },
    };

    /// How long it goes on.
    STOP_TIME = ScoreRow {
        meaning: Meaning {
            name: "stop time",
            unit: "s",
            definition: "time from the tick at which demand becomes neutral until it stops",
            better: Better::Less,
        },
        needs: Needs::Nothing,
        measure: |m| stopped(m, |found, stop| (stop - found.start) as f64 * m.easing().tick_s),
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
        measure: |m| Value::from(m.judged.map(|found| slipping(m, found.start..found.end))),
        said: Said {
            kind: Kind::Differs(100.0, "percentage points"),
            more: "slips for {} more of the let-off",
            less: "slips for {} less of the let-off",
            happens: None,
        },
    };
}

/// The whole stop's.
fn stop_jerk(m: &Measured<'_>) -> Option<f64> {
    m.judged.and_then(|found| jerk(m, found, found.start..found.end))
}

/// That of another run of the same scene.
fn jerk_of(m: &Measured<'_>, run: &Run) -> Option<f64> {
    stop_jerk(&Measured::new(m.scenario, run))
}

/// Where the brake has come in and begins to go, or the rig to stand: the top of the deceleration that is nearest to a
/// quarter of the speed. No jerk is largest at a top, so neither part ends in the middle of one.
fn nod(m: &Measured<'_>, found: LetOff) -> usize {
    let LetOff { start, end, along, .. } = found;
    let speed = |index: usize| m.easing().rows[index].speed_m_s().abs();
    let quarter = speed(start) / 4.0;
    let Some(at) = (start..end).find(|&index| speed(index) < quarter) else { return end };
    let slows = |index: usize| -along * m.smooth()[index];
    let rises = |index: usize| index + 1 < end && slows(index + 1) > slows(index);
    let fell = |index: usize| index > start && slows(index - 1) > slows(index);
    let top = if rises(at) {
        (at..end).find(|&index| !rises(index))
    } else {
        (start..=at).rev().find(|&index| !fell(index))
    };
    top.unwrap_or(at)
}

/// The largest jerk of these rows of a let-off, followed to where it is largest if it is still growing at their
/// ends. `None` where it is when the driver takes the throttle again or the run ends: it was never seen whole.
fn jerk(m: &Measured<'_>, found: LetOff, rows: Range<usize>) -> Option<f64> {
    let smooth = m.smooth();
    let jerk = |index: usize| (smooth[index + 1] - smooth[index]).abs() / m.easing().tick_s;
    let last = rows.end.min(smooth.len()).checked_sub(2).filter(|last| *last > rows.start)?;
    let largest = |most: usize, index: usize| if jerk(index) > jerk(most) { index } else { most };
    let mut most = (rows.start..=last).fold(rows.start, largest);
    if most == last && rows.end == found.end && found.stop.is_none() {
        return None;
    }
    while most <= rows.start && most > 0 && jerk(most - 1) > jerk(most) {
        most -= 1;
    }
    while most >= last && most + 2 < smooth.len() && jerk(most + 1) > jerk(most) {
        most += 1;
    }
    Some(jerk(most))
}

fn stopped(m: &Measured<'_>, measure: impl Fn(LetOff, usize) -> f64) -> Value {
    match m.judged {
        None => Value::NotInThisRun,
        Some(found) => found.stop.map_or(Value::Never, |stop| Value::Is(measure(found, stop))),
    }
}

/// How far it has gone on at a row \[m\].
fn gone(m: &Measured<'_>, found: LetOff, row: usize) -> f64 {
    let place = |index: usize| m.easing().rows[index].plant.now.place_m;
    found.along * (place(row) - place(found.start))
}

/// The first row at which it is farthest, and how far that is \[m\].
fn farthest(m: &Measured<'_>, found: LetOff, stop: usize) -> (usize, f64) {
    let way = (found.start..=stop).map(|row| (row, gone(m, found, row)));
    way.fold((found.start, 0.0), |most, now| if now.1 > most.1 { now } else { most })
}

fn slipping(m: &Measured<'_>, rows: Range<usize>) -> f64 {
    let count = rows.len() as f64;
    let slips = m.easing().rows[rows].iter().filter(|row| {
        row.flows.slip_m_s.abs() > 0.2 * row.wheel_speed_m_s().abs().max(row.speed_m_s().abs())
            && row.flows.slip_m_s.abs() > STOPPED_M_S
    });
    slips.count() as f64 / count
}
