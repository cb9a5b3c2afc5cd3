//! From the motor's current to a lost signal: the pack sags, the servo's supply with it, the receiver goes,
//! and the controller sees no pulses.

use easeoff_core::Mode;
use easeoff_plant::ledger::Ledger;
use easeoff_plant::rig::Steering;
use easeoff_sim::files::demo;
use easeoff_sim::files::driver::Motion;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::controller::Own;
use easeoff_sim::run::creep::creep;
use easeoff_sim::run::{DEFAULT_STEP_S, Method, Row, Simulation, simulate};

/// Two tired cells, geared too long to pull away, a pack limit set so low that it protects nothing, and a
/// servo that is held against a stone.
fn tired() -> Scenario {
    let mut scenario = demo::scenario("garden").unwrap();
    (scenario.rig.pack.cells, scenario.rig.pack.label_v) = (2, Some(7.4));
    scenario.rig.pack.charge = 0.3;
    scenario.rig.pack.resistance_ohm_per_cell = 0.06;
    scenario.rig.steering = Some(Steering {
        supply_v: 6.0,
        dropout_v: 0.8,
        limit_a: 6.0,
        efficiency: 0.85,
        receiver_v: 4.2,
        receiver_holds_s: 0.005,
        receiver_restart_s: 0.4,
        idle_a: 0.1,
        stall_a: 3.0,
        rated_v: 6.0,
        travel_s: 0.2,
        lag_s: 0.02,
        load: 2.0,
    });
    scenario.rig.gears.internal_ratio = 3.5;
    scenario.tune.limits.cells = 2;
    (scenario.tune.limits.derate_from_v, scenario.tune.limits.derate_to_v) = (2.5, 2.2);
    scenario.tune.hold = None;
    scenario.driver.motion = Motion::ByTime(vec![[0.0, 0.0], [0.8, 0.0], [0.81, 1.0], [6.0, 1.0]]);
    scenario.driver.steer = vec![[0.9, 0.0], [1.0, 1.0], [6.0, 1.0]];
    scenario.driver.duration_s = 4.0;
    scenario
}

fn lost(rows: &[Row]) -> Option<f64> {
    rows.iter().find(|row| row.mode() == Mode::Lost).map(|row| row.time_s)
}

#[test]
fn a_sagging_pack_takes_the_receiver_and_the_core_sees_it() {
    let scenario = tired();
    let rows = simulate(&scenario, DEFAULT_STEP_S).unwrap().rows;
    let gone = rows.iter().find(|row| !row.plant.servo().receiver_runs()).unwrap();
    let lost_s = lost(&rows).unwrap();
    println!(
        "gone at {:.3} s with {:.2} V at the pack and {:.2} V at the servo; lost at {lost_s:.3} s",
        gone.time_s,
        gone.flows.bus_v,
        gone.plant.servo().supply_v
    );
    // The last frame came up to 20 ms before; the core waits 100 ms.
    let wait_s = lost_s - gone.time_s;
    assert!((0.078..=0.102).contains(&wait_s), "{wait_s}");
    // It stays so until the throttle has been let go: the signal alone does not drive it on.
    let later = rows.iter().filter(|row| row.time_s > lost_s);
    assert!(later.clone().any(|row| row.plant.servo().receiver_runs()), "the receiver is back");
    assert!(later.clone().all(|row| row.command.duty().to_f32() == 0.0));

    // Without one of the three no harm comes: a fresh pack, wheels that are not turned, a gentle throttle.
    type Change = fn(&mut Scenario);
    let changes: [Change; 3] = [
        |tired| {
            tired.rig.pack.resistance_ohm_per_cell = 0.007;
            tired.rig.pack.charge = 0.9;
        },
        |tired| tired.driver.steer.clear(),
        |tired| tired.driver.motion = Motion::ByTime(vec![[0.0, 0.0], [0.8, 0.0], [0.81, 0.15]]),
    ];
    for change in changes {
        let mut other = tired();
        change(&mut other);
        let rows = simulate(&other, DEFAULT_STEP_S).unwrap().rows;
        assert_eq!(lost(&rows), None);
        assert!(rows.iter().all(|row| row.plant.servo().receiver_runs()));
    }
}

/// What the servo takes stands in the ledger.
#[test]
fn the_servos_energy_adds_up() {
    let scenario = tired();
    let mut simulation = Simulation::new(&scenario, DEFAULT_STEP_S).unwrap();
    let start = simulation.state;
    let mut drawn_j = 0.0;
    while simulation.state.now.place_m < 6.0 && drawn_j < 60.0 {
        let row = simulation.tick().unwrap();
        drawn_j += row.plant.servo().bus_a * row.flows.bus_v * simulation.tick_s();
    }
    let ledger = Ledger::of(&simulation.plant, &start, &simulation.state);
    let (_, servo_j) = ledger.spent_j.iter().find(|(name, _)| name.contains("servo")).unwrap();
    assert!((servo_j / drawn_j - 1.0).abs() < 0.02, "{servo_j} of {drawn_j}");
    let share = ledger.residual_j() / ledger.throughput_j;
    assert!(share.abs() < 1.0e-3, "{share}: {ledger:?}");
}

/// A brown-out on the slope would let the brake go: 255 mm/s instead of 6.2 were once told of a rig whose driver
/// steered.
#[test]
fn creep_is_measured_with_the_steering_held_still() {
    let mut scenario = tired();
    let creep =
        |scenario: &Scenario| creep(scenario, Method::default(), &Own::make).unwrap().speed_m_s;
    // To and fro from the first to the last second of the trial.
    scenario.driver.steer =
        (0..400_u32).map(|n| [0.02 * f64::from(n), if n % 2 == 0 { -1.0 } else { 1.0 }]).collect();
    let steered = creep(&scenario);
    scenario.driver.steer.clear();
    assert_eq!(steered, creep(&scenario));
}
