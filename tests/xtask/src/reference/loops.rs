//! For `loops.py`: the speed hold at a steady speed on the flat. How it answers a small step of speed or
//! load; and the gain and the delay at which it begins to swing.

use std::path::Path;

use easeoff_core::{HoldSettings, SlewSettings};
use easeoff_plant::Plant;
use easeoff_plant::course::{AfterBreak, Course, Snag, Surface};
use easeoff_sim::files::demo;
use easeoff_sim::files::driver::{Driver, Motion, Radio};
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::{DEFAULT_STEP_S, Row, simulate};
use serde_json::{Value, json};

use super::delayed::DelayedLoop;
use super::drives::ground;
use super::{Failure, put};

/// By then the rig has long been steady ...
const STEADY_S: f64 = 6.0;
/// ... and so long it is watched from then on.
const WATCHED_S: f64 = 2.0;
/// What the motor is pushed by to see whether it swings \[rad/s\].
const PUSH_RAD_S: f64 = 0.5;
/// A step of the throttle, two whole microseconds of the pulse ...
const STEP: f64 = 0.004;
/// ... and of load on the wheels \[N m\]: as large as hardly bends the tyres' law, as small as the grain
/// of the core's numbers allows.
const LOAD_N_M: f64 = 0.1;
/// Gains tried, each so many times the one before: from the demo's to nearly as much as the core takes.
const FINER: f64 = 1.005;
const FACTORS: [f64; 2] = [1.0, 16.0];
/// Delays tried \[ticks\].
const DELAYS: usize = 20;

/// Writes every case into `folder`, which must be there.
///
/// # Errors
/// When a file cannot be written, or the demo is broken.
pub(crate) fn write(folder: &Path) -> Result<Vec<&'static str>, Failure> {
    put(folder, "loop-steps", &steps()?)?;
    put(folder, "loop-gain", &gain_limit()?)?;
    put(folder, "loop-delay", &delay_limit()?)?;
    Ok(vec!["loop-steps", "loop-gain", "loop-delay"])
}

/// The demo's rig and tune on flat soft sand, which keeps its gears pressed together. Its bridge lets the
/// current reverse, and the hold may do what it wants: nothing here saturates.
fn scenario(tick_hz: u16) -> Result<Scenario, Failure> {
    let mut rig = demo::rig().map_err(|_| "the demo rig is broken")?;
    rig.board.tick_hz = tick_hz;
    rig.bridge.synchronous = true;
    let mut tune = demo::scenario("garden").ok_or("the demo garden is broken")?.tune;
    tune.hold = Some(HoldSettings { authority: 1.0, ..hold(&tune.hold)? });
    tune.slew = SlewSettings { rise_per_s: 1_000.0, ease_per_s: 1_000.0 };
    let surface = Surface { from_m: -1.0, grip: 0.8, grip_sliding: 0.75, rolling: 0.2 };
    let course = Course {
        profile_m: vec![[-1.0, 0.0], [40.0, 0.0]],
        rough: None,
        start_m: 0.0,
        surfaces: vec![surface],
        snags: Vec::new(),
    };
    let radio = Radio {
        frame_ms: 20.0,
        neutral_us: 1_500.0,
        travel_us: 500.0,
        jitter_us: 0.0,
        missing_share: 0.0,
    };
    let driver = Driver {
        duration_s: STEADY_S + WATCHED_S,
        motion: throttle(0.0),
        steer: Vec::new(),
        radio,
        lost_s: Vec::new(),
        retunes: Vec::new(),
    };
    Ok(Scenario { rig, tune, course, driver })
}

/// Two thirds, and from the moment of the step so much more.
fn throttle(more: f64) -> Motion {
    let (before, after) = (STEADY_S - 1.0e-6, 0.66 + more);
    Motion::ByTime(vec![[0.7, 0.0], [1.2, 0.66], [before, 0.66], [STEADY_S, after]])
}

fn hold(of: &Option<HoldSettings>) -> Result<HoldSettings, Failure> {
    of.ok_or_else(|| "the demo has no hold".into())
}

/// What the linear loop needs: the rig, the hold, and what is slow enough to stand still.
fn reported(scenario: &Scenario, steady: &Row) -> Result<Value, Failure> {
    let (rig, course, now) = (&scenario.rig, &scenario.course, &steady.plant.now);
    let hold = hold(&scenario.tune.hold)?;
    Ok(json!({
        "rig": rig,
        "surfaces": course.surfaces,
        "snags": course.snags,
        "start_m": course.start_m,
        "ground": ground(rig, &Plant::new(rig, course), course)?,
        "tick_s": 1.0 / f64::from(rig.board.tick_hz),
        "hold": {
            "full_speed_rad_s": hold.full_speed_rad_s,
            "feed_forward": hold.feed_forward,
            "gain": hold.gain,
            "gain_per_s": hold.gain_per_s,
            "droop": hold.droop,
        },
        "demand": steady.trace.map(|trace| trace.slewed.to_f32()),
        "slow": {
            "delayed_v": now.delayed_v,
            "charge": now.charge,
            "winding_c": now.winding_c,
            "case_c": now.case_c,
            "bridge_c": now.bridge_c,
        },
        "steady": {
            "duty": steady.command.duty().to_f32(),
            "current_a": now.motor.current_a,
            "motor_rad_s": now.motor.motor_rad_s,
            "speed_m_s": now.speed_m_s,
        },
    }))
}

/// The rows from the moment of the step on.
fn rows(scenario: &Scenario) -> Result<Vec<Row>, Failure> {
    let run = simulate(scenario, DEFAULT_STEP_S)?;
    let first = (STEADY_S / run.tick_s).round() as usize;
    Ok(run.rows[first..].to_vec())
}

fn steps() -> Result<Value, Failure> {
    let plain = scenario(1_000)?;
    let before = rows(&plain)?;
    let moved = |more: f64| {
        let mut scenario = plain.clone();
        scenario.driver.motion = throttle(more);
        rows(&scenario)
    };
    let mut loaded = plain.clone();
    loaded.course.snags = vec![Snag {
        at_m: before[0].plant.now.place_m,
        stiffness_n_m_per_rad: 1.0e3,
        break_n_m: LOAD_N_M,
        then: AfterBreak::Stays,
    }];
    // Half the difference of a step up and one down: what bends either way alike cancels.
    let speed = step("speed", &moved(STEP)?, &moved(-STEP)?, 0.5);
    let load = step("load", &rows(&loaded)?, &before, 1.0);
    let mut all = reported(&plain, &before[0])?;
    all["steps"] = json!([speed, load]);
    Ok(all)
}

/// The share of what one run is more than another, tick by tick.
fn step(name: &str, with: &[Row], without: &[Row], share: f64) -> Value {
    let more = |of: fn(&Row) -> f64| -> Vec<f64> {
        with.iter().zip(without).map(|(with, without)| share * (of(with) - of(without))).collect()
    };
    // A snag is slack at the start of the tick in which it begins to pull.
    let load_n_m = more(|row| row.flows.snag_n_m).split_off(1);
    json!({
        "name": name,
        "demand": more(|row| row.trace.map_or(f64::NAN, |trace| trace.slewed.to_f32().into())),
        "load_n_m": load_n_m,
        "signals": {
            "motor_rad_s": more(|row| row.plant.now.motor.motor_rad_s),
            "speed_m_s": more(|row| row.plant.now.speed_m_s),
            "current_a": more(|row| row.plant.now.motor.current_a),
            "duty": more(|row| row.command.duty().to_f32().into()),
        },
    })
}

/// Which gains make the loop swing, with the speed told at once and a tick late.
fn gain_limit() -> Result<Value, Failure> {
    let scenario = scenario(250)?;
    let mut rig = steady(&scenario)?;
    let hold = hold(&scenario.tune.hold)?;
    let mut all = reported(&scenario, &rows(&scenario)?[0])?;
    let mut tried = Vec::new();
    for delay in [0, 1] {
        let mut factor = FACTORS[0];
        while factor < FACTORS[1] {
            let (gain, gain_per_s) = (hold.gain * factor as f32, hold.gain_per_s * factor as f32);
            let grows = swings(&mut rig, HoldSettings { gain, gain_per_s, ..hold }, delay)?;
            tried.push(json!({ "factor": factor, "delay": delay, "grows": grows }));
            factor *= FINER;
        }
    }
    all["tried"] = json!(tried);
    Ok(all)
}

/// Which whole ticks of delay make it swing, at four times the demo's gain.
fn delay_limit() -> Result<Value, Failure> {
    let mut scenario = scenario(1_000)?;
    let demo = hold(&scenario.tune.hold)?;
    let four = HoldSettings { gain: 4.0 * demo.gain, gain_per_s: 4.0 * demo.gain_per_s, ..demo };
    scenario.tune.hold = Some(four);
    let mut rig = steady(&scenario)?;
    let mut all = reported(&scenario, &rows(&scenario)?[0])?;
    let tried: Result<Vec<Value>, Failure> = (0..DELAYS)
        .map(|delay| {
            let grows = swings(&mut rig, four, delay)?;
            Ok(json!({ "factor": 1.0, "delay": delay, "grows": grows }))
        })
        .collect();
    all["tried"] = json!(tried?);
    Ok(all)
}

/// The loop at its steady speed.
fn steady(scenario: &Scenario) -> Result<DelayedLoop<'_>, Failure> {
    let ticks = (STEADY_S * f64::from(scenario.rig.board.tick_hz)) as u32;
    DelayedLoop::check(scenario, ticks)?;
    let mut rig = DelayedLoop::new(scenario)?;
    for _ in 0..ticks {
        rig.tick();
    }
    Ok(rig)
}

/// Whether a push makes the loop swing; the loop is put back as it was.
fn swings(rig: &mut DelayedLoop<'_>, hold: HoldSettings, delay: usize) -> Result<bool, Failure> {
    let before = rig.moment;
    rig.retune(hold)?;
    rig.delay(delay);
    let steady_rad_s = rig.motor_rad_s();
    rig.moment.plant.now.motor.motor_rad_s += PUSH_RAD_S;
    let watched: Vec<f64> = (0..(WATCHED_S / rig.tick_s()) as u32)
        .map(|_| {
            rig.tick();
            rig.motor_rad_s() - steady_rad_s
        })
        .collect();
    rig.moment = before;
    Ok(grows(&watched))
}

/// Whether in the second half it swings by more than it was pushed. What is left of a push that dies out
/// is the grain of the core's numbers, a few hundredths of a radian per second.
fn grows(apart: &[f64]) -> bool {
    apart[apart.len() / 2..].iter().any(|apart_rad_s| apart_rad_s.abs() > PUSH_RAD_S)
}
