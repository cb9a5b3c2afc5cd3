//! What `easeoff inspect` finds: rigs wrong in exactly one thing, and right at its limit.
#![allow(
    clippy::arithmetic_side_effects,
    clippy::as_conversions,
    clippy::float_arithmetic,
    clippy::indexing_slicing,
    clippy::unwrap_used,
    missing_docs,
    reason = "tests compute and panic"
)]

mod runner;

use std::fs;

use easeoff_core::{ReversePolicy, SafeState};
use easeoff_sim::demo;
use easeoff_sim::inspect::{Finding, Severity, Subject, examine, unchecked};
use easeoff_sim::rig::Steering;
use easeoff_sim::run::DEFAULT_STEP_S;
use easeoff_sim::scenario::Scenario;
use runner::{good, refused, rig_folder};

const SLOPE_DEG: f64 = 12.0;

fn look(scenario: &Scenario) -> Vec<Finding> {
    examine(&Subject::new(scenario, SLOPE_DEG, DEFAULT_STEP_S).unwrap())
}

/// The demo with a servo, and parts so large that one thing at a time can be made wrong.
fn sound() -> Scenario {
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
type Case = (&'static str, Severity, fn(&mut Scenario), fn(&mut Scenario));

use Severity::{Doubtful, Note, Wrong};

const CASES: [Case; 37] = [
    (
        "cells against pack voltage",
        Wrong,
        // Two cells of a pack whose label says three.
        |s| s.rig.pack.label_v = Some(7.4),
        |s| s.rig.pack.label_v = Some(9.6),
    ),
    ("full cell", Doubtful, |s| s.tune.limits.full_v = 3.65, |s| s.tune.limits.full_v = 4.15),
    (
        "cut-off per cell",
        Wrong,
        |s| s.tune.limits.fade_to_v = 2.9,
        |s| s.tune.limits.fade_to_v = 3.0,
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
        |s| s.tune.limits.hot_to_c = 131.0,
        |s| s.tune.limits.hot_to_c = 130.0,
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
        |s| s.hand.radio.neutral_us = 1_521.0,
        |s| s.hand.radio.neutral_us = 1_519.0,
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

/// Findings by name and severity.
fn names(found: &[Finding]) -> Vec<(&'static str, Severity)> {
    found.iter().map(|finding| (finding.what, finding.severity)).collect()
}

#[test]
fn a_rig_wrong_in_one_thing_gets_that_finding_and_no_other() {
    let sound = sound();
    let before = names(&look(&sound));
    assert_eq!(before, [("safe state on a slope", Note)]);
    for (index, (what, severity, wrong, right)) in CASES.iter().enumerate() {
        let mut scenario = sound.clone();
        wrong(&mut scenario);
        let mut new = names(&look(&scenario));
        new.retain(|found| !before.contains(found));
        assert_eq!(new, [(*what, *severity)], "case {index}");
        let mut scenario = sound.clone();
        right(&mut scenario);
        let found = names(&look(&scenario));
        assert!(
            !found.iter().any(|(found, bad)| found == what && bad == severity),
            "case {index}: {found:?}"
        );
    }
}

/// Every check that exists is made to find something above: as many names as the sources have.
#[test]
fn every_finding_has_a_case() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../sim/src/inspect");
    let mut named = 0;
    for file in fs::read_dir(folder).unwrap() {
        let text = fs::read_to_string(file.unwrap().path()).unwrap();
        let quoted = text.lines().filter_map(|line| line.trim().strip_prefix("what: \""));
        for line in quoted {
            let name = line.trim_end_matches("\",");
            assert!(CASES.iter().any(|case| case.0 == name), "{name} has no case");
            named += 1;
        }
    }
    assert!(named >= 15, "{named}");
}

/// A limit holds the greatest current only where the board sees the current.
#[test]
fn a_limit_without_a_sensor_limits_nothing() {
    let mut scenario = sound();
    let currents = |scenario: &Scenario| {
        let subject = Subject::new(scenario, SLOPE_DEG, DEFAULT_STEP_S).unwrap();
        [subject.drive_a, subject.brake_a, subject.stall_a]
    };
    let [drive_a, brake_a, stall_a] = currents(&scenario);
    assert_eq!([drive_a, brake_a], [40.0, 30.0]);
    scenario.rig.board.current_sensor = false;
    let [unseen_a, brake_unseen_a, _] = currents(&scenario);
    assert!(unseen_a == stall_a && stall_a > 100.0, "{unseen_a}");
    // Shorted at full speed: the voltage at the bridge over winding and switches.
    assert!((brake_unseen_a / (12.1 / 0.084) - 1.0).abs() < 0.02, "{brake_unseen_a}");
}

#[test]
fn the_demos_are_sound() {
    for demo in demo::DEMOS {
        let scenario = demo::scenario(demo.name).unwrap();
        let found = look(&scenario);
        assert!(found.iter().all(|finding| finding.severity == Note), "{}: {found:?}", demo.name);
        assert_eq!(unchecked(&scenario.rig), ["pack.wire_awg", "[steering]"]);
    }
}

#[test]
fn every_finding_says_what_it_is_and_what_to_do() {
    let sound = sound();
    for (_, _, wrong, _) in CASES {
        let mut scenario = sound.clone();
        wrong(&mut scenario);
        for finding in look(&scenario) {
            let said = [&finding.is, &finding.limit, &finding.says, &finding.remedy];
            assert!(
                said.iter().all(|text| !text.is_empty() && !text.contains("NaN")),
                "{finding:?}"
            );
            assert!(finding.says.ends_with('.') && finding.remedy.ends_with('.'), "{finding:?}");
            assert!(!finding.source.is_empty() && !finding.caution.is_empty());
        }
    }
}

/// A grade of neodymium magnets stands for its temperature (supermagnete.de, table of grades), and the page,
/// the text and the record say what was found.
#[test]
fn the_program_tells_what_is_wrong_first() {
    let folder = rig_folder("rig.toml", "magnet_grade = \"SH\"", "magnet_grade = \"plain\"");
    let said = good(folder.path(), &["inspect", "mine", "--out", "o"]);
    assert!(said.starts_with("1 wrong, 0 doubtful, 2 to note: mend what is wrong"), "{said}");
    assert!(said.contains("80.0 degrees C") && said.contains("First power"), "{said}");
    let page = fs::read_to_string(folder.path().join("o/report.html")).unwrap();
    assert!(page.contains("wrong: thermal limit against magnets"));
    let text = good(folder.path(), &["inspect", "mine", "--out", "o", "--json"]);
    let record: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(record["findings"][0]["severity"], "wrong");
    assert_eq!(record["findings"].as_array().unwrap().len(), 3);
    let folder = rig_folder("rig.toml", "magnet_grade = \"SH\"", "magnet_grade = \"N\"");
    let said = refused(folder.path(), &["inspect", "mine"]);
    assert!(said.contains("allowed is \"plain\", \"M\""), "{said}");
}
