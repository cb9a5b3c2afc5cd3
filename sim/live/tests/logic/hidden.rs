//! The lamp's numbers against the scores of the same drive, measured on the finished run.

use easeoff_live::logic::bog::{Bog, Why};
use easeoff_sim::run::{DEFAULT_STEP_S, Method, simulate};
use easeoff_sim::score::episode::NoPace;
use easeoff_sim::score::{
    HIDDEN_HEAT, HIDDEN_TORQUE, MASKING, NOTICE_TIME, SPEED_DROP, ScoreRow, Value,
};
use easeoff_sim::study::measured::Measuring;

use crate::common::{drive, held, session};

#[test]
fn mask_and_notice_time_are_those_of_the_scores() {
    let mut maskings = Vec::new();
    for authority in [None, Some(0.1_f32), Some(1.0)] {
        let mut session = session("snag");
        let mut sheet = *session.tunes.now();
        sheet.switch("hold.on", authority.is_some());
        sheet.set_number("hold.authority", authority.unwrap_or(0.1));
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
        scenario.driver.duration_s = session.ticks() as f64 * 1.0e-3;
        let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
        let scored = Measuring::own(Method::default()).all(&scenario, &run).unwrap();
        let value = |score: &ScoreRow| scored.value(score);
        match value(&NOTICE_TIME) {
            Value::Is(notice_s) => assert!((ours.notice_s.unwrap() - notice_s).abs() < 1.5e-3),
            _ => assert_eq!(ours.notice_s, None),
        }
        for (score, ours) in [(&HIDDEN_TORQUE, ours.hidden_n_m), (&HIDDEN_HEAT, ours.hidden_j)] {
            let due = value(score).number().unwrap();
            assert!((ours - due).abs() < 1.0e-6 * due, "{score:?}: {ours}, not {due}");
        }
        let due = value(&MASKING).number().unwrap();
        let masking = ours.masking.unwrap();
        // The scores compare with a whole run without hold, which comes to the load at another speed.
        assert!((masking - due).abs() < 0.1, "{authority:?}: masking {masking}, not {due}");
        maskings.push(masking);
    }
    assert!(
        maskings[0].abs() < 0.05 && maskings[2] > 0.5 && maskings[1] < maskings[2],
        "{maskings:?}"
    );
}

/// The hand lets go while the load still pulls, after it was seen and before it acts: notice time and what was
/// hidden run on, as the scores have it.
#[test]
fn a_load_that_ends_early_is_noticed_when_the_scores_say() {
    let mut differ = 0;
    for let_go_s in [0.0, 0.3, 0.6, 0.74, 0.8] {
        let mut session = session("snag");
        let mut sheet = *session.tunes.now();
        sheet.switch("hold.on", false);
        session.tunes.change(sheet, "hold.on", 0.0);
        let mut now_s = drive(&mut session, 0.0, 0.8, &held(0.0));
        // A tick at a time from when it is seen.
        while session.watch().load().is_none_or(|load| load.seen_s.is_none()) {
            now_s = drive(&mut session, now_s, 0.001, &held(0.32));
            assert!(now_s < 20.0);
        }
        now_s = drive(&mut session, now_s, let_go_s, &held(0.32));
        let under_way = session.watch().load().unwrap().notice_s.is_none();
        // Lifted a little, it still pulls, but it is no held load any more.
        now_s = drive(&mut session, now_s, 0.1, &held(0.2));
        let pulls = session.row().unwrap().flows.snag_n_m > 0.0;
        assert_eq!(session.watch().bog() == Bog::Unmeasured(Why::Moved), pulls);
        differ += u32::from(pulls && under_way);
        drive(&mut session, now_s, 2.0, &held(0.2));
        let ours = *session.watch().load().unwrap();
        let mut scenario = session.scenario().clone();
        scenario.driver.duration_s = session.ticks() as f64 * 1.0e-3;
        let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
        let scored = Measuring::own(Method::default()).all(&scenario, &run).unwrap();
        let due = |score: &ScoreRow| scored.value(score).number().unwrap();
        assert!((ours.notice_s.unwrap() - due(&NOTICE_TIME)).abs() < 1.5e-3, "{let_go_s}");
        for (score, ours) in [(&HIDDEN_TORQUE, ours.hidden_n_m), (&HIDDEN_HEAT, ours.hidden_j)] {
            assert!(
                (ours - due(score)).abs() < 1.0e-6 * due(score),
                "{let_go_s}: {score:?}: {ours}"
            );
        }
    }
    assert!(differ >= 3, "{differ}");
}

/// A rig that stands when the snag catches, or hardly drives: something pulls, and the lamp says so.
#[test]
fn a_load_met_at_a_crawl_pulls_but_is_not_measured() {
    let mut loaded = easeoff_live::logic::load::Loaded::demo("snag").unwrap();
    let start_m = loaded.scenario.course.start_m;
    loaded.scenario.course.snags[0].at_m = start_m + 0.005;
    let mut session = easeoff_live::logic::session::Session::new(loaded).unwrap();
    let mut now_s = drive(&mut session, 0.0, 0.8, &held(0.0));
    let mut seen = 0;
    while now_s < 3.0 {
        now_s = drive(&mut session, now_s, 0.02, &held(0.32));
        let pulls = session.row().unwrap().flows.snag_n_m > 0.0;
        let said = session.watch().bog();
        assert_eq!(said == Bog::Unmeasured(Why::NoPace(NoPace::Slow)), pulls, "{said:?}");
        seen += u32::from(pulls);
    }
    assert!(seen > 20 && session.watch().load().is_none(), "{seen}");
}

/// Full throttle from rest, and the snag catches while the rig still gathers speed: from a mean that it was
/// never driven at no speed drop can be told, and the scores say the same.
#[test]
fn a_load_met_while_gathering_speed_is_not_measured() {
    for (distance_m, steady) in [(0.6, false), (6.0, true)] {
        let mut loaded = easeoff_live::logic::load::Loaded::demo("snag").unwrap();
        loaded.scenario.course.snags[0].at_m = loaded.scenario.course.start_m + distance_m;
        let mut session = easeoff_live::logic::session::Session::new(loaded).unwrap();
        let mut now_s = drive(&mut session, 0.0, 0.8, &held(0.0));
        let mut changing = 0;
        while now_s < 4.0 {
            now_s = drive(&mut session, now_s, 0.02, &held(0.9));
            let why = Bog::Unmeasured(Why::NoPace(NoPace::Changing));
            changing += u32::from(session.watch().bog() == why);
        }
        assert_eq!(changing > 20, !steady, "{distance_m} m: {changing}");
        assert_eq!(session.watch().load().is_some(), steady, "{distance_m} m");
        let mut scenario = session.scenario().clone();
        scenario.driver.duration_s = session.ticks() as f64 * 1.0e-3;
        let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
        assert!(run.rows.iter().any(|row| row.flows.snag_n_m > 0.0));
        let scored = Measuring::own(Method::default()).all(&scenario, &run).unwrap();
        for score in [&SPEED_DROP, &MASKING, &NOTICE_TIME, &HIDDEN_TORQUE, &HIDDEN_HEAT] {
            let measured = scored.value(score) != Value::NotInThisRun;
            assert_eq!(measured, steady, "{distance_m} m: {score:?}");
        }
    }
}

/// Uphill a bounded hold loses speed to the slope as well: that is not the load's. By whole runs: the rig with and
/// without hold, each with the load and without it, all the same up to the load's start.
#[test]
fn what_the_slope_takes_is_not_the_loads() {
    let mut loaded = easeoff_live::logic::load::Loaded::demo("snag").unwrap();
    let at_m = loaded.scenario.course.snags[0].at_m;
    loaded.scenario.course.profile_m =
        vec![[-5.0, 0.0], [at_m + 0.3, 0.0], [at_m + 10.3, 2.0], [at_m + 60.0, 2.0]];
    loaded.scenario.course.snags[0].break_n_m = 0.6;
    loaded.scenario.tune.hold.as_mut().unwrap().authority = 0.02;
    let mut session = easeoff_live::logic::session::Session::new(loaded).unwrap();
    let mut now_s = drive(&mut session, 0.0, 0.8, &held(0.0));
    while session.watch().load().is_none() {
        now_s = drive(&mut session, now_s, 0.02, &held(0.4));
        assert!(now_s < 20.0);
    }
    drive(&mut session, now_s, 1.5, &held(0.4));
    let ours = *session.watch().load().unwrap();
    let speed_m_s = |hold: bool, load: bool| {
        let mut scenario = session.scenario().clone();
        scenario.driver.duration_s = session.ticks() as f64 * 1.0e-3;
        if !hold {
            let tune = easeoff_core::Settings { hold: None, ..*session.in_force() };
            // The tick after the one in which it began.
            let at_s = ours.from_s + 1.0e-3;
            scenario.driver.retunes.push(easeoff_sim::files::retune::Retune { at_s, tune });
        }
        if !load {
            // Where it stands the way there is the same.
            scenario.course.snags[0].stiffness_n_m_per_rad = 1.0e-9;
        }
        let run = simulate(&scenario, DEFAULT_STEP_S).unwrap();
        let rows = &run.rows[run.rows.len() - 500..];
        rows.iter().map(|row| row.wheel_speed_m_s()).sum::<f64>() / 500.0
    };
    let drop = |hold: bool| 1.0 - speed_m_s(hold, true) / speed_m_s(hold, false);
    let (masking, due) = (ours.masking.unwrap(), 1.0 - drop(true) / drop(false));
    assert!((masking - due).abs() < 0.01, "{masking}, not {due}");
    // Both measured from the speed before, slope and load would have been one.
    let both = |hold: bool| 1.0 - speed_m_s(hold, true) / ours.before_m_s;
    let naive = 1.0 - both(true) / both(false);
    assert!((naive - due).abs() > 0.05, "{naive} and {due}: the slope matters here");
}
