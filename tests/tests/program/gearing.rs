//! What `easeoff gearing` says, against whole runs of the plant and common practice.

use std::fs;

use easeoff_plant::heating::Temperatures;
use easeoff_plant::rig::Rig;
use easeoff_plant::steady::{Steady, Way};
use easeoff_sim::files::demo;
use easeoff_sim::files::driver::Motion;
use easeoff_sim::run::{DEFAULT_STEP_S, simulate};
use easeoff_sim::study::gearing::choice::{choose, matching, pinions, remarks};
use easeoff_sim::study::gearing::row::{Pinion, Trial, free_m_s};

use crate::runner::{good, refused, rig_folder};

fn rig() -> Rig {
    demo::rig().unwrap()
}

const TRIAL: Trial = Trial { grade_deg: 20.0, rolling: 0.03, grip: 0.8, drive_a: Some(40.0) };

/// The steady state is the one in which a whole run ends, with play, tyres, sag and warmth.
#[test]
fn a_run_up_a_slope_ends_in_the_steady_state() {
    for (slope_deg, duty) in [(0.0, 1.0), (10.0, 1.0), (10.0, 0.5)] {
        let mut scenario = demo::scenario("let-off").unwrap();
        scenario.tune.hold = None;
        // So much that it would show if it were forgotten.
        scenario.rig.pack.delayed_ohm_per_cell = 0.04;
        scenario.tune.curve = easeoff_core::CurveSettings::Cubic { blend: 0.0 };
        let rise = libm::tan(f64::to_radians(slope_deg));
        scenario.course.profile_m = vec![[-1.0, -rise], [300.0, 300.0 * rise]];
        scenario.driver.motion = Motion::ByTime(vec![[0.0, 0.0], [1.0, 0.0], [3.0, duty]]);
        scenario.driver.duration_s = 60.0;
        let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
        let last = run.rows.last().unwrap();
        let state = &last.plant.now;

        let mut rig = scenario.rig.clone();
        rig.pack.charge = state.charge;
        let at = Temperatures {
            winding_c: state.winding_c,
            case_c: state.case_c,
            bridge_c: state.bridge_c,
        };
        let way = Way { slope_deg, rolling: scenario.course.most_rolling() };
        let duty = last.command.duty().to_f32().into();
        let load = |speed| way.wheel_n_m(&rig, speed);
        let point = Steady::new(&rig).under(duty, &at, load).unwrap();
        let same = |found: f64, run: f64, what: &str| {
            assert!((found / run - 1.0).abs() < 0.005, "{what} at {slope_deg}: {found}, run {run}");
        };
        same(point.wheel_rad_s, state.wheel_rad_s, "speed");
        same(point.motor_a, last.plant.mean_a(), "motor current");
        same(point.bus_a, last.flows.bus_a, "pack current");
        same(point.bus_v, last.flows.bus_v, "voltage");
        let [winding_w, bridge_w] = Steady::new(&rig).heat_w(point.motor_a, &at);
        same(winding_w, last.flows.winding_w, "heat");
        same(bridge_w, last.flows.bridge_w, "bridge's heat");
    }
}

/// Common practice, no source: on the same pinion a motor of lower kV is slower in proportion.
#[test]
fn half_the_kv_is_half_the_speed() {
    let mut slow = rig();
    slow.motor.kv_rpm_per_v /= 2.0;
    // Half the current makes the same torque.
    slow.motor.no_load_a /= 2.0;
    let ratio = free_m_s(&slow, 1.0) / free_m_s(&rig(), 1.0);
    assert!((ratio - 0.5).abs() < 0.01, "{ratio}");
}

/// Common practice, no source: one tooth more on 12 is about 8 % more speed, and as much less torque.
#[test]
fn one_tooth_more_on_twelve_is_eight_percent() {
    let [twelve, thirteen] = [12, 13].map(|teeth| Pinion::on(&rig(), teeth, &TRIAL));
    assert!((twelve.tooth_more_percent - 8.0).abs() < 0.5, "{}", twelve.tooth_more_percent);
    assert!((thirteen.full_m_s / twelve.full_m_s - 13.0 / 12.0).abs() < 1e-3);
    assert!((thirteen.launch_n_m / twelve.launch_n_m - 12.0 / 13.0).abs() < 1e-9);
    assert!(twelve.half_m_s < 0.51 * twelve.full_m_s);
    assert!(twelve.launch_n_m < twelve.stall_n_m);
}

/// Algebra of a straight motor line: held fast the current is `V / (R + R_pack)`, and the torque at the
/// wheels `G eta (K i - T_c)`.
#[test]
fn held_fast_is_ohms_law() {
    let rig = rig();
    let pinion = Pinion::on(&rig, 13, &TRIAL);
    let pack_ohm = 3.0 * rig.pack.resistance_ohm_per_cell + rig.pack.leads_ohm;
    let ohm = pack_ohm + rig.motor.resistance_ohm + rig.bridge.resistance_ohm;
    // 0.9 of the charge is a tabulated point of the cell: 4.0879 V.
    assert!((pinion.stall_a / (3.0 * 4.087_9 / ohm) - 1.0).abs() < 1e-6, "{}", pinion.stall_a);
    let friction_n_m = rig.motor.constant() * rig.motor.no_load_a * (1.0 - rig.motor.viscous_share);
    let n_m = 36.0 * 0.8 * (rig.motor.constant() * 40.0 - friction_n_m);
    assert!((pinion.launch_n_m / n_m - 1.0).abs() < 1e-6, "{}", pinion.launch_n_m);
}

/// A motor of half the kV needs about twice the teeth, and gets them.
#[test]
fn another_motor_gets_the_teeth_that_match() {
    let mut other = rig();
    other.motor.kv_rpm_per_v = 1_100.0;
    let found = matching(&rig(), &other);
    assert!((f64::from(found.teeth) - 13.0 * 1_650.0 / 1_100.0).abs() <= 1.0, "{}", found.teeth);
    assert!(found.off_percent.abs() < 3.0, "{}", found.off_percent);
    let same = matching(&rig(), &rig());
    assert_eq!(same.teeth, 13);
    assert!(same.off_percent.abs() < 1e-6);
}

/// A steeper grade, a longer run, a poorer motor: what must get worse gets worse, and is named.
#[test]
fn what_speaks_against_a_pinion_is_named() {
    let said = |rig: &Rig, teeth: u32, trial: &Trial| {
        remarks(rig, &Pinion::on(rig, teeth, trial)).join("; ")
    };
    assert_eq!(said(&rig(), 13, &TRIAL), "");
    let weak = Trial { drive_a: Some(2.0), ..TRIAL };
    assert!(said(&rig(), 13, &weak).contains("stands on the grade"));
    assert!(said(&rig(), 13, &Trial { grip: 0.3, ..TRIAL }).contains("tyres slip"));
    let mut rig = rig();
    rig.vehicle.mass_kg = 12.0;
    let hot = Pinion::on(&rig, 20, &TRIAL);
    assert!(remarks(&rig, &hot).join("; ").contains("too hot on the grade after"));
    assert!(hot.climb.limit_s < Pinion::on(&rig, 19, &TRIAL).climb.limit_s);
    rig.vehicle.mass_kg = 2.4;
    assert!(said(&rig, 21, &TRIAL).contains("binds"));
    assert!(said(&rig, 9, &TRIAL).contains("pairs of teeth touch"));
    let mesh = rig.mesh.as_mut().unwrap();
    mesh.slot_mm = Some([26.5, 29.0]);
    assert!(said(&rig, 11, &TRIAL).contains("slots end too far"));
    rig.mesh.as_mut().unwrap().slot_mm = None;
    assert_eq!(said(&rig, 21, &TRIAL), "");
    rig.mesh.as_mut().unwrap().pinion_allowable_mpa = Some(20.0);
    assert!(said(&rig, 13, &TRIAL).contains("the pinion's teeth bear 42."));
    rig.mesh = None;
    assert_eq!(said(&rig, 9, &TRIAL), "");
}

#[test]
fn the_choice_is_the_fastest_without_fault_or_the_first_that_is_fast_enough() {
    let rig = rig();
    let all = pinions(&rig, 6..=26, &TRIAL);
    let teeth = |wanted| choose(&rig, &all, wanted).map(|pinion| pinion.teeth);
    assert_eq!(teeth(None), Some(20));
    assert_eq!(teeth(Some(3.0)), Some(12));
    assert_eq!(teeth(Some(9.0)), None);
}

/// What is said first: the choice, and why no more.
#[test]
fn the_first_sentences_name_the_pinion_and_the_reason() {
    let folder = rig_folder("rig.toml", "kv_rpm_per_v = 1650", "kv_rpm_per_v = 1650");
    let said = |more: &[&str]| {
        let arguments = [&["gearing", "mine", "--out", "o"], more].concat();
        let said = good(folder.path(), &arguments);
        let lines = said.lines().filter(|line| line.starts_with("- ")).take(2);
        lines.collect::<Vec<_>>().join("\n")
    };
    let free = said(&[]);
    assert!(
        free.starts_with("- The largest pinion that climbs 13.1 degrees without a fault has 20 teeth.\n- 21 teeth: binds"),
        "{free}"
    );
    let wanted = said(&["--wanted-m-s", "3"]);
    assert!(
        wanted.starts_with("- A pinion of 12 teeth makes 3.00 m/s, climbs 13.1 degrees and"),
        "{wanted}"
    );
    let few = said(&["--teeth", "12..12"]);
    assert!(
        few.starts_with("- The largest pinion tried, 12 teeth, climbs 13.1 degrees without a fault.\n- With 12 teeth"),
        "{few}"
    );
    let steep = said(&["--grade-deg", "40"]);
    assert!(
        steep.starts_with(
            "- No pinion tried climbs 40.0 degrees without a fault.\n- 13 teeth: the tyres slip"
        ),
        "{steep}"
    );
    let quick = said(&["--wanted-m-s", "9"]);
    assert!(
        quick.starts_with("- No pinion tried makes 9.00 m/s and climbs 13.1 degrees"),
        "{quick}"
    );
}

#[test]
fn the_program_writes_table_picture_page_and_record() {
    let folder = rig_folder("rig.toml", "kv_rpm_per_v = 1650", "kv_rpm_per_v = 1100");
    let arguments = ["gearing", "--teeth", "10..14", "--match", "mine/rig.toml", "--out", "o"];
    let said = good(folder.path(), &arguments);
    assert!(said.contains("13 *") && said.contains("19 teeth come nearest"), "{said}");
    // Up to what is said in sentences after the tables.
    let tables = said.split("\n\n- ").next().unwrap();
    assert!(tables.contains("contact ratio") && tables.contains("launch"), "{said}");
    assert!(tables.lines().all(|line| line.chars().count() <= 100), "{tables}");
    let table = fs::read_to_string(folder.path().join("o/gearing.csv")).unwrap();
    assert_eq!(table.lines().count(), 6);
    let page = fs::read_to_string(folder.path().join("o/report.html")).unwrap();
    assert!(page.contains("contact ratio") && page.contains("<svg"));
    assert!(folder.path().join("o/gearing.png").exists());
    let text = good(folder.path(), &["gearing", "mine", "--json"]);
    let record: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(record["pinions"].as_array().unwrap().len(), 21);
    assert!(folder.path().join("out/mine-gearing/run.json").exists());
}

#[test]
fn old_rigs_go_on_and_wrong_words_are_refused() {
    let folder = rig_folder("rig.toml", "module_mm = 0.8 ", "module_mm = 8000 ");
    let said = refused(folder.path(), &["gearing", "mine"]);
    assert!(said.contains("mesh.module_mm is 8000; allowed is 0.1 to 10"), "{said}");
    let folder = rig_folder("rig.toml", "centre_least_mm", "# centre_least_mm");
    let said = refused(folder.path(), &["gearing", "mine"]);
    assert!(said.contains("come together"), "{said}");
    for teeth in ["20..9", "4..9", "x", "9..201"] {
        let said = refused(folder.path(), &["gearing", "--teeth", teeth]);
        assert!(said.contains("from 5 to 200"), "{said}");
    }
    // A rig without [mesh].
    let folder = rig_folder("rig.toml", "cells = 3", "cells = 3");
    let path = folder.path().join("mine/rig.toml");
    let text = fs::read_to_string(&path).unwrap();
    let (head, rest) = text.split_once("[mesh]").unwrap();
    let (_, tail) = rest.split_once("[motor]").unwrap();
    fs::write(&path, format!("{head}[motor]{tail}")).unwrap();
    let said = good(folder.path(), &["gearing", "mine", "--out", "o"]);
    assert!(said.contains("Without [mesh]") && !said.contains("backlash"), "{said}");
}
