//! A stretch of time under one action of the bridge.
#![allow(clippy::unwrap_used, missing_docs, reason = "tests panic")]

use easeoff_plant::parts::bridge::Action;
use easeoff_plant::rig::Rig;
use easeoff_plant::{DEFAULT_STEP_S, Flows, Plant, PlantState};

const SECONDS: f64 = 0.01;

/// The demo's rig let go from rest, at half duty for one stretch after 0.1 s: the plant, its state at both ends
/// of that stretch and what flowed.
fn half_duty(rig: &Rig) -> (Plant, [PlantState; 2], Flows) {
    let course = easeoff_sim::files::demo::scenario("garden").unwrap().course;
    let plant = Plant::new(rig, &course);
    let mut state = plant.at_rest(rig, course.start_m);
    plant.over(&mut state, Action::Drive(0.5), 0.1, DEFAULT_STEP_S);
    let from = state;
    let flows = plant.over(&mut state, Action::Drive(0.5), SECONDS, DEFAULT_STEP_S);
    (plant, [from, state], flows)
}

/// An averaged bridge: the flows are those of the beginning, and the stretch is its steps.
#[test]
fn a_stretch_is_its_steps() {
    let (plant, [from, to], flows) = half_duty(&easeoff_sim::files::demo::rig().unwrap());
    let mut stepped = from;
    for _ in 0..40 {
        plant.advance(&mut stepped, Action::Drive(0.5), DEFAULT_STEP_S);
    }
    assert_eq!(stepped.now, to.now);
    let begins = plant.flows(&from, Action::Drive(0.5));
    let bits = |flows: Flows| {
        [flows.bus_a, flows.bus_v, flows.winding_w, flows.bridge_w].map(f64::to_bits)
    };
    assert_eq!(bits(flows), bits(begins));
}

/// A switched bridge: the pack's current is what left its charge, and the heat what the stretch made.
#[test]
fn where_the_bridge_switches_the_flows_are_means() {
    let mut rig = easeoff_sim::files::demo::rig().unwrap();
    rig.bridge.switched_hz = Some(1_000.0);
    let (plant, [from, to], flows) = half_duty(&rig);
    let left_c = (from.now.charge - to.now.charge) * rig.pack.capacity_ah * 3_600.0;
    assert!((flows.bus_a * SECONDS / left_c - 1.0).abs() < 1e-6, "{} A", flows.bus_a);
    let heat_j = to.now.copper_j - from.now.copper_j;
    let heat_w = flows.winding_w + flows.bridge_w;
    assert!((heat_w * SECONDS / heat_j - 1.0).abs() < 1e-9, "{heat_w} W");
    // One instant of a period is another number.
    let begins = plant.flows(&from, Action::Drive(0.5));
    assert!((flows.bus_a / begins.bus_a - 1.0).abs() > 0.01, "{} A at once", begins.bus_a);
}
