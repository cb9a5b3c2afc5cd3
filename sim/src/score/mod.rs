//! Scores: what a run was like, each defined once, in SI units.

pub mod creep;
pub mod episode;
pub mod filter;

use easeoff_core::Mode;
use serde::Serialize;

use crate::files::scenario::Scenario;
use crate::run::controller::{Fault, Make, Own};
use crate::run::{Row, Run, RunError, simulate};
use crate::score::creep::{Creep, creep};
use crate::score::episode::{LEAST_SAG, LetOff, Load, STEADY_S, STOPPED_M_S, mean_wheel_speed};
use crate::score::filter::low_pass;
use easeoff_plant::heating::{Temperatures, heating};
use easeoff_plant::level_loads_n;
use easeoff_plant::state::State;

/// One score with its definition.
#[derive(Clone, Debug, Serialize)]
pub struct Score {
    /// Short name.
    pub name: &'static str,
    /// The value.
    pub value: Value,
    /// Its unit; "-" for a ratio.
    pub unit: &'static str,
    /// What exactly it is.
    pub definition: &'static str,
}

impl Score {
    /// From its parts.
    pub fn new(
        name: &'static str,
        value: Value,
        unit: &'static str,
        definition: &'static str,
    ) -> Self {
        Self { name, value, unit, definition }
    }
}

/// A score's value.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Value {
    /// It is this much.
    Is(f64),
    /// It does not happen within the run.
    Never,
    /// The run has nothing to measure it on.
    NotInThisRun,
}

impl From<Option<f64>> for Value {
    fn from(value: Option<f64>) -> Self {
        value.map_or(Self::NotInThisRun, Self::Is)
    }
}

impl Value {
    /// The number, if there is one.
    pub fn number(self) -> Option<f64> {
        match self {
            Self::Is(number) => Some(number),
            _ => None,
        }
    }
}

/// All scores of one run.
#[derive(Clone, Debug)]
pub struct Scores {
    /// The list, in the order of reports.
    pub list: Vec<Score>,
    /// Where the let-off is.
    pub let_off: Option<LetOff>,
    /// Where the snag is.
    pub load: Option<Load>,
    /// Why the controller did not end the run on the slope, if that is so; then there is no creep.
    pub creep_fault: Option<Fault>,
}

impl Scores {
    /// A score's value by name.
    pub fn value(&self, name: &str) -> Value {
        self.list.iter().find(|score| score.name == name).map_or(Value::NotInThisRun, |s| s.value)
    }
}

/// All scores of a run. `creep_slope_deg` is the slope for creep and roll-away.
///
/// # Errors
/// When one of the extra runs (creep, the same run with speed hold off) cannot be finished.
pub fn scores(
    scenario: &Scenario,
    run: &Run,
    creep_slope_deg: f64,
    step_s: f64,
) -> Result<Scores, RunError> {
    wanted_scores(scenario, run, creep_slope_deg, step_s, &Own::make, &|_| true)
}

/// As [`scores`] of a run by the controller that `make` makes, but only those whose name is `wanted` are measured; the list has the others without a
/// value. The extra runs for creep and mask, and the long look ahead for heat time, are made only where wanted.
///
/// # Errors
/// As `scores`, of the extra runs that are made.
pub fn wanted_scores(
    scenario: &Scenario,
    run: &Run,
    creep_slope_deg: f64,
    step_s: f64,
    make: &Make<'_>,
    wanted: &dyn Fn(&str) -> bool,
) -> Result<Scores, RunError> {
    let let_off = episode::let_off(run);
    let load = episode::load(run);
    let creep = if wanted("creep") || wanted("roll-away") {
        Some(creep(scenario, creep_slope_deg, step_s, make)?)
    } else {
        None
    };
    let creep_fault = creep.as_ref().and_then(|creep| creep.fault.clone());
    let creep = creep.filter(|creep| creep.fault.is_none());
    let sag = load.map(|load| sag(run, &load));
    // What another controller hides is told from easeoff's with its speed hold off.
    let holds = scenario.tune.hold.is_some() || run.driven.foreign;
    let sag_without = match load {
        Some(loaded) if holds && wanted("mask") => {
            let mut open = scenario.clone();
            open.tune.hold = None;
            open.hand.retunes.iter_mut().for_each(|retune| retune.tune.hold = None);
            let without = simulate(&open, step_s)?;
            episode::load(&without)
                .filter(|open| {
                    let apart_m_s = (open.before_m_s - loaded.before_m_s).abs();
                    !run.driven.foreign || apart_m_s < SAME_PACE * open.before_m_s
                })
                .map(|load| self::sag(&without, &load))
        }
        _ => sag,
    };
    let mut list = Vec::new();
    let mut add = |name, value, unit, definition| {
        let value = if wanted(name) { value } else { Value::NotInThisRun };
        list.push(Score::new(name, value, unit, definition));
    };
    easing_off(run, let_off, &mut add);
    for Score { name, value, unit, definition } in creeping(creep.as_ref()) {
        add(name, value, unit, definition);
    }
    let level = level_loads_n(&scenario.rig.vehicle);
    let least = run.rows.iter().map(|row| tip(row, level)).fold(f64::INFINITY, f64::min);
    add(
        "tip margin",
        Value::Is(least),
        "-",
        "least axle load over the run / that axle's load at rest on the level; 0 means a wheel pair lifts",
    );
    loaded(run, load, sag, sag_without, &mut add);
    let strongest = run.rows.iter().map(|row| row.flows.shaft_n_m.abs()).fold(0.0, f64::max);
    add(
        "strain",
        Value::Is(strongest / scenario.rig.gears.rating_n_m),
        "-",
        "peak torque in the drive line / its rating; over 1 is a failure",
    );
    add(
        "heat time",
        if wanted("heat time") { heat_time(scenario, run) } else { Value::NotInThisRun },
        "s",
        "until winding or bridge reaches its limit if the run's mean heat went on, from its end",
    );
    Ok(Scores { list, let_off, load, creep_fault })
}

/// Creep and roll-away.
pub fn creeping(found: Option<&Creep>) -> [Score; 2] {
    [
        Score {
            name: "creep",
            value: Value::from(found.map(|creep| creep.speed_m_s * 1_000.0)),
            unit: "mm/s",
            definition: "steady speed on the stated slope with neutral throttle and the drag brake fully on",
        },
        Score {
            name: "roll-away",
            value: Value::from(found.map(|creep| creep.rolled_m)),
            unit: "m",
            definition: "distance in the first 5 s on that slope, from rest, the drag brake fully on",
        },
    ]
}

/// Another controller that comes to the load with a speed further than this from easeoff's does not meet
/// it alike: no mask is told from the two.
const SAME_PACE: f64 = 0.3;

type Add<'a> = dyn FnMut(&'static str, Value, &'static str, &'static str) + 'a;

fn easing_off(run: &Run, let_off: Option<LetOff>, add: &mut Add<'_>) {
    let smooth: Vec<f64> = smooth_acceleration(run);
    let window = let_off.map(|found| found.start..found.end);
    // Where the brake's coming-in ends and the shorted motor's last nod begins.
    let split = let_off.map(|found| {
        let quarter = run.rows[found.start].speed_m_s().abs() / 4.0;
        let slow = (found.start..found.end).find(|&i| run.rows[i].speed_m_s().abs() < quarter);
        slow.unwrap_or(found.end)
    });
    let jerk = |rows: std::ops::Range<usize>| {
        let pairs = smooth[rows].windows(2).map(|pair| (pair[1] - pair[0]).abs() / run.tick_s);
        pairs.fold(0.0, f64::max)
    };
    let coming_in = let_off.zip(split).map(|(found, split)| jerk(found.start..split));
    let stopping = let_off.zip(split).map(|(found, split)| jerk(split..found.end));
    let peak = window.clone().map(|rows| smooth[rows].iter().fold(0.0_f64, |a, b| a.max(-b)));
    add(
        "lurch",
        Value::from(coming_in),
        "m/s\u{b3}",
        "largest |d(a)/dt| of the body from letting go until its speed has fallen to a quarter, a \
         low-pass filtered at 10 Hz (2nd-order Butterworth, zero phase)",
    );
    add(
        "stop jolt",
        Value::from(stopping),
        "m/s\u{b3}",
        "the same for the rest of the let-off: the last nod as the rig comes to stand",
    );
    add(
        "peak deceleration",
        Value::from(peak),
        "m/s\u{b2}",
        "largest deceleration of the body within the let-off, filtered likewise",
    );
    let stopped = |measure: &dyn Fn(usize, usize) -> f64| match let_off {
        None => Value::NotInThisRun,
        Some(LetOff { start, stop: Some(stop), .. }) => Value::Is(measure(start, stop)),
        Some(_) => Value::Never,
    };
    let place = |index: usize| run.rows[index].plant.now.place_m;
    add(
        "run-on",
        stopped(&|start, stop| place(stop) - place(start)),
        "m",
        "distance from the tick at which demand becomes neutral until |v| < 0.01 m/s for 0.2 s",
    );
    add(
        "stop time",
        stopped(&|start, stop| (stop - start) as f64 * run.tick_s),
        "s",
        "time from the tick at which demand becomes neutral until |v| < 0.01 m/s for 0.2 s",
    );
    let slipping = window.map(|rows| {
        let count = rows.len() as f64;
        let slips = run.rows[rows].iter().filter(|row| {
            row.flows.slip_m_s.abs() > 0.2 * row.wheel_speed_m_s().abs().max(row.speed_m_s().abs())
                && row.flows.slip_m_s.abs() > STOPPED_M_S
        });
        slips.count() as f64 / count
    });
    add(
        "slip",
        Value::from(slipping),
        "-",
        "share of the let-off during which |wheel surface speed - v| exceeds 20 % of the larger \
         (and 0.01 m/s)",
    );
}

fn loaded(
    run: &Run,
    load: Option<Load>,
    sag: Option<f64>,
    sag_without: Option<f64>,
    add: &mut Add<'_>,
) {
    add("sag", Value::from(sag), "-", "(steady wheel speed before the load - under it) / before");
    let mask = match (sag, sag_without) {
        (Some(with), Some(without)) if without > LEAST_SAG => Some(1.0 - with / without),
        _ => None,
    };
    add(
        "mask",
        Value::from(mask),
        "-",
        "1 - sag / sag of the same run by easeoff with speed hold off; 0: the driver sees all of it, 1: hidden",
    );
    let notice = match load {
        None => Value::NotInThisRun,
        Some(Load { noticed: None, .. }) => Value::Never,
        Some(Load { noticed: Some(at), start, .. }) => Value::Is((at - start) as f64 * run.tick_s),
    };
    add(
        "notice time",
        notice,
        "s",
        "from the load's start until speed has been 7 % below its earlier value for 0.2 s, plus \
         0.75 s to react",
    );
    let hidden = load.map(|load| load.start..load.noticed.unwrap_or(load.end).max(load.start + 1));
    let hidden = hidden.map(|rows| &run.rows[rows]);
    let torque =
        hidden.map(|rows| rows.iter().map(|r| r.flows.shaft_n_m.abs()).fold(0.0, f64::max));
    add(
        "hidden torque",
        Value::from(torque),
        "N m",
        "peak drive-line torque from the load's start until notice time, or its end",
    );
    let heat = hidden.map(|rows| rows.iter().map(|r| r.flows.winding_w * run.tick_s).sum());
    add(
        "hidden heat",
        Value::from(heat),
        "J",
        "heat in the winding from the load's start until notice time, or its end",
    );
}

/// The body's acceleration, low-pass filtered at 10 Hz without phase shift \[m/s^2\].
pub fn smooth_acceleration(run: &Run) -> Vec<f64> {
    let raw: Vec<f64> = run.rows.iter().map(Row::acceleration).collect();
    low_pass(&raw, run.tick_s, 10.0)
}

fn sag(run: &Run, load: &Load) -> f64 {
    let window = ((STEADY_S / run.tick_s) as usize).min(load.end - load.start);
    let under = mean_wheel_speed(run, load.end - window, load.end);
    (load.before_m_s - under) / load.before_m_s.max(1.0e-9)
}

fn tip(row: &Row, [front_n, rear_n]: [f64; 2]) -> f64 {
    (row.flows.front_n / front_n).min(row.flows.rear_n / rear_n)
}

fn heat_time(scenario: &Scenario, run: &Run) -> Value {
    let rows: Vec<&Row> =
        run.rows.iter().filter(|row| !matches!(row.mode(), Mode::Disarmed)).collect();
    let Some(last) = rows.last() else { return Value::NotInThisRun };
    let mean_w =
        |heat: fn(&Row) -> f64| rows.iter().map(|row| heat(row)).sum::<f64>() / rows.len() as f64;
    let (winding_w, bridge_w) =
        (mean_w(|row| row.flows.winding_w), mean_w(|row| row.flows.bridge_w));
    let State { winding_c, case_c, bridge_c, .. } = last.plant.now;
    let now = Temperatures { winding_c, case_c, bridge_c };
    let limit_s = heating(&scenario.rig, now, |_| [winding_w, bridge_w]).limit_s;
    limit_s.map_or(Value::Never, Value::Is)
}
