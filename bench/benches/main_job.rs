//! One core step, one second of simulated driving, the whole demo.
#![allow(missing_docs, clippy::expect_used, reason = "a benchmark that cannot start should panic")]

use std::hint::black_box;
use std::time::Duration;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use easeoff::report::publish::one_run_results;
use easeoff_core::{Amp, Celsius, Input, Microseconds, Speed, State, TickRate, Volt};
use easeoff_sim::files::demo;
use easeoff_sim::run::{DEFAULT_STEP_S, Method, Simulation, simulate};
use easeoff_sim::study::compare::variants;

fn core_step(criterion: &mut Criterion) {
    let tune = demo::scenario("garden").expect("the demo loads").tune;
    let controller = tune.prepare(TickRate::new(1_000).expect("in range")).expect("a good tune");
    let input = |us: f32| Input {
        pulse: Microseconds::new(us),
        speed: Speed::new(20.0),
        current: Amp::new(5.0),
        voltage: Volt::new(11.5),
        temperature: Celsius::new(40.0),
    };
    let mut armed = State::default();
    for _ in 0..600 {
        controller.step(&mut armed, &input(1_500.0));
    }
    let mut group = criterion.benchmark_group("core step");
    for (name, us) in [("driving with hold", 1_700.0), ("drag brake, current law", 1_500.0)] {
        let (mut state, input) = (armed, input(us));
        group.bench_function(name, |bencher| {
            bencher.iter(|| controller.step(black_box(&mut state), black_box(&input)));
        });
    }
    group.finish();
}

fn simulated_second(criterion: &mut Criterion) {
    let scenario = demo::scenario("garden").expect("the demo loads");
    criterion.bench_function("one simulated second, stepped and recorded", |bencher| {
        bencher.iter_batched_ref(
            || {
                let mut simulation = Simulation::new(&scenario, DEFAULT_STEP_S).expect("runs");
                for _ in 0..2_000 {
                    simulation.tick().expect("runs");
                }
                simulation
            },
            |simulation| (0..1_000).map(|_| simulation.tick().expect("runs")).last(),
            BatchSize::LargeInput,
        );
    });
    criterion.bench_function("the demo's run of 16 s", |bencher| {
        bencher.iter(|| simulate(black_box(&scenario), DEFAULT_STEP_S).expect("runs"));
    });
}

fn whole_demo(criterion: &mut Criterion) {
    let scenario = demo::scenario("garden").expect("the demo loads");
    let mut group = criterion.benchmark_group("whole demo");
    group.sample_size(10).measurement_time(Duration::from_secs(8));
    group.bench_function("run, scores, pictures, trace, report", |bencher| {
        bencher.iter(|| {
            let runs = variants(vec![("garden".into(), scenario.clone())], Method::default());
            one_run_results("garden", &runs.expect("runs"), 12.0, &[]).is_ok()
        });
    });
    group.finish();
}

criterion_group!(benches, core_step, simulated_second, whole_demo);
criterion_main!(benches);
