//! For `motors.py`: the motor on the bench, driven, reversed and shorted; and in the plant, held fast.

use std::path::Path;

use easeoff_plant::Plant;
use easeoff_plant::course::{AfterBreak, Course, Snag, Surface};
use easeoff_plant::parts::bridge::Action;
use easeoff_plant::parts::cogging::Cogging;
use easeoff_plant::parts::motor::Motor;
use easeoff_plant::parts::motor_kind::MotorState;
use easeoff_plant::rig::Rig;
use easeoff_plant::state::State;
use easeoff_sim::files::demo;
use easeoff_sim::run::DEFAULT_STEP_S;
use easeoff_tests::bench::Bench;
use serde_json::{Value, json};

use super::{Failure, put};

/// Torque of the detents \[N m\] and how many there are to a turn.
const DETENTS: (f64, u32) = (0.02, 12);

/// What is done to a motor on the bench.
struct Case {
    name: &'static str,
    bench: Bench,
    start: State,
    /// Each for so many seconds.
    stretches: Vec<(Action, f64)>,
    step_s: f64,
    steps_per_sample: u32,
}

/// Writes every case into `folder`, which must be there.
///
/// # Errors
/// When a file cannot be written, or the demo is broken.
pub(crate) fn write(folder: &Path) -> Result<Vec<&'static str>, Failure> {
    let rig = demo::rig().map_err(|_| "the demo rig is broken")?;
    let benches: Vec<Value> =
        [tutorial(), demo(&rig), shorted(), detents(&rig)].map(reported).into();
    let all = json!({ "benches": benches, "held": held(&rig), "stalled": stalled(rig) });
    put(folder, "motors", &all)?;
    Ok(vec!["motors"])
}

/// The motor of the check M5.
fn tutorial() -> Case {
    Case {
        name: "tutorial's motor, 1 V",
        bench: Bench::tutorial(),
        start: State::default(),
        stretches: vec![(Action::Drive(1.0), 3.0)],
        step_s: 1.0e-3,
        steps_per_sample: 10,
    }
}

/// Driven, reversed, shorted; what is left of its speed then is far from standstill.
fn demo(rig: &Rig) -> Case {
    Case {
        name: "demo's motor, 6 V, -4 V, shorted",
        bench: Bench::of(Motor::new(&rig.motor), 12.0),
        start: State::default(),
        stretches: vec![
            (Action::Drive(0.5), 0.06),
            (Action::Drive(-1.0 / 3.0), 0.06),
            (Action::Brake(1.0), 0.02),
        ],
        step_s: 1.0e-5,
        steps_per_sample: 20,
    }
}

/// The motor of the check M12, for three of its time constants.
fn shorted() -> Case {
    Case {
        name: "small motor, shorted",
        bench: Bench::small(2.0e-6),
        start: State {
            motor: MotorState { current_a: 0.0, motor_rad_s: 100.0 },
            ..State::default()
        },
        stretches: vec![(Action::Brake(1.0), 0.24)],
        step_s: 5.0e-6,
        steps_per_sample: 400,
    }
}

/// Let go within a detent, shorted: it swings. Without dry friction, which would hold it. So slow that
/// detents are not faded out.
fn detents(rig: &Rig) -> Case {
    let mut data = rig.motor.clone();
    (data.cogging_n_m, data.cogging_per_turn) = DETENTS;
    let motor = Motor { friction_n_m: 0.0, ..Motor::new(&rig.motor) };
    Case {
        name: "demo's motor with detents, shorted",
        bench: Bench { cogging: Some(Cogging::new(&data)), ..Bench::of(motor, 12.0) },
        start: State { wheel_rad: 0.1, ..State::default() },
        stretches: vec![(Action::Brake(1.0), 0.1)],
        step_s: 1.0e-5,
        steps_per_sample: 20,
    }
}

fn reported(case: Case) -> Value {
    let mut now = case.start;
    let mut rows = vec![now];
    for (action, seconds) in &case.stretches {
        let sample_s = case.step_s * f64::from(case.steps_per_sample);
        for _ in 0..(seconds / sample_s).round() as usize {
            now = case.bench.run(*action, now, sample_s, case.steps_per_sample);
            rows.push(now);
        }
    }
    let signal = |of: fn(&State) -> f64| rows.iter().map(of).collect::<Vec<f64>>();
    let volts = |action: &Action| match action {
        Action::Drive(duty) => duty * case.bench.volts,
        // A short, as far as a program can tell that knows of no bridge.
        _ => 0.0,
    };
    let stretches: Vec<[f64; 2]> =
        case.stretches.iter().map(|(action, seconds)| [volts(action), *seconds]).collect();
    json!({
        "name": case.name,
        "motor": of_motor(&case.bench.motor),
        "cogging": case.bench.cogging.map(|_| json!({ "n_m": DETENTS.0, "per_turn": DETENTS.1 })),
        "start": { "motor_rad_s": case.start.motor.motor_rad_s, "rotor_rad": case.start.wheel_rad },
        "stretches": stretches,
        "sample_s": case.step_s * f64::from(case.steps_per_sample),
        "signals": {
            "current_a": signal(|now| now.motor.current_a),
            "motor_rad_s": signal(|now| now.motor.motor_rad_s),
            "rotor_rad": signal(|now| now.wheel_rad),
        },
    })
}

fn of_motor(motor: &Motor) -> Value {
    json!({
        "constant": motor.constant,
        "resistance_ohm": motor.resistance_ohm,
        "inductance_h": motor.inductance_h,
        "friction_n_m": motor.friction_n_m,
        "viscous_n_m_s": motor.viscous_n_m_s,
        "inertia_kg_m2": motor.inertia_kg_m2,
    })
}

/// Torque of shorted motors at a speed held from outside, after the check M11.
fn held(rig: &Rig) -> Value {
    let demo = Motor { friction_n_m: 0.0, viscous_n_m_s: 0.0, ..Motor::new(&rig.motor) };
    let rows: Vec<Value> = [(Bench::small(1.0e-3), 100.0), (Bench::of(demo, 12.0), -800.0)]
        .iter()
        .map(|(bench, rad_s)| {
            let torque = bench.torque(&bench.held(Action::Brake(1.0), *rad_s));
            json!({ "motor": of_motor(&bench.motor), "motor_rad_s": rad_s, "n_m": torque })
        })
        .collect();
    json!(rows)
}

/// A minute of 2 V on a motor that cannot turn, from a supply that does not give way: the whole plant,
/// its wheels wedged, its case as cold as the air.
fn stalled(mut rig: Rig) -> Value {
    let (volts, supply_v) = (2.0, 12.0);
    let pack = &mut rig.pack;
    (pack.cells, pack.ocv_v) = (1, vec![[0.0, supply_v], [1.0, supply_v]]);
    // A bench's supply has no label.
    pack.label_v = None;
    (pack.resistance_ohm_per_cell, pack.delayed_ohm_per_cell, pack.leads_ohm) = (0.0, 0.0, 0.0);
    rig.bridge.resistance_ohm = 0.0;
    rig.motor.case_j_per_k = 1.0e12;
    let wedge = Snag {
        at_m: 1.0e-6,
        stiffness_n_m_per_rad: 500.0,
        break_n_m: 1.0e6,
        then: AfterBreak::Stays,
    };
    let course = Course {
        profile_m: vec![[-1.0, 0.0], [1.0, 0.0]],
        rough: None,
        start_m: 0.0,
        surfaces: vec![Surface { from_m: -1.0, ..Surface::default() }],
        snags: vec![wedge],
    };
    let plant = Plant::new(&rig, &course);
    let mut state = plant.at_rest(&rig, course.start_m);
    let action = Action::Drive(volts / supply_v);
    let (mut current_a, mut winding_c) = (Vec::new(), Vec::new());
    for _ in 0..120 {
        for _ in 0..(0.5 / DEFAULT_STEP_S) as u32 {
            plant.advance(&mut state, action, DEFAULT_STEP_S);
        }
        current_a.push(state.now.motor.current_a);
        winding_c.push(state.now.winding_c);
    }
    json!({
        "name": "demo's motor held fast, 2 V",
        "motor": of_motor(&Motor::new(&rig.motor)),
        "volts": volts,
        "air_c": rig.vehicle.air_c,
        "winding_j_per_k": rig.motor.winding_j_per_k,
        "winding_to_case_k_per_w": rig.motor.winding_to_case_k_per_w,
        "sample_s": 0.5,
        "signals": { "current_a": current_a, "winding_c": winding_c },
    })
}
