//! The motor held against published values. Each check names its source (docs/src/sources.md lists them
//! all); "algebra" means that no publication is claimed.

use std::f64::consts::{FRAC_2_PI, PI};

use easeoff_plant::parts::bridge::Action;
use easeoff_plant::parts::motor::Motor;
use easeoff_plant::parts::motor_kind::MotorState;
use easeoff_plant::rig::MotorData;
use easeoff_plant::state::State;
use easeoff_sim::files::demo;
use easeoff_tests::bench::Bench;
use easeoff_tests::near;

fn rpm(rad_s: f64) -> f64 {
    rad_s * 60.0 / (2.0 * PI)
}

/// Roots of `x^2 + a x + b`, the larger first.
fn roots([a, b]: [f64; 2]) -> [f64; 2] {
    let spread = libm::sqrt(a * a / 4.0 - b);
    [-a / 2.0 + spread, -a / 2.0 - spread]
}

fn motor_of(data: MotorData) -> Motor {
    Motor::new(&data)
}

fn data() -> MotorData {
    demo::rig().unwrap().motor
}

/// M1. ctms.engin.umich.edu, example MotorSpeed, section SystemAnalysis: "(s+9.997)(s+2.003)".
#[test]
fn m1_poles_of_the_tutorial_motor() {
    let [slow, fast] = roots(Bench::tutorial().characteristic());
    near(slow, -2.003, 1e-3);
    near(fast, -9.997, 1e-3);
}

/// M2, same page: 0.1 rad/s printed; K / (b R + K^2) = 0.0999001.
#[test]
fn m2_steady_speed_of_the_tutorial_motor() {
    let end = Bench::tutorial().run(Action::Drive(1.0), State::default(), 15.0, 15_000);
    near(end.motor.motor_rad_s, 0.1, 1e-3);
    near(end.motor.motor_rad_s, 0.099_900_1, 1e-6);
}

/// M3, same page: settles within 2 % after 2.07 s.
#[test]
fn m3_settling_time_of_the_tutorial_motor() {
    let bench = Bench::tutorial();
    let steady = bench.run(Action::Drive(1.0), State::default(), 15.0, 15_000).motor.motor_rad_s;
    let step_s = 1.0e-3;
    let (mut now, mut settled_s) = (State::default(), 0.0);
    for tick in 1..5_000 {
        now = bench.step(Action::Drive(1.0), &now, step_s);
        if (now.motor.motor_rad_s / steady - 1.0).abs() > 0.02 {
            settled_s = f64::from(tick) * step_s;
        }
    }
    near(settled_s, 2.07, 0.01);
}

/// M4. Same tutorials, "DC Motor Speed: Digital Controller Design": zero-order hold, 0.05 s,
/// `0.0020586 (z + 0.8189) / ((z - 0.9047) (z - 0.6066))`, last digit +-1.
///
/// One period at 1 V, then none: the samples h follow `h3 = a h2 + b h1`, `h4 = a h3 + b h2`.
#[test]
fn m4_discrete_model_of_the_tutorial_motor() {
    let bench = Bench::tutorial();
    let mut now = bench.run(Action::Drive(1.0), State::default(), 0.05, 200);
    let mut h = vec![now.motor.motor_rad_s];
    for _ in 0..3 {
        now = bench.run(Action::Drive(0.0), now, 0.05, 200);
        h.push(now.motor.motor_rad_s);
    }
    let det = h[1] * h[1] - h[0] * h[2];
    let (a, b) = ((h[2] * h[1] - h[0] * h[3]) / det, (h[1] * h[3] - h[2] * h[2]) / det);
    let [slow, fast] = roots([-a, -b]);
    near(slow, 0.904_7, 1e-4);
    near(fast, 0.606_6, 1e-4);
    near(h[0], 0.002_058_6, 1e-7);
    near((h[1] - a * h[0]) / h[0], 0.818_9, 1e-4);
}

/// M5. The tutorial's motor, 1 V: values of the matrix exponential, which the MuJoCo 4.0.0 actuator
/// `dcmotor` reproduces within 1e-6 rad/s (both were run).
#[test]
fn m5_step_of_the_tutorial_motor() {
    let rows = [
        (0.5, 0.631_926, 0.054_170_1),
        (1.0, 0.864_130, 0.083_037_1),
        (2.0, 0.980_794, 0.097_623_5),
        (3.0, 0.996_543, 0.099_592_8),
    ];
    for (seconds, current_a, motor_rad_s) in rows {
        let now = Bench::tutorial().run(Action::Drive(1.0), State::default(), seconds, 3_000);
        near(now.motor.current_a, current_a, 1e-6);
        near(now.motor.motor_rad_s, motor_rad_s, 1e-6);
    }
}

/// The tutorial's motor under a control law of error and its integral and of current and speed, for 10 s after
/// a step of the wanted speed to 1 rad/s: time and speed, row by row.
fn controlled(from: State, law: impl Fn(f64, f64, &State, f64) -> f64) -> Vec<(f64, f64)> {
    let bench = Bench::tutorial();
    let (step_s, mut now, mut integral) = (1.0e-4, from, 0.0);
    (0..100_000)
        .map(|step| {
            let error = 1.0 - now.motor.motor_rad_s;
            integral += error * step_s;
            let slope = bench.torque(&now) / bench.motor.inertia_kg_m2;
            let volts = law(error, integral, &now, slope);
            now = Bench { volts, ..bench }.step(Action::Drive(1.0), &now, step_s);
            (f64::from(step + 1) * step_s, now.motor.motor_rad_s)
        })
        .collect()
}

fn peak(run: &[(f64, f64)]) -> (f64, f64) {
    run.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1)).unwrap()
}

/// M6. The same tutorials, "PID Controller Design": gain 100 alone, "error and overshoot too large"; the
/// numbers by python-control 0.10.2: end 0.909008, overshoot 24.92 % at 0.2316 s.
#[test]
fn m6_the_tutorial_motor_with_gain_alone() {
    let run = controlled(State::default(), |error, _, _, _| 100.0 * error);
    let end = run[run.len() - 1].1;
    near(end, 0.909_008, 1e-5);
    let (at_s, most) = peak(&run);
    near(100.0 * (most / end - 1.0), 24.92, 0.05);
    near(at_s, 0.231_6, 1e-3);
}

/// M7. The same page, gains 100, 200, 10: settles within 2 s, overshoot below 5 %, error below 1 % are
/// printed as met; by python-control 0.10.2 the overshoot is 1.028 % and 2 % is kept from 0.257 s on. The step's
/// derivative is an impulse, which leaves D / L in the winding.
#[test]
fn m7_the_tutorial_motor_with_pid() {
    let start =
        State { motor: MotorState { current_a: 10.0 / 0.5, motor_rad_s: 0.0 }, ..State::default() };
    let run = controlled(start, |error, integral, _, slope| {
        100.0 * error + 200.0 * integral - 10.0 * slope
    });
    let end = run[run.len() - 1].1;
    near(end, 1.0, 1e-4);
    near(100.0 * (peak(&run).1 - 1.0), 1.028, 0.01);
    let settled_s = run.iter().filter(|(_, w)| (w - 1.0).abs() > 0.02).map(|row| row.0).next_back();
    near(settled_s.unwrap(), 0.257, 2e-3);
}

/// Modelica Standard Library, DC_PermanentMagnet with its default data: 100 V, 100 A, 1425 rpm,
/// 0.05 ohm, 1.5 mH, 0.15 kg m^2. 1500 rpm without load at 100 V is 15 rpm/V.
fn library_machine() -> Bench {
    let motor = motor_of(MotorData {
        kv_rpm_per_v: 15.0,
        resistance_ohm: 0.05,
        inductance_uh: 1_500.0,
        no_load_a: 0.0,
        rotor_inertia_kg_m2: 0.15,
        ..data()
    });
    Bench::of(motor, 100.0)
}

/// M8. Modelica Standard Library, DC_PermanentMagnet and DcPermanentMagnetData.
#[test]
fn m8_permanent_magnet_machine() {
    let bench = library_machine();
    near(bench.motor.constant, FRAC_2_PI, 1e-7);
    let loaded = Bench { load_n_m: 63.66, ..bench };
    let end = loaded.run(Action::Drive(1.0), State::default(), 3.0, 30_000);
    near(end.motor.current_a, 100.0, 0.01);
    near(rpm(end.motor.motor_rad_s), 1_425.0, 0.01);
    let out_w = loaded.torque(&end) * end.motor.motor_rad_s;
    near(out_w, 9_500.0, 1.0);
    let flows = loaded.flows(Action::Drive(1.0), &end);
    near(100.0 * out_w / (flows.bus_v * flows.bus_a), 95.0, 0.01);

    let free = bench.run(Action::Drive(1.0), State::default(), 3.0, 30_000);
    near(rpm(free.motor.motor_rad_s), 1_500.0, 0.01);
    let stalled = bench.held(Action::Drive(1.0), 0.0);
    near(stalled.motor.current_a, 2_000.0, 1e-6);
    near(bench.torque(&stalled), 1_273.24, 0.01);
    // s^2 + s / tau_e + 1 / (tau_e tau_m)
    let [a, b] = bench.characteristic();
    near(1.0 / a, 30.0e-3, 1e-6);
    near(a / b, 18.506e-3, 1e-6);
}

/// M11. Algebra (K^2 w / R) for the Modelica machine; the second motor was run in MuJoCo 4.0.0,
/// actuator `dcmotor` without control: -1.25 N m exactly.
#[test]
fn m11_torque_of_a_shorted_motor() {
    let bench = library_machine();
    let shorted = bench.held(Action::Brake(1.0), 1_425.0 * 2.0 * PI / 60.0);
    near(shorted.motor.current_a, -1_900.0, 1e-6);
    near(bench.torque(&shorted), -1_209.58, 0.01);
    let small = Bench::small(1.0e-3);
    near(small.torque(&small.held(Action::Brake(1.0), 100.0)), -1.25, 1e-9);
}

/// M12. Algebra: a shorted motor of no inductance slows by 1/e in J R / K^2 = 0.08 s; MuJoCo 4.0.0
/// gives 36.811 of 100 rad/s at its step of 0.1 ms.
#[test]
fn m12_spin_down_of_a_shorted_motor() {
    // L/R = 10 us of 80 ms: the current lags by a part in 8,000, 0.01 rad/s at most.
    let bench = Bench::small(2.0e-6);
    let start =
        State { motor: MotorState { current_a: 0.0, motor_rad_s: 100.0 }, ..State::default() };
    let end = bench.run(Action::Brake(1.0), start, 0.08, 16_000);
    near(end.motor.motor_rad_s, 36.788, 0.01);
}

/// M15. Massachusetts Institute of Technology, course 2.007, "Understanding D.C. motor
/// characteristics": greatest power at half the free speed and half the stall torque.
#[test]
fn m15_greatest_power_is_half_way() {
    let rows = [
        ([600.0, 0.325], [300.0, 0.163], 5.105),
        ([3_750.0, 0.0722], [1_875.0, 0.0361], 7.088),
        ([92.0, 1.6], [46.0, 0.80], 3.854),
    ];
    for ([free_rpm, stall_n_m], [best_rpm, best_n_m], best_w) in rows {
        let volts = 12.0;
        let kv_rpm_per_v = free_rpm / volts;
        let constant = MotorData { kv_rpm_per_v, ..data() }.constant();
        let resistance_ohm = constant * volts / stall_n_m;
        let motor = motor_of(MotorData { kv_rpm_per_v, resistance_ohm, no_load_a: 0.0, ..data() });
        let bench = Bench::of(motor, volts);
        let power = |now: &State| bench.torque(now) * now.motor.motor_rad_s;
        let best = (1..1_000)
            .map(|part| {
                let speed = f64::from(part) / 1_000.0 * free_rpm * 2.0 * PI / 60.0;
                bench.held(Action::Drive(1.0), speed)
            })
            .max_by(|a, b| power(a).total_cmp(&power(b)))
            .unwrap();
        near(rpm(best.motor.motor_rad_s), best_rpm, 1e-3 * best_rpm);
        // The source rounds 0.1625 to 0.163.
        near(bench.torque(&best), best_n_m, 5.1e-4);
        near(power(&best), best_w, 6e-4);
    }
}

/// M16. MuJoCo documentation, "DC Motor Model" note, section 1.1 (Kt = Ke in SI units).
#[test]
fn m16_torque_constant_from_the_speed_constant() {
    for (kv_rpm_per_v, constant) in [(1_000.0, 9.549_297e-3), (3_500.0, 2.728_370e-3)] {
        near(MotorData { kv_rpm_per_v, ..data() }.constant(), constant, 1e-9);
    }
}

/// M17. Algebra (the textbook form, e.g. Hughes, is quoted from memory): 12 V, 0.1 ohm, 2 A free.
#[test]
fn m17_best_efficiency_with_constant_free_current() {
    let motor = motor_of(MotorData {
        kv_rpm_per_v: 1_000.0,
        resistance_ohm: 0.1,
        no_load_a: 2.0,
        no_load_v: 12.0,
        viscous_share: 0.0,
        ..data()
    });
    let bench = Bench::of(motor, 12.0);
    let free_rad_s = 12.0 / motor.constant;
    let efficiency = |now: &State| {
        let flows = bench.flows(Action::Drive(1.0), now);
        bench.torque(now) * now.motor.motor_rad_s / (flows.bus_v * flows.bus_a)
    };
    let best = (1..100_000)
        .map(|part| bench.held(Action::Drive(1.0), f64::from(part) * 1e-5 * free_rad_s))
        .filter(|now| bench.torque(now) > 0.0)
        .max_by(|a, b| efficiency(a).total_cmp(&efficiency(b)))
        .unwrap();
    near(best.motor.current_a, 15.4919, 2e-3);
    near(efficiency(&best), 0.758_468, 1e-6);
}
