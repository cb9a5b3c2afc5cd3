//! The plant's parts one by one, one step of the whole, and a second with all of it switched on.
#![allow(missing_docs, clippy::expect_used, reason = "a benchmark that cannot start should panic")]

use std::hint::black_box;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use easeoff_plant::parts::bridge::Action;
use easeoff_plant::parts::friction::Bristle;
use easeoff_plant::parts::servo::Servo;
use easeoff_plant::parts::tyre_kind::Tyre;
use easeoff_plant::rig::Steering;
use easeoff_plant::{Plant, PlantState};
use easeoff_sim::files::demo;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::{DEFAULT_STEP_S, Simulation};

/// Everything a rig file can switch on but the resolved bridge, on rough ground.
fn everything() -> Scenario {
    let mut scenario = demo::scenario("garden").expect("the demo loads");
    let rig = &mut scenario.rig;
    (rig.motor.cogging_n_m, rig.motor.cogging_per_turn) = (0.004, 12);
    let sensors = &mut rig.sensors;
    (sensors.speed_edges_per_turn, sensors.adc_bits, sensors.temperature_lag_s) = (12, 12, 5.0);
    (sensors.noise_a, sensors.noise_v) = (0.2, 0.05);
    rig.steering = Some(Steering {
        supply_v: 6.0,
        dropout_v: 0.5,
        limit_a: 4.0,
        efficiency: 0.85,
        receiver_v: 3.5,
        receiver_holds_s: 0.005,
        receiver_restart_s: 0.5,
        idle_a: 0.1,
        stall_a: 3.0,
        rated_v: 6.0,
        travel_s: 0.2,
        lag_s: 0.02,
        load: 0.2,
    });
    scenario.driver.radio.jitter_us = 2.0;
    scenario.driver.steer = vec![[0.0, 0.0], [8.0, 1.0], [16.0, -1.0]];
    scenario
}

/// Driving, two seconds into the run.
fn moving(scenario: &Scenario) -> Simulation<'_> {
    let mut simulation = Simulation::new(scenario, DEFAULT_STEP_S).expect("runs");
    for _ in 0..2_000 {
        simulation.tick().expect("runs");
    }
    simulation
}

fn parts(criterion: &mut Criterion) {
    let scenario = everything();
    let simulation = moving(&scenario);
    let (plant, state): (&Plant, PlantState) = (&simulation.plant, simulation.state);
    let now = state.now;
    let footing = plant.ground.at(now.place_m);
    let servo = Servo::new(scenario.rig.steering.as_ref().expect("has one"));
    let mut group = criterion.benchmark_group("plant part");
    group.bench_function("pack", |b| {
        b.iter(|| plant.pack.open_v(black_box(now.charge), now.delayed_v));
    });
    group.bench_function("cogging", |b| b.iter(|| plant.cogging.against(black_box(3.0), 40.0)));
    group.bench_function("heat", |b| b.iter(|| plant.heat.rates(black_box(9.0), 40.0, 30.0)));
    group.bench_function("drive line", |b| {
        b.iter(|| {
            let shaft_n_m = plant.line.shaft_torque(black_box(now.twist_rad), 0.1);
            plant.line.motor_load(shaft_n_m, Bristle::sliding(1.0))
        });
    });
    group.bench_function("tyre", |b| {
        b.iter(|| plant.tyres.grips(black_box(&now.tyres), 0.02, footing.axles));
    });
    group.bench_function("ground", |b| b.iter(|| plant.ground.at(black_box(now.place_m))));
    group.bench_function("servo", |b| {
        let mut servo_state = *state.servo();
        b.iter(|| servo.step(black_box(&mut servo_state), 11.0, DEFAULT_STEP_S));
    });
    group.bench_function("derivative of the whole", |b| {
        b.iter(|| plant.flows(black_box(&state), Action::Drive(0.4)));
    });
    group.bench_function("step of the whole", |b| {
        let mut moving = state;
        b.iter(|| plant.advance(black_box(&mut moving), Action::Drive(0.4), DEFAULT_STEP_S));
    });
    group.finish();
}

fn seconds(criterion: &mut Criterion) {
    let scenario = everything();
    let mut resolved = scenario.clone();
    resolved.rig.bridge.switched_hz = Some(16_000.0);
    let mut group = criterion.benchmark_group("one simulated second");
    for (name, scenario, ticks) in [
        ("with everything", &scenario, 1_000),
        ("its first 20 ms, every PWM period", &resolved, 20),
    ] {
        group.bench_function(name, |bencher| {
            bencher.iter_batched_ref(
                || moving(scenario),
                |simulation| (0..ticks).map(|_| simulation.tick().expect("runs")).last(),
                BatchSize::LargeInput,
            );
        });
    }
    group.finish();
}

criterion_group!(benches, parts, seconds);
criterion_main!(benches);
