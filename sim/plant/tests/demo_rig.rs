//! Parts of the demo's rig against published values and algebra.
#![allow(clippy::unwrap_used, missing_docs, reason = "tests panic")]

use easeoff_plant::ground::Patch;
use easeoff_plant::heating::{Temperatures, heating};
use easeoff_plant::parts::bridge::{Action, Bridge};
use easeoff_plant::parts::motor::Motor;
use easeoff_plant::parts::motor_kind::Machine;
use easeoff_plant::parts::switching::Switching;
use easeoff_plant::parts::tyre::Tyres;
use easeoff_plant::rig::{BridgeData, Rig};

fn rig() -> Rig {
    easeoff_sim::files::demo::rig().unwrap()
}

/// A lump behind one resistance ends at `P R` above the air.
#[test]
fn switches_warm_to_where_their_heat_leaves() {
    let rig = rig();
    let data = BridgeData { resistance_per_k: 0.005, to_air_k_per_w: 8.0, ..rig.bridge.clone() };
    let bridge = Bridge::new(&data, &rig.vehicle);
    assert!((bridge.heating(5.0, rig.vehicle.air_c + 40.0)).abs() < 1e-12);
    assert!((bridge.resistance_at(100.0) / data.resistance_ohm - 1.4).abs() < 1e-12);
}

/// T4 and T5: IEC 60028's 0.00393/K (second hand) gives 1.3144 from 20 to 100 degrees C; the rule
/// (235 + T_2) / (235 + T_1) of IEC 60034-1 (from memory) 1.3137.
#[test]
fn copper_resists_more_when_hot() {
    let motor = Motor::new(&rig().motor);
    let ratio = motor.resistance_at(100.0) / motor.resistance_at(20.0);
    assert!((ratio - 1.314_4).abs() < 1e-9, "{ratio}");
    assert!((ratio - 335.0 / 255.0).abs() < 1e-3);
}

/// Over many periods, cut into odd steps, each position has its share of the time.
#[test]
fn positions_have_their_share_of_the_time() {
    let data = rig().bridge;
    let switching = Switching::new(1_000.0, &BridgeData { synchronous: true, ..data });
    for (action, share, on, off) in [
        (Action::Drive(-0.3), 0.3, Action::Drive(-1.0), Action::Brake(1.0)),
        (Action::Drive(1.0), 1.0, Action::Drive(1.0), Action::Brake(1.0)),
        (Action::Brake(0.625), 0.625, Action::Brake(1.0), Action::Open),
        (Action::Brake(0.0), 0.0, Action::Brake(1.0), Action::Open),
    ] {
        let (mut phase_s, mut on_s, mut all_s) = (0.0, 0.0, 0.0);
        for _ in 0..7_000 {
            let mut left_s = 0.37e-3;
            while left_s > 1.0e-12 {
                let (now, stretch_s) = switching.next(&mut phase_s, action, left_s);
                assert!(now == on || now == off);
                on_s += if now == on { stretch_s } else { 0.0 };
                left_s -= stretch_s;
            }
            all_s += 0.37e-3;
        }
        assert!((on_s / all_s - share).abs() < 1.0e-6, "{action:?}: {}", on_s / all_s);
    }
}

/// However fast a wheel begins to slide, it never pulls with more than a tenth above its peak friction.
#[test]
fn a_fast_slide_pulls_no_more_than_the_friction() {
    let tyres = Tyres::new(&rig().wheels);
    let on = Patch { grip: 0.8, grip_sliding: 0.6, rolling: 0.0 };
    for slip in [0.05, 0.3, 1.0, 5.0, 30.0] {
        let (mut bristle, mut most) = (0.0, 0.0_f64);
        for _ in 0..20_000 {
            let (force, rate) = tyres.grip(bristle, slip, on);
            most = most.max(force);
            bristle += 1.0e-6 / slip * rate;
        }
        assert!((0.58..0.88).contains(&most), "{most} at {slip} m/s");
    }
}

/// Lumps behind resistances end at the air's temperature and `P (R_1 + R_2)`; a lump by itself
/// warms as `1 - exp(-t / R C)` (algebra).
#[test]
fn it_ends_where_heat_leaves_and_is_hot_when_the_exponential_says() {
    let mut rig = rig();
    rig.motor.winding_limit_c = 130.0;
    let cold = Temperatures::cold(&rig);
    let cool = heating(&rig, cold, |_| [10.0, 5.0]);
    assert_eq!(cool.limit_s, None);
    let resistance = rig.motor.winding_to_case_k_per_w + rig.motor.case_to_air_k_per_w;
    assert!((cool.end.winding_c - (20.0 + 10.0 * resistance)).abs() < 0.02);
    // With nowhere to go, the heat is all in winding and case: `P t = C_w dT_w + C_c dT_c`.
    let mut closed = rig.clone();
    closed.motor.case_to_air_k_per_w = 1.0e9;
    let found = heating(&closed, cold, |_| [30.0, 0.0]);
    let kept_j = closed.motor.winding_j_per_k * (found.end.winding_c - 20.0)
        + closed.motor.case_j_per_k * (found.end.case_c - 20.0);
    assert!((kept_j / (30.0 * found.limit_s.unwrap()) - 1.0).abs() < 1e-6, "{kept_j} J");
    // 20 W in a bridge of 9 K/W and 8 J/K ends 180 K above the air; 90 K of it after R C ln 2.
    let hot = heating(&rig, cold, |_| [0.0, 20.0]).limit_s.unwrap();
    assert!((hot / (9.0 * 8.0 * std::f64::consts::LN_2) - 1.0).abs() < 0.01, "{hot}");
}
