//! Vehicle, ground and pack held against published values. Each check
//! names its source (docs/src/sources.md lists them all); "algebra" means that no publication is claimed.

use easeoff_core::{Command, Settings, Strength};
use easeoff_plant::course::{Course, Surface};
use easeoff_plant::parts::bridge::Action;
use easeoff_plant::parts::pack::Pack;
use easeoff_plant::rig::{PackData, Rig};
use easeoff_plant::state::{State, rk4};
use easeoff_plant::{AIR_DENSITY, GRAVITY, Plant, PlantState};
use easeoff_sim::files::driver::{Driver, Motion, Radio};
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::files::{demo, tune};
use easeoff_sim::run::simulate;
use easeoff_tests::near;

fn slope(run_m: f64, rise_m: f64, rolling: f64) -> Course {
    Course {
        profile_m: vec![[0.0, 0.0], [run_m, rise_m]],
        rough: None,
        start_m: 0.0,
        surfaces: vec![Surface { from_m: 0.0, grip: 0.9, grip_sliding: 0.8, rolling }],
        snags: Vec::new(),
    }
}

/// Forces of grade and air, and of rolling \[N\], on a vehicle that rolls without slip.
fn resistances(rig: &Rig, course: &Course, speed_m_s: f64) -> [f64; 2] {
    let plant = Plant::new(rig, course);
    let mut state: PlantState = plant.at_rest(rig, 50.0);
    state.now.speed_m_s = speed_m_s;
    state.now.wheel_rad_s = speed_m_s / rig.wheels.radius_m;
    // The shaft follows, so that it carries nothing; the tyres are slack, so that nothing but the
    // resistances acts: on the body grade and air, on the wheels rolling.
    state.now.motor.motor_rad_s = state.now.wheel_rad_s * plant.line.ratio;
    let flows = plant.flows(&state, Action::Coast);
    near(flows.shaft_n_m, 0.0, 1e-9);
    near(flows.tyre_n, 0.0, 1e-9);
    let body_n = -flows.rates.speed_m_s * rig.vehicle.mass_kg;
    let wheel_n_m = -flows.rates.wheel_rad_s * rig.wheels.inertia_kg_m2;
    [body_n, wheel_n_m / rig.wheels.radius_m]
}

/// V1. Modelica Standard Library, Translational.Examples.Vehicle: 100 kg, area 1, drag 0.5, air
/// 1.18 kg/m^3, rolling 0.01, radius 0.25 m, 25/3.5 m/s.
#[test]
fn v1_driving_resistances() {
    let mut rig = demo::rig().unwrap();
    rig.vehicle.mass_kg = 100.0;
    // Our air is that of ISO 2533; the area takes up the difference.
    rig.vehicle.drag_area_m2 = 0.5 * 1.18 / AIR_DENSITY;
    rig.wheels.radius_m = 0.25;
    // Heavy, so that the slack bristle's damping alone asks for more than all of rolling resistance.
    rig.wheels.inertia_kg_m2 = 10.0;
    let speed = 25.0 / 3.5;
    let [air, roll] = resistances(&rig, &slope(100.0, 0.0, 0.01), speed);
    near(air, 15.051_02, 1e-5);
    near(roll, 9.806_65, 1e-5);
    near(air + roll, 24.857_67, 2e-5);
    near((air + roll) * rig.wheels.radius_m, 6.214_418, 1e-5);
    let [air_and_grade, roll] = resistances(&rig, &slope(100.0, 5.0, 0.01), speed);
    near(air_and_grade - air, 48.972_07, 1e-5);
    near(roll, 9.794_415, 1e-5);
}

/// V2. Modelica Standard Library, text of Translational.Components.Vehicle: a grade is the tangent
/// of the slope, so 10 m on 100 m is 0.1.
#[test]
fn v2_a_grade_is_a_tangent() {
    let mut rig = demo::rig().unwrap();
    rig.vehicle.drag_area_m2 = 0.0;
    let [grade_n, _] = resistances(&rig, &slope(100.0, 10.0, 0.0), 1.0);
    let sine = grade_n / (rig.vehicle.mass_kg * GRAVITY);
    near(libm::tan(libm::asin(sine)), 0.1, 1e-9);
}

/// B1. PyBaMM parameter set Ecker2015 (Ecker et al. 2015, J. Electrochem. Soc.): open-circuit voltage
/// over state of charge, +-0.5 mV.
#[test]
fn b1_open_circuit_voltage_of_a_pouch_cell() {
    let published = [
        [0.0, 2.5],
        [0.05, 3.2938],
        [0.1, 3.4586],
        [0.2, 3.5870],
        [0.3, 3.7094],
        [0.4, 3.7700],
        [0.5, 3.7873],
        [0.6, 3.8155],
        [0.7, 3.8823],
        [0.8, 3.9868],
        [0.9, 4.0789],
        [1.0, 4.2],
    ];
    let rig = demo::rig().unwrap();
    let data = PackData {
        cells: 2,
        label_v: Some(7.4),
        capacity_ah: 3.0,
        ocv_v: published.to_vec(),
        ..rig.pack
    };
    let pack = Pack::new(&data);
    for [charge, volts] in published {
        near(pack.open_v(charge, 0.0), 2.0 * volts, 2.0 * 0.5e-3);
    }
    // Left at a current of one capacity per hour it meets each published point on its hour.
    let mut now = State { charge: 1.0, ..State::default() };
    for tenth in (0..10).rev() {
        for _ in 0..360 {
            now = rk4(&now, 1.0, |now| State {
                charge: pack.rates(3.0, now.delayed_v).1,
                ..State::default()
            });
        }
        let point = published.iter().find(|p| (p[0] * 10.0 - f64::from(tenth)).abs() < 1e-9);
        near(pack.open_v(now.charge, 0.0) / 2.0, point.unwrap()[1], 0.5e-3);
    }
    // No wiggle between the points.
    let curve: Vec<f64> = (0..=1_000).map(|i| pack.open_v(f64::from(i) / 1_000.0, 0.0)).collect();
    assert!(curve.windows(2).all(|pair| pair[1] >= pair[0]));
}

/// B3 and B5. PyBaMM parameter set Chen2020 (Chen et al. 2020), a 21700 cell of 5 A h; the polynomial of PyPI's
/// thevenin 0.2.1 (NREL), at tenths. The curve meets every point and does not wiggle between them.
#[test]
fn b3_b5_other_cells_are_met_and_not_overshot() {
    let chen = [
        [0.0, 2.5],
        [0.05, 3.1094],
        [0.1, 3.2959],
        [0.2, 3.4852],
        [0.3, 3.5814],
        [0.4, 3.6670],
        [0.5, 3.7509],
        [0.6, 3.8406],
        [0.7, 3.9479],
        [0.8, 4.0421],
        [0.9, 4.0967],
        [1.0, 4.2],
    ];
    let thevenin =
        [2.8, 3.5042, 3.6614, 3.7138, 3.7698, 3.8297, 3.8879, 3.9552, 4.0421, 4.1486, 4.3];
    let tenths = thevenin.iter().zip(0_u8..).map(|(volts, n)| [f64::from(n) / 10.0, *volts]);
    let rig = demo::rig().unwrap();
    for published in [chen.to_vec(), tenths.collect()] {
        let pack = Pack::new(&PackData { ocv_v: published.clone(), ..rig.pack.clone() });
        let cells = f64::from(rig.pack.cells);
        for [charge, volts] in &published {
            near(pack.open_v(*charge, 0.0) / cells, *volts, 0.5e-3);
        }
        let curve: Vec<f64> =
            (0..=1_000).map(|i| pack.open_v(f64::from(i) / 1_000.0, 0.0)).collect();
        assert!(curve.windows(2).all(|pair| pair[1] >= pair[0]));
        // Against every second point alone: between them no further off than the step between points.
        let thinned: Vec<[f64; 2]> = published.iter().copied().step_by(2).collect();
        let coarse = Pack::new(&PackData { ocv_v: thinned, ..rig.pack.clone() });
        for pair in published.windows(2).filter(|pair| pair[1][0] <= 0.9) {
            let apart = coarse.open_v(pair[1][0], 0.0) / cells - pair[1][1];
            assert!(apart.abs() < (pair[1][1] - pair[0][1]).max(0.05), "{pair:?}: {apart}");
        }
    }
}

/// B7. The pattern of IEC 61960's resistance test (second hand; the currents from memory): 0.2 C for 10 s, then
/// 1 C for 1 s; the change of voltage over the change of current is the immediate resistance and what of the
/// delayed one has come by then, `R_1 (1 - e^(-t / tau))` of each current (algebra).
#[test]
fn b7_the_two_step_resistance_test_finds_the_packs_resistance() {
    let rig = demo::rig().unwrap();
    let data = PackData { ocv_v: vec![[0.0, 3.7], [1.0, 3.7]], ..rig.pack.clone() };
    let pack = Pack::new(&data);
    let (low_a, high_a) = (0.2 * data.capacity_ah, data.capacity_ah);
    let run = |now: State, amps: f64, seconds: u32| {
        (0..seconds * 1_000).fold(now, |now, _| {
            rk4(&now, 1.0e-3, |now| State {
                delayed_v: pack.rates(amps, now.delayed_v).0,
                ..State::default()
            })
        })
    };
    let volts =
        |now: &State, amps: f64| pack.open_v(0.5, now.delayed_v) - pack.resistance_ohm * amps;
    let after_low = run(State::default(), low_a, 10);
    let after_high = run(after_low, high_a, 1);
    let found = (volts(&after_low, low_a) - volts(&after_high, high_a)) / (high_a - low_a);
    let come = |amps: f64, seconds: f64| {
        amps * data.delayed_ohm_per_cell * (1.0 - libm::exp(-seconds / data.delayed_s))
    };
    let fades = libm::exp(-1.0 / data.delayed_s);
    let delayed = come(high_a, 1.0) + come(low_a, 10.0) * (fades - 1.0);
    let exact = pack.resistance_ohm + f64::from(data.cells) * delayed / (high_a - low_a);
    near(found, exact, 1.0e-6 * exact);
}

/// Algebra, no publication claimed: on a slope a shorted motor does not hold, it creeps, at the speed
/// whose short-circuit torque carries the weight: w = T R / K^2, T = m g sin(slope) r / G.
#[test]
fn a_shorted_rig_creeps_down_a_slope_as_the_formula_says() {
    let mut rig = demo::rig().unwrap();
    rig.vehicle.drag_area_m2 = 0.0;
    rig.gears.efficiency_driving = 1.0;
    rig.gears.efficiency_driven_back = 1.0;
    rig.gears.backlash_deg = 0.0;
    rig.motor.no_load_a = 0.0;
    // So large that the winding stays at 20 degrees, where its resistance is given.
    rig.motor.winding_j_per_k = 1.0e5;
    let angle = 12.0_f64.to_radians();
    let mut course = slope(10.0 * libm::cos(angle), -10.0 * libm::sin(angle), 0.0);
    course.start_m = 1.0;
    let scenario = Scenario {
        tune: Settings { motor: tune::motor_settings(&rig), ..Settings::default() },
        rig,
        course,
        driver: Driver {
            duration_s: 5.0,
            motion: Motion::ByTime(vec![[0.0, 0.0]]),
            radio: Radio {
                frame_ms: 20.0,
                neutral_us: 1_500.0,
                travel_us: 500.0,
                jitter_us: 0.0,
                missing_share: 0.0,
            },
            steer: Vec::new(),
            lost_s: Vec::new(),
            retunes: Vec::new(),
        },
    };
    let rig = &scenario.rig;
    let run = simulate(&scenario, 0.25e-3).unwrap();
    let last = run.rows.last().unwrap();
    assert_eq!(last.command, Command::Brake { strength: Strength::FULL });
    let ratio = rig.gears.ratio();
    let torque = rig.vehicle.mass_kg * GRAVITY * libm::sin(angle) * rig.wheels.radius_m / ratio;
    let ohm = rig.motor.resistance_ohm + rig.bridge.resistance_ohm;
    let creep = torque * ohm / (rig.motor.constant() * rig.motor.constant());
    near(last.plant.now.motor.motor_rad_s, creep, 1e-3 * creep);
    near(last.speed_m_s(), creep / ratio * rig.wheels.radius_m, 1e-3 * last.speed_m_s());
    near(
        last.plant.now.motor.current_a,
        -torque / rig.motor.constant(),
        1e-3 * torque / rig.motor.constant(),
    );
}
