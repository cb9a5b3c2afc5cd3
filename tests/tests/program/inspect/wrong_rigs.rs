//! Rigs wrong in one thing each, and the same at its limit.

use easeoff_core::{ReversePolicy, SafeState};
use easeoff_plant::rig::Steering;
use easeoff_sim::files::demo;
use easeoff_sim::files::scenario::Scenario;
use easeoff_sim::study::inspect::Severity;
use easeoff_sim::study::inspect::Severity::{Doubtful, Note, Wrong};

/// The demo with a servo, and parts so large that one thing at a time can be made wrong.
pub(crate) fn sound() -> Scenario {
    let mut scenario = demo::scenario("garden").unwrap();
    let rig = &mut scenario.rig;
    for rated_a in [
        &mut rig.pack.rated_a,
        &mut rig.pack.connector_a,
        &mut rig.motor.rated_a,
        &mut rig.bridge.rated_a,
    ] {
        *rated_a = Some(500.0);
    }
    rig.motor.magnet_limit_c = Some(220.0);
    rig.gears.rating_n_m = 100.0;
    let mesh = rig.mesh.as_mut().unwrap();
    (mesh.pinion_allowable_mpa, mesh.spur_allowable_mpa) = (Some(2_000.0), Some(2_000.0));
    rig.steering = Some(Steering {
        supply_v: 6.0,
        dropout_v: 0.5,
        limit_a: 5.0,
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
    scenario
}

fn servo(scenario: &mut Scenario) -> &mut Steering {
    scenario.rig.steering.as_mut().unwrap()
}

/// What is found, how bad, a rig wrong in it, and one that is just not.
pub(crate) type Case = (&'static str, Severity, fn(&mut Scenario), fn(&mut Scenario));

pub(crate) const CASES: [Case; 38] = [
    (
        "cells against pack voltage",
        Wrong,
        // Three cells in the file, the label of a pack of two: 3.7 V each. Then that of as many of iron
        // phosphate, 3.2 V each.
        |s| s.rig.pack.label_v = Some(f64::from(s.rig.pack.cells - 1) * 3.7),
        |s| s.rig.pack.label_v = Some(f64::from(s.rig.pack.cells) * 3.2),
    ),
    ("full cell", Doubtful, |s| s.tune.limits.full_v = 3.65, |s| s.tune.limits.full_v = 4.15),
    (
        "cut-off per cell",
        Wrong,
        |s| s.tune.limits.derate_to_v = 2.9,
        |s| s.tune.limits.derate_to_v = 3.0,
    ),
    (
        "pack voltage against bridge",
        Wrong,
        |s| s.rig.bridge.rated_v = Some(12.5),
        |s| s.rig.bridge.rated_v = Some(12.7),
    ),
    ("servo supply voltage", Wrong, |s| servo(s).rated_v = 5.9, |s| servo(s).rated_v = 6.0),
    // 3 A held fast and 0.1 A of the receiver.
    ("servo stall current", Doubtful, |s| servo(s).limit_a = 3.05, |s| servo(s).limit_a = 3.15),
    // 3 cells of 3.1 V less the dropout.
    (
        "servo supply at the cut-off",
        Doubtful,
        |s| servo(s).dropout_v = 3.4,
        |s| servo(s).dropout_v = 3.2,
    ),
    (
        "servo supply at the cut-off",
        Wrong,
        |s| {
            (servo(s).dropout_v, servo(s).receiver_v) = (4.9, 4.5);
        },
        |s| servo(s).dropout_v = 3.2,
    ),
    // 40 A: 32 A is what 14 gauge stands, 41 A 12 gauge, 16 A 18 gauge.
    ("wire", Doubtful, |s| s.rig.pack.wire_awg = Some(14.0), |s| s.rig.pack.wire_awg = Some(12.0)),
    ("wire", Wrong, |s| s.rig.pack.wire_awg = Some(18.0), |s| s.rig.pack.wire_awg = Some(12.0)),
    (
        "connector",
        Wrong,
        |s| s.rig.pack.connector_a = Some(39.0),
        |s| s.rig.pack.connector_a = Some(40.0),
    ),
    (
        "current limit",
        Doubtful,
        |s| s.tune.limits.drive_a = None,
        |s| s.tune.limits.drive_a = Some(100.0),
    ),
    (
        "current sensor",
        Wrong,
        |s| s.rig.board.current_sensor = false,
        |s| {
            s.rig.board.current_sensor = false;
            (s.tune.limits.drive_a, s.tune.limits.brake_a) = (None, None);
            // What then is said of the limit itself is not of the sensor.
        },
    ),
    (
        "current sensor",
        Wrong,
        |s| {
            s.rig.sensors.adc_bits = 10;
            s.rig.sensors.adc_full_a = 30.0;
        },
        |s| {
            s.rig.sensors.adc_bits = 10;
            s.rig.sensors.adc_full_a = 40.0;
        },
    ),
    (
        "current against motor",
        Doubtful,
        |s| s.rig.motor.rated_a = Some(39.0),
        |s| s.rig.motor.rated_a = Some(40.0),
    ),
    (
        "current against motor",
        Wrong,
        |s| s.rig.motor.rated_a = Some(19.0),
        |s| s.rig.motor.rated_a = Some(40.0),
    ),
    (
        "current against motor",
        Doubtful,
        // Braking alone: 12.3 V over winding and bridge, about 140 A at full speed.
        |s| {
            s.tune.limits.brake_a = None;
            s.rig.motor.rated_a = Some(120.0);
        },
        |s| {
            s.tune.limits.brake_a = None;
            s.rig.motor.rated_a = Some(150.0);
        },
    ),
    (
        "current against pack",
        Wrong,
        |s| s.rig.pack.rated_a = Some(39.0),
        |s| s.rig.pack.rated_a = Some(40.0),
    ),
    (
        "current against bridge",
        Wrong,
        |s| s.rig.bridge.rated_a = Some(39.0),
        |s| s.rig.bridge.rated_a = Some(40.0),
    ),
    (
        "thermal limit against insulation",
        Wrong,
        |s| s.tune.limits.derate_to_c = 131.0,
        |s| s.tune.limits.derate_to_c = 130.0,
    ),
    // The case is at 20 + 110 * 4 / 5.2 = 104.6 degrees when the winding stays at 130.
    (
        "thermal limit against magnets",
        Wrong,
        |s| s.rig.motor.magnet_limit_c = Some(100.0),
        |s| s.rig.motor.magnet_limit_c = Some(105.0),
    ),
    (
        "temperature sensor",
        Doubtful,
        |s| s.rig.board.temperature_sensor = false,
        |s| s.rig.board.temperature_sensor = true,
    ),
    (
        "reverse limit",
        Doubtful,
        |s| s.tune.limits.reverse = 0.6,
        |s| {
            s.tune.limits.reverse = 0.6;
            s.tune.mode.reverse = ReversePolicy::Never;
        },
    ),
    (
        "reverse policy",
        Doubtful,
        |s| s.tune.mode.reverse = ReversePolicy::Direct,
        |s| s.tune.mode.reverse = ReversePolicy::Never,
    ),
    (
        "direction",
        Note,
        |s| s.tune.calibration.reversed = true,
        |s| s.tune.calibration.reversed = false,
    ),
    (
        "neutral",
        Wrong,
        |s| s.driver.radio.neutral_us = 1_521.0,
        |s| s.driver.radio.neutral_us = 1_519.0,
    ),
    // The wheels reach 59.70 rad/s, of which a tenth less is 53.73.
    (
        "speed of full throttle",
        Doubtful,
        |s| s.tune.hold.as_mut().unwrap().full_speed_rad_s = 53.7,
        |s| s.tune.hold.as_mut().unwrap().full_speed_rad_s = 53.8,
    ),
    // 0.15 m from the nearer axle: it stands over it at 12 degrees where 0.7057 m high, at 17 where 0.4906 m.
    (
        "tip margin",
        Wrong,
        |s| s.rig.vehicle.cg_height_m = 0.71,
        |s| s.rig.vehicle.cg_height_m = 0.49,
    ),
    (
        "tip margin",
        Doubtful,
        |s| s.rig.vehicle.cg_height_m = 0.492,
        |s| s.rig.vehicle.cg_height_m = 0.49,
    ),
    // tan 12 degrees is 0.2126, tan 17 degrees 0.3057.
    (
        "grip on the slope",
        Doubtful,
        |s| s.course.surfaces[0].grip = 0.305,
        |s| s.course.surfaces[0].grip = 0.306,
    ),
    (
        "safe state on a slope",
        Doubtful,
        |s| s.tune.safe_state = SafeState::Coast,
        |s| {
            s.tune.safe_state = SafeState::Coast;
            // tan 12 degrees of rolling resistance: it stands.
            s.course.surfaces[1].rolling = 0.22;
        },
    ),
    (
        "safe state on a slope",
        Doubtful,
        |s| s.tune.drag.strength = 0.0,
        |s| s.tune.drag.strength = 0.5,
    ),
    (
        "climb",
        Doubtful,
        // A motor wrapped in wool.
        |s| s.rig.motor.case_to_air_k_per_w = 200.0,
        |s| s.rig.motor.case_to_air_k_per_w = 40.0,
    ),
    (
        "gear mesh",
        Wrong,
        // 26 mm is the exact distance of 13 and 52 teeth of module 0.8.
        |s| s.rig.mesh.as_mut().unwrap().slot_mm = Some([23.0, 25.9]),
        |s| s.rig.mesh.as_mut().unwrap().slot_mm = Some([23.0, 26.0]),
    ),
    (
        "gear mesh",
        Doubtful,
        |s| s.rig.mesh.as_mut().unwrap().slot_mm = Some([27.0, 29.0]),
        |s| s.rig.mesh.as_mut().unwrap().slot_mm = Some([26.2, 29.0]),
    ),
    (
        "gear mesh",
        Doubtful,
        |s| s.rig.mesh.as_mut().unwrap().spur_allowable_mpa = Some(27.0),
        |s| s.rig.mesh.as_mut().unwrap().spur_allowable_mpa = Some(27.5),
    ),
    (
        "launch torque against drive line",
        Wrong,
        |s| s.rig.gears.rating_n_m = 0.5,
        |s| s.rig.gears.rating_n_m = 7.0,
    ),
    (
        "climb",
        Doubtful,
        |s| s.tune.limits.drive_a = Some(2.0),
        |s| s.tune.limits.drive_a = Some(4.0),
    ),
];
