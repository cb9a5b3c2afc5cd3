//! Nothing comes from nowhere: the energy ledger of the demos and of random rigs adds up.

use std::sync::OnceLock;

use easeoff_plant::Plant;
use easeoff_plant::course::{AfterBreak, Course, Snag};
use easeoff_plant::ledger::Ledger;
use easeoff_plant::parts::bridge::Action;
use easeoff_plant::rig::Rig;
use easeoff_plant::rough::{Class, Rough};
use easeoff_sim::files::demo;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::run::{DEFAULT_STEP_S, Simulation};
use proptest::prelude::*;

fn ledger(scenario: &Scenario, seconds: f64) -> Ledger {
    let mut simulation = Simulation::new(scenario, DEFAULT_STEP_S).unwrap();
    let start = simulation.state;
    for _ in 0..(seconds / simulation.tick_s()) as usize {
        simulation.tick().unwrap();
    }
    Ledger::of(&simulation.plant, &start, &simulation.state)
}

#[test]
fn every_demo_adds_up() {
    for name in ["garden", "let-off", "snag"] {
        for synchronous in [false, true] {
            let mut scenario = demo::scenario(name).unwrap();
            scenario.rig.bridge.synchronous = synchronous;
            let ledger = ledger(&scenario, scenario.driver.duration_s);
            let share = ledger.residual_j() / ledger.throughput_j;
            println!("{name}: {ledger:?}, residual {:.3e} of {} J", share, ledger.throughput_j);
            assert!(share.abs() < 1.0e-3, "{name}: {share}");
            assert!(ledger.spent_j.iter().all(|(_, spent)| *spent > -1.0e-6), "{ledger:?}");
        }
    }
}

/// A rig with its numbers changed by factors from 0.6 to 1.7, where the parts allow.
fn changed(mut rig: Rig, by: &[f64], synchronous: bool) -> Rig {
    let mut by = by.iter().copied();
    let mut change = |value: &mut f64, most: f64| *value = (*value * by.next().unwrap()).min(most);
    change(&mut rig.vehicle.mass_kg, f64::MAX);
    change(&mut rig.vehicle.cg_height_m, f64::MAX);
    change(&mut rig.wheels.radius_m, f64::MAX);
    change(&mut rig.wheels.inertia_kg_m2, f64::MAX);
    change(&mut rig.wheels.tyre_stiffness_per_m, f64::MAX);
    change(&mut rig.gears.internal_ratio, f64::MAX);
    change(&mut rig.gears.efficiency_driving, 1.0);
    change(&mut rig.gears.efficiency_driven_back, 0.95);
    change(&mut rig.gears.stiffness_n_m_per_rad, f64::MAX);
    change(&mut rig.gears.backlash_deg, f64::MAX);
    change(&mut rig.motor.kv_rpm_per_v, f64::MAX);
    change(&mut rig.motor.resistance_ohm, f64::MAX);
    change(&mut rig.motor.no_load_a, f64::MAX);
    change(&mut rig.motor.rotor_inertia_kg_m2, f64::MAX);
    change(&mut rig.pack.resistance_ohm_per_cell, f64::MAX);
    change(&mut rig.pack.delayed_ohm_per_cell, f64::MAX);
    // Every second rig has detents, as strong as its motor at 0.6 A and more.
    let detents = by.next().unwrap();
    if detents > 1.15 {
        rig.motor.cogging_n_m = 0.003 * detents;
        rig.motor.cogging_per_turn = 12;
    }
    rig.bridge.synchronous = synchronous;
    rig
}

fn actions(may_drive: bool) -> impl Strategy<Value = Vec<(Action, u32)>> {
    let share = || (0_u32..=1_000).prop_map(|part| f64::from(part) / 1_000.0);
    let drive = share().prop_map(|duty| Action::Drive(if duty < 0.2 { -duty } else { duty }));
    let action = prop_oneof![
        if may_drive { 4 } else { 1 } => if may_drive { drive.boxed() } else { Just(Action::Coast).boxed() },
        2 => share().prop_map(Action::Brake),
        1 => Just(Action::Coast),
    ];
    proptest::collection::vec((action, 40_u32..1_200), 1..8)
}

/// Up and down, rough, with a step.
fn ground() -> &'static Course {
    static GROUND: OnceLock<Course> = OnceLock::new();
    GROUND.get_or_init(|| {
        let mut course = demo::scenario("garden").unwrap().course;
        course.profile_m.truncate(5);
        course.profile_m.extend([[6.5, 0.40], [6.5, 0.41], [9.0, 0.41]]);
        course.profile_m = Rough { class: Class::D, seed: 5, scale: 0.1 }.lay(&course.profile_m);
        course.snags.clear();
        course
    })
}

/// Rough ground, with or without a snag; the rig begins at a speed.
fn ride(rig: &Rig, story: &[(Action, u32)], speed_m_s: f64, snagged: bool) -> Ledger {
    let mut course = ground().clone();
    let then = AfterBreak::LetsGo;
    let snag = Snag { at_m: 0.5, stiffness_n_m_per_rad: 0.05, break_n_m: 1.0, then };
    course.snags.extend(snagged.then_some(snag));
    let plant = Plant::new(rig, &course);
    let mut state = plant.at_rest(rig, 0.0);
    state.now.speed_m_s = speed_m_s;
    state.now.wheel_rad_s = speed_m_s / rig.wheels.radius_m;
    state.now.motor.motor_rad_s = state.now.wheel_rad_s * rig.gears.ratio();
    let start = state;
    for (action, steps) in story {
        for _ in 0..*steps {
            plant.advance(&mut state, *action, DEFAULT_STEP_S);
        }
    }
    Ledger::of(&plant, &start, &state)
}

/// From the bottom of the deepest detent to its top, `2 A / N` (algebra), and a tenth for the fading.
const DETENTS_J: f64 = 1.1 * 2.0 * 0.003 * 1.7 / 12.0;

fn factors() -> impl Strategy<Value = Vec<f64>> {
    proptest::collection::vec((0_u32..=1_000).prop_map(|part| 0.6 + 1.1e-3 * f64::from(part)), 17)
}

/// Found by the test below: the motor's current runs out within a fraction of a step, against a diode, while
/// little else has moved yet.
#[test]
fn a_current_that_runs_out_within_a_step_adds_up() {
    let mut by = [0.6; 17];
    (by[5], by[6], by[8], by[9]) = (0.6715, 1.2413, 1.4668, 0.7001);
    let rig = changed(demo::rig().unwrap(), &by, false);
    let story = [(Action::Drive(0.62), 276), (Action::Drive(0.2), 40)];
    let ledger = ride(&rig, &story, 1.0, false);
    let share = ledger.residual_j() / ledger.throughput_j;
    assert!(share.abs() < 1.0e-4, "{share}: {ledger:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn random_rigs_add_up(by in factors(), story in actions(true), snag: bool, synchronous: bool) {
        let rig = changed(demo::rig().unwrap(), &by, synchronous);
        let ledger = ride(&rig, &story, 1.0, snag);
        let share = ledger.residual_j() / ledger.throughput_j;
        prop_assert!(share.abs() < 1.0e-3, "{share}: {ledger:?}");
        prop_assert!(ledger.detents_j.abs() < DETENTS_J, "{ledger:?}");
        let least = ledger.spent_j.iter().map(|(_, spent)| *spent).fold(f64::MAX, f64::min);
        prop_assert!(least > -1.0e-3 * ledger.throughput_j, "{ledger:?}");
    }

    /// Whatever the brake does, nothing is won: what is stored only falls.
    #[test]
    fn a_rig_that_is_not_driven_never_gains(by in factors(), story in actions(false), back: bool) {
        let rig = changed(demo::rig().unwrap(), &by, false);
        let ledger = ride(&rig, &story, if back { -1.0 } else { 1.5 }, false);
        prop_assert_eq!(ledger.pack_j, 0.0);
        // What the detents hold never passes their depth, so what they gave is no gain either.
        let most_j = if rig.motor.cogging_n_m > 0.0 { DETENTS_J } else { 1.0e-6 };
        prop_assert!(ledger.stored_j < most_j, "{ledger:?}");
        prop_assert!(ledger.detents_j.abs() < DETENTS_J, "{ledger:?}");
    }
}
