//! The lamp's numbers against the scores of the same drive, measured on the finished run.
#![allow(
    clippy::arithmetic_side_effects,
    clippy::as_conversions,
    clippy::float_arithmetic,
    clippy::float_cmp,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::unwrap_used,
    missing_docs,
    reason = "tests compute and panic"
)]

mod common;

use common::{drive, held, session};
use easeoff_live::logic::bog::Bog;
use easeoff_sim::run::{DEFAULT_STEP_S, simulate};
use easeoff_sim::score::{Value, scores};

#[test]
fn mask_and_notice_time_are_those_of_the_scores() {
    let mut masks = Vec::new();
    for authority in [None, Some(0.1_f32), Some(1.0)] {
        let mut session = session("snag");
        let mut sheet = *session.tunes.now();
        sheet.hold.on = authority.is_some();
        sheet.hold.is.authority = authority.unwrap_or(0.1);
        session.tunes.change(sheet, "hold.authority", 0.0);
        let mut now_s = drive(&mut session, 0.0, 0.8, &held(0.0));
        let mut hidden = 0;
        // The score's steady speed under the load is that of its last half second.
        while now_s < 10.0 {
            now_s = drive(&mut session, now_s, 0.1, &held(0.32));
            hidden += u32::from(session.watch().bog() == Bog::Hidden);
        }
        assert!(hidden > 5, "the lamp was lit: {hidden}");
        let ours = *session.watch().load().unwrap();
        let mut scenario = session.scenario().clone();
        scenario.hand.duration_s = session.ticks() as f64 * 1.0e-3;
        let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
        let scored = scores(&scenario, &run, 12.0, DEFAULT_STEP_S).unwrap();
        let value = |name: &str| scored.value(name);
        match value("notice time") {
            Value::Is(notice_s) => assert!((ours.notice_s.unwrap() - notice_s).abs() < 1.5e-3),
            _ => assert_eq!(ours.notice_s, None),
        }
        for (name, ours) in [("hidden torque", ours.hidden_n_m), ("hidden heat", ours.hidden_j)] {
            let due = value(name).number().unwrap();
            assert!((ours - due).abs() < 1.0e-6 * due, "{name}: {ours}, not {due}");
        }
        let due = value("mask").number().unwrap();
        let mask = ours.mask.unwrap();
        // The scores compare with a whole run without hold, which comes to the load at another speed.
        assert!((mask - due).abs() < 0.1, "{authority:?}: mask {mask}, not {due}");
        masks.push(mask);
    }
    assert!(masks[0].abs() < 0.05 && masks[2] > 0.5 && masks[1] < masks[2], "{masks:?}");
}
