//! For `reference.py`: what it needs to drive the demo rig over the same ground with the same commands,
//! and what the simulator made of it. One file per case.

use std::path::Path;

use easeoff_plant::course::{AfterBreak, Course, Snag, Surface};
use easeoff_plant::parts::bridge::Action;
use easeoff_plant::rig::Rig;
use easeoff_plant::rough::{Class, Rough};
use easeoff_plant::{Plant, PlantState};
use easeoff_sim::files::demo;
use easeoff_sim::run::{DEFAULT_STEP_S, simulate};
use serde_json::{Map, Value, json};

use super::{Failure, put};

/// The program's own step, and one so fine that its error no longer shows.
const STEPS_S: [f64; 2] = [DEFAULT_STEP_S, DEFAULT_STEP_S / 25.0];
/// Grid of the ground as a share of the wheel's radius, as the book states it.
const GRID_PER_RADIUS: f64 = 1.0 / 48.0;
const TICK_S: f64 = 1.0e-3;

/// What is driven: a course, and what the bridge does in each tick.
pub(super) struct Case {
    pub(super) name: &'static str,
    pub(super) synchronous: bool,
    /// Torque of the motor's detents \[N m\], twelve per turn.
    pub(super) cogging_n_m: f64,
    pub(super) course: Course,
    pub(super) actions: Vec<Action>,
}

/// Writes every case into `folder`, which must be there.
///
/// # Errors
/// When a file cannot be written, or the demos are broken.
pub(crate) fn write(folder: &Path) -> Result<Vec<&'static str>, Failure> {
    let mut rig = demo::rig().map_err(|_| "the demo rig is broken")?;
    let cases = [let_off()?, creep(), snag(), rough(), changes(false), changes(true)];
    for case in &cases {
        rig.bridge.synchronous = case.synchronous;
        (rig.motor.cogging_n_m, rig.motor.cogging_per_turn) = (case.cogging_n_m, 12);
        put(folder, case.name, &reported(&rig, case)?)?;
    }
    Ok(cases.iter().map(|case| case.name).collect())
}

/// The demo of letting go downhill, with slick and heavy patches in it so that the axles' loads matter:
/// what its controller did, tick by tick.
fn let_off() -> Result<Case, Failure> {
    let mut scenario = demo::scenario("let-off").ok_or("the demo let-off is broken")?;
    let usual = scenario.course.surfaces[0].clone();
    for patch in 0..20 {
        let from_m = 0.5 + 0.5 * f64::from(patch);
        let slick = Surface { from_m, grip: 0.4, grip_sliding: 0.25, rolling: 0.06 };
        let good = Surface { from_m: from_m + 0.2, ..usual.clone() };
        scenario.course.surfaces.extend([slick, good]);
    }
    let run = simulate(&scenario, DEFAULT_STEP_S)?;
    let actions = run.rows.iter().map(|row| easeoff_sim::run::action(row.command)).collect();
    Ok(Case {
        name: "let-off",
        synchronous: false,
        cogging_n_m: 0.0,
        course: scenario.course,
        actions,
    })
}

/// The shorted motor lets the rig creep down 20 degrees.
fn creep() -> Case {
    let (run, fall) = (30.0 * libm::cos(slope()), 30.0 * libm::sin(slope()));
    let course = over(vec![[0.0, 0.0], [run, -fall]]);
    Case {
        name: "creep",
        synchronous: false,
        cogging_n_m: 0.0,
        course: Course { start_m: 1.0, ..course },
        actions: vec![Action::Brake(1.0); 5_000],
    }
}

fn slope() -> f64 {
    20.0_f64.to_radians()
}

/// The wheels wind up a snag until it drags on, and at the end turn back out of it.
fn snag() -> Case {
    let mut course = over(vec![[-1.0, 0.0], [40.0, 0.0]]);
    course.snags = vec![Snag {
        at_m: 1.0,
        stiffness_n_m_per_rad: 0.12,
        break_n_m: 2.0,
        then: AfterBreak::Stays,
    }];
    let mut actions = vec![Action::Drive(0.3); 8_000];
    actions.extend([Action::Coast; 500]);
    actions.extend([Action::Drive(-0.1); 500]);
    Case { name: "snag", synchronous: false, cogging_n_m: 0.0, course, actions }
}

/// Half a minute over the standard's class C at a tenth of its size.
fn rough() -> Case {
    let rough = Rough { class: Class::C, seed: 1, scale: 0.1 };
    let course = over(rough.lay(&[[-1.0, 0.0], [40.0, 0.0]]));
    let course = Course { rough: Some(rough), ..course };
    let actions = vec![Action::Drive(0.25); 30_000];
    Case { name: "rough", synchronous: false, cogging_n_m: 0.004, course, actions }
}

/// Every kind of command after every other, backward too, through a snag that tears, either bridge.
fn changes(synchronous: bool) -> Case {
    use Action::{Brake, Coast, Drive};
    let mut course = over(vec![[-10.0, 0.5], [0.0, 0.0], [2.0, 0.3], [40.0, 0.0]]);
    let then = AfterBreak::LetsGo;
    course.snags = vec![Snag { at_m: 0.8, stiffness_n_m_per_rad: 0.3, break_n_m: 1.0, then }];
    let reported = [
        Drive(0.4),
        Drive(0.1),
        Drive(0.5),
        Drive(0.0),
        Drive(0.6),
        Coast,
        Brake(0.3),
        Drive(0.3),
        Brake(1.0),
        Coast,
        Drive(-0.4),
        Drive(-0.1),
        Coast,
        Drive(-0.5),
        Brake(0.6),
        Drive(0.0),
        Brake(0.2),
        Drive(0.5),
        Drive(-0.2),
        Coast,
    ];
    let actions = reported.iter().flat_map(|action| [*action; 400]).collect();
    let name = if synchronous { "changes-synchronous" } else { "changes" };
    Case { name, synchronous, cogging_n_m: if synchronous { 0.004 } else { 0.0 }, course, actions }
}

fn over(profile_m: Vec<[f64; 2]>) -> Course {
    let surface = Surface { from_m: -1.0, grip: 0.80, grip_sliding: 0.75, rolling: 0.02 };
    Course { profile_m, rough: None, start_m: 0.0, surfaces: vec![surface], snags: Vec::new() }
}

pub(super) fn reported(rig: &Rig, case: &Case) -> Result<Value, Failure> {
    let plant = Plant::new(rig, &case.course);
    let start = plant.at_rest(rig, case.course.start_m);
    let actions: Vec<Value> = case
        .actions
        .iter()
        .map(|action| match action {
            Action::Coast | Action::Open => json!(["coast", 0.0]),
            Action::Drive(duty) => json!(["drive", duty]),
            Action::Brake(share) => json!(["brake", share]),
        })
        .collect();
    let runs: Vec<Value> =
        STEPS_S.iter().map(|step_s| driven(&plant, start, &case.actions, *step_s)).collect();
    Ok(json!({
        "name": case.name,
        "rig": rig,
        "surfaces": case.course.surfaces,
        "snags": case.course.snags,
        "start_m": case.course.start_m,
        "profile_m": case.course.profile_m,
        "ground": ground(rig, &plant, &case.course)?,
        "tick_s": TICK_S,
        "actions": actions,
        "runs": runs,
    }))
}

/// Slope and height at every point of the ground's grid, between which the slope is straight, and the
/// surface under each axle from there to the next.
pub(super) fn ground(rig: &Rig, plant: &Plant, course: &Course) -> Result<Value, String> {
    let (from_m, step_m) = (course.profile_m[0][0], rig.wheels.radius_m * GRID_PER_RADIUS);
    let count = ((plant.ground.end_m() - from_m) / step_m).round() as usize;
    let sine = |steps: f64| plant.ground.at(from_m + steps * step_m).sine;
    let (mut sines, mut heights) = (Vec::new(), Vec::new());
    let (mut front, mut rear) = (Vec::new(), Vec::new());
    for index in 0..count {
        let steps = index as f64;
        let between = (sine(steps) + sine(steps + 1.0)) / 2.0;
        if (between - sine(steps + 0.5)).abs() > 1.0e-9 {
            return Err(format!("the ground's grid is not {step_m} m"));
        }
        sines.push(sine(steps));
        heights.push(plant.ground.at(from_m + steps * step_m).height_m);
        let axles = plant.ground.at(from_m + (steps + 0.5) * step_m).axles.map(|patch| {
            let like = |on: &Surface| on.grip == patch.grip && on.rolling == patch.rolling;
            course.surfaces.iter().position(like)
        });
        front.push(axles[0]);
        rear.push(axles[1]);
    }
    Ok(json!({
        "from_m": from_m,
        "step_m": step_m,
        "sine": sines,
        "height_m": heights,
        "front": front,
        "rear": rear,
    }))
}

/// What the simulator makes of it, at the start of every tick.
fn driven(plant: &Plant, start: PlantState, actions: &[Action], step_s: f64) -> Value {
    let mut state = start;
    let mut rows: Vec<[f64; SIGNALS.len()]> = Vec::with_capacity(actions.len());
    for action in actions {
        let now = state.now;
        let flows = plant.over(&mut state, *action, TICK_S, step_s);
        rows.push([
            now.speed_m_s,
            now.wheel_rad_s,
            now.motor.motor_rad_s,
            now.motor.current_a,
            now.place_m,
            flows.shaft_n_m,
            now.winding_c,
            now.bridge_c,
        ]);
    }
    let mut signals = Map::new();
    for (column, name) in SIGNALS.iter().enumerate() {
        signals.insert((*name).into(), rows.iter().map(|row| row[column]).collect());
    }
    json!({ "step_s": step_s, "signals": signals })
}

const SIGNALS: [&str; 8] = [
    "speed_m_s",
    "wheel_rad_s",
    "motor_rad_s",
    "current_a",
    "place_m",
    "shaft_n_m",
    "winding_c",
    "bridge_c",
];
