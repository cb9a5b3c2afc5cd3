//! The averaged bridge against one that resolves every PWM period, in the whole plant, and where the
//! average stops being true.

use easeoff_core::{Command, Output, Settings, Speed, Strength, TickRate, Volt};
use easeoff_plant::Plant;
use easeoff_plant::course::Course;
use easeoff_plant::ledger::Ledger;
use easeoff_plant::parts::bridge::Action;
use easeoff_plant::rig::Rig;
use easeoff_sim::files::demo;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::files::tune::motor_settings;
use easeoff_sim::run::{DEFAULT_STEP_S, Method, simulate};
use easeoff_sim::score::{LURCH, RUN_ON, Value};
use easeoff_sim::study::measured::Measuring;
use easeoff_tests::near;

/// The demo rig with a rotor so heavy that its speed hardly changes, without friction.
fn bench() -> Rig {
    let mut rig = demo::rig().unwrap();
    (rig.motor.rotor_inertia_kg_m2, rig.motor.no_load_a) = (10.0, 0.0);
    // Nothing else warms, sags or waits.
    (rig.motor.winding_j_per_k, rig.motor.case_j_per_k) = (1.0e5, 1.0e6);
    (rig.bridge.resistance_per_k, rig.pack.delayed_ohm_per_cell) = (0.0, 0.0);
    // The averages take the bus as steady: a capacitor large beside a period.
    rig.bridge.capacitor_uf = 20_000.0;
    rig
}

/// A level, so short of grip that the wheels slip along.
fn course() -> Course {
    let mut course = demo::scenario("let-off").unwrap().course;
    course.profile_m = vec![[0.0, 0.0], [400.0, 0.0]];
    course
}

/// Mean motor current and pack current over 0.2 s after 0.2 s at a motor speed.
fn means(rig: &Rig, action: Action, motor_rad_s: f64) -> [f64; 2] {
    let plant = Plant::new(rig, &course());
    let mut state = plant.at_rest(rig, 1.0);
    state.now.motor.motor_rad_s = motor_rad_s;
    let steps = 800_u32;
    let mut from = state;
    let mut flowed = 0.0;
    for step in 0..2 * steps {
        if step == steps {
            (from, flowed) = (state, 0.0);
        }
        plant.advance(&mut state, action, DEFAULT_STEP_S);
        flowed += state.mean_a();
    }
    let seconds = f64::from(steps) * DEFAULT_STEP_S;
    let drawn_c = plant.pack.drawn_c(from.now.charge, state.now.charge);
    [flowed / f64::from(steps), drawn_c / seconds]
}

fn switched(rig: &Rig, hz: f64) -> Rig {
    let mut rig = rig.clone();
    rig.bridge.switched_hz = Some(hz);
    rig
}

/// P4. Sign-magnitude drive averages to `D V` while the ripple is small (switch states: an article series on
/// H-bridges; average: algebra).
#[test]
fn p4_the_whole_rig_drives_on_the_average() {
    for synchronous in [true, false] {
        let mut rig = bench();
        rig.bridge.synchronous = synchronous;
        for (duty, speed) in [(0.3, 300.0), (0.6, 800.0), (0.9, 1_000.0)] {
            let action = Action::Drive(duty);
            let [motor_a, pack_a] = means(&rig, action, speed);
            let [motor_sw, pack_sw] = means(&switched(&rig, 16_000.0), action, speed);
            println!(
                "{duty} {speed}: {motor_a:.3} {motor_sw:.3} A, pack {pack_a:.3} {pack_sw:.3} A"
            );
            near(motor_sw, motor_a, 0.002 * motor_a.abs());
            near(pack_sw, pack_a, 0.002 * pack_a.abs());
        }
    }
}

/// P6. The windings shorted for a share brake with `b K w / R` while L/R is short beside every part of the
/// period (algebra).
#[test]
fn p6_the_whole_rig_brakes_on_the_average_where_the_winding_is_quick() {
    let mut rig = bench();
    // L/R is 13 us; the shortest part of the period is 2 ms.
    rig.motor.inductance_uh = 1.1;
    for (share, speed) in [(0.2, 500.0), (0.5, 1_000.0), (1.0, 700.0)] {
        let step_s = 1.0e-5;
        let of = |rig: &Rig| {
            let plant = Plant::new(rig, &course());
            let mut state = plant.at_rest(rig, 1.0);
            state.now.motor.motor_rad_s = speed;
            // Ten periods.
            (0..10_000)
                .map(|_| {
                    plant.advance(&mut state, Action::Brake(share), step_s);
                    state.mean_a()
                })
                .sum::<f64>()
                / 10_000.0
        };
        let (averaged, resolved) = (of(&rig), of(&switched(&rig, 100.0)));
        println!("{share} {speed}: {averaged:.3} {resolved:.3} A");
        near(resolved, averaged, 0.01 * averaged.abs());
    }
}

/// Where L/R is long beside the period, a shorted and opened motor is a boost converter: the pack takes
/// the current of the open part. `e` is `K w` (textbook relations, e.g. Erickson and Maksimovic, Fundamentals
/// of Power Electronics, from memory; algebra):
///
/// ```text
/// continuous      i = (e - (1 - b) V) / R                       for b well above 1 - e / V
/// discontinuous   i = e b^2 T / (2 L) * V / (V - e)             below
/// ```
///
/// The average `b e / R` is then far off: hardly any brake below the limit, nearly all of it just above.
#[test]
fn with_a_fast_pwm_a_partial_brake_is_a_boost_converter() {
    let rig = bench();
    let (hz, speed) = (16_000.0, 1_000.0);
    let emf_v = rig.motor.constant() * speed;
    let ohm = rig.motor.resistance_ohm + rig.bridge.resistance_ohm;
    let of = |share| means(&switched(&rig, hz), Action::Brake(share), speed);
    let plant = Plant::new(&rig, &course());
    let rest = plant.at_rest(&rig, 1.0).now;
    let bus_v =
        |pack_a: f64| plant.pack.open_v(rest.charge, 0.0) - plant.pack.resistance_ohm * pack_a;
    println!("continuous from {:.3}", 1.0 - emf_v / bus_v(0.0));
    for share in [0.65, 0.8, 0.95] {
        let [motor_a, pack_a] = of(share);
        let exact = -(emf_v - (1.0 - share) * bus_v(pack_a)) / ohm;
        println!(
            "{share}: {motor_a:.3} A, on paper {exact:.3}, averaged {:.1}",
            -share * emf_v / ohm
        );
        near(motor_a, exact, 0.002 * exact.abs());
        // What the winding does not keep comes to the pack.
        near(pack_a, (1.0 - share) * motor_a, 0.02 * motor_a.abs());
    }
    let period_s = 1.0 / hz;
    for share in [0.1, 0.3, 0.45] {
        let [motor_a, pack_a] = of(share);
        let bus_v = bus_v(pack_a);
        let inductance_h = rig.motor.inductance_uh * 1.0e-6;
        let peak_a = emf_v * share * period_s / inductance_h;
        let exact = -0.5 * peak_a * share * bus_v / (bus_v - emf_v);
        println!(
            "{share}: {motor_a:.4} A, on paper {exact:.4}, averaged {:.1}",
            -share * emf_v / ohm
        );
        // The paper leaves out the drop in the resistance.
        near(motor_a, exact, 0.06 * exact.abs());
        assert!(motor_a.abs() < 0.06 * share * emf_v / ohm, "hardly any brake");
    }
}

/// What the brake is told by the core's law for a fast bridge makes the current that the averaged brake
/// stands for: `i = s e / R` (algebra; the relations are those above).
#[test]
fn the_law_for_a_fast_bridge_brakes_as_asked() {
    let rig = bench();
    let tune = Settings { motor: motor_settings(&rig), ..Settings::default() };
    let controller = tune.prepare(TickRate::new(1_000).unwrap()).unwrap();
    let ohm = rig.motor.resistance_ohm + rig.bridge.resistance_ohm;
    for speed in [200.0, 600.0, 1_000.0] {
        let emf_v = rig.motor.constant() * speed;
        for asked in [0.1, 0.3, 0.6, 0.9, 1.0] {
            let command = Command::Brake { strength: Strength::new(asked).unwrap() };
            let mut output = Output { command, ..Output::default() };
            output.trace.speed = Speed::new((speed / rig.gears.ratio()) as f32);
            let mut bus_v = 11.1;
            let mut braked_a = 0.0;
            // The board measures the bus, which rises with what comes back.
            for _ in 0..4 {
                let command = controller.for_fast_bridge(&output, Volt::new(bus_v as f32));
                let [motor_a, pack_a] =
                    means(&switched(&rig, 16_000.0), easeoff_sim::run::action(command), speed);
                let plant = Plant::new(&rig, &course());
                let rest = plant.at_rest(&rig, 1.0).now;
                bus_v = plant.pack.open_v(rest.charge, 0.0) - plant.pack.resistance_ohm * pack_a;
                braked_a = -motor_a;
            }
            let due_a = f64::from(asked) * emf_v / ohm;
            println!("{speed} rad/s, {asked}: {braked_a:.3} A, asked {due_a:.3}");
            near(braked_a, due_a, 0.002 * due_a + 0.005);
        }
    }
}

/// The let-off demo on a synchronous bridge at 16 kHz: with the law it stops as on the average, without
/// it it does not stop at all.
#[test]
fn with_the_law_the_demo_stops_as_on_the_average() {
    let mut scenario = demo::scenario("let-off").unwrap();
    scenario.rig.bridge.synchronous = true;
    let stop = |scenario: &Scenario| {
        let run = simulate(scenario, DEFAULT_STEP_S).unwrap();
        let scores = Measuring::own(Method::default()).all(scenario, &run).unwrap();
        (scores.value(&RUN_ON), scores.value(&LURCH))
    };
    let averaged = stop(&scenario);
    scenario.rig.bridge.switched_hz = Some(16_000.0);
    let reported = stop(&scenario);
    scenario.rig.board.fast_bridge_law = false;
    let untold = stop(&scenario);
    println!("averaged {averaged:?}, by the law {reported:?}, without {untold:?}");
    let number = |value: Value| value.number().unwrap();
    near(number(reported.0), number(averaged.0), 0.08 * number(averaged.0));
    near(number(reported.1), number(averaged.1), 0.08 * number(averaged.1));
    assert_eq!(untold.0, Value::Never);
}

/// A whole run of the demo, resolved: the energy adds up, and a synchronous bridge drives as on the
/// average. Without, at the demo's light load, the current has gaps: its mean voltage is higher than the average says.
#[test]
fn the_demo_resolved_adds_up_and_drives_the_same() {
    let mut scenario = demo::scenario("let-off").unwrap();
    scenario.driver.duration_s = 3.0;
    scenario.rig.bridge.synchronous = true;
    let averaged = simulate(&scenario, DEFAULT_STEP_S).unwrap();
    scenario.rig.bridge.switched_hz = Some(16_000.0);
    let resolved = simulate(&scenario, DEFAULT_STEP_S).unwrap();
    let (Some(a), Some(b)) = (averaged.rows.last(), resolved.rows.last()) else { unreachable!() };
    println!("{:?} {:?}", a.plant.now.place_m, b.plant.now.place_m);
    near(b.plant.now.place_m, a.plant.now.place_m, 0.01 * a.plant.now.place_m);
    let plant = Plant::new(&scenario.rig, &scenario.course);
    let ledger = Ledger::of(&plant, &resolved.rows[0].plant, &b.plant);
    let share = ledger.residual_j() / ledger.throughput_j;
    println!("residual {share:.2e} of {} J", ledger.throughput_j);
    assert!(share.abs() < 1.0e-3, "{share}: {ledger:?}");
}
