//! Is the default step small enough? Each case against the same run at a fiftieth of it.
//!
//! Classical Runge-Kutta is of fourth order on its own (`plant/state.rs`); what switches once per step,
//! diodes and dry friction, leaves between first and third. What does not fall any further with the
//! step is the controller: its inputs and commands have steps of their own.

use easeoff_sim::files::demo;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::{DEFAULT_STEP_S, Row, simulate};

type Signal = (&'static str, fn(&Row) -> f64);

const SIGNALS: [Signal; 5] = [
    ("speed", |row| row.plant.now.speed_m_s),
    ("place", |row| row.plant.now.place_m),
    ("motor current", |row| row.plant.now.motor.current_a),
    ("shaft torque", |row| row.flows.shaft_n_m),
    ("winding", |row| row.plant.now.winding_c),
];

/// Root mean square of the difference over the run, as a share of the signal's range.
fn errors(scenario: &Scenario, step_s: f64, exact: &[Row]) -> [f64; SIGNALS.len()] {
    let run = simulate(scenario, step_s).unwrap();
    let count = run.rows.len().min(exact.len());
    SIGNALS.map(|(_, signal)| {
        let values = exact[..count].iter().map(signal);
        let (low, high) =
            values.fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(v), high.max(v)));
        let pairs = run.rows.iter().zip(exact);
        let sum: f64 = pairs.map(|(a, b)| (signal(a) - signal(b)).powi(2)).sum();
        (sum / count as f64).sqrt() / (high - low)
    })
}

fn step_climb() -> Scenario {
    let mut scenario = demo::scenario("snag").unwrap();
    scenario.course.snags.clear();
    scenario.course.profile_m = vec![[-1.0, 0.0], [1.0, 0.0], [1.0, 0.012], [30.0, 0.012]];
    scenario
}

#[test]
fn the_default_step_is_small_enough() {
    let cases = [
        ("let-off", demo::scenario("let-off").unwrap()),
        ("snag", demo::scenario("snag").unwrap()),
        ("step climb", step_climb()),
    ];
    for (name, scenario) in cases {
        let exact = simulate(&scenario, DEFAULT_STEP_S / 50.0).unwrap().rows;
        let all =
            [1.0, 0.5, 0.25, 0.125].map(|part| errors(&scenario, part * DEFAULT_STEP_S, &exact));
        for (i, (signal, _)) in SIGNALS.iter().enumerate() {
            let each = all.map(|errors| errors[i]);
            println!(
                "{name:10} {signal:14} {each:?}  order {:.1}",
                (each[0] / each[2]).log2() / 2.0
            );
        }
        for (i, (signal, _)) in SIGNALS.iter().enumerate() {
            assert!(all[0][i] < 1.0e-4, "{name}: {signal} is off by {}", all[0][i]);
        }
    }
}
