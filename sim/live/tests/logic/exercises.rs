//! Every exercise can be done, and can be failed where it has a way to fail.

use easeoff_live::logic::exercise::{Exercise, Verdict, best, groups};
use easeoff_live::logic::scenes::SCENES;
use easeoff_live::logic::session::Session;
use easeoff_sim::run::Row;

use crate::common::{FRAME_S, held, session};

/// Drives an exercise with a throttle by what is seen; its verdict, if it comes within a minute.
fn attempt(
    session: &mut Session,
    exercise: Exercise,
    throttle: impl Fn(&Row) -> f64,
) -> Option<Verdict> {
    let scene = SCENES.iter().position(|scene| scene.exercise == Some(exercise)).unwrap();
    session.enter(scene).unwrap();
    drive_on(session, throttle)
}

fn drive_on(session: &mut Session, throttle: impl Fn(&Row) -> f64) -> Option<Verdict> {
    let mut now_s = crate::common::drive(session, 0.0, 0.8, &held(0.0));
    while now_s < 60.0 {
        now_s += FRAME_S;
        let position = session.row().map_or(0.0, &throttle);
        session.frame(now_s, &held(position));
        if let Some(verdict) = session.referee().and_then(|referee| referee.verdict()) {
            return Some(verdict.clone());
        }
        if session.over().is_some() {
            break;
        }
    }
    None
}

fn place(row: &Row) -> f64 {
    row.plant.now.place_m
}

#[test]
fn stopping_is_measured_from_the_mark() {
    let mut session = session("garden");
    let stop_at = |place_m: f64| move |row: &Row| if place(row) < place_m { 0.4 } else { 0.0 };
    let early = attempt(&mut session, Exercise::StopOnMark, stop_at(5.0)).unwrap();
    assert!(early.words.contains("short of"), "{early:?}");
    let near = attempt(&mut session, Exercise::StopOnMark, stop_at(7.6)).unwrap();
    assert!(near.score.unwrap() < early.score.unwrap(), "{near:?} {early:?}");
    let row = session.row().unwrap();
    assert!((100.0 * (place(row) - 8.0).abs() - near.score.unwrap()).abs() < 0.1);
    assert_eq!(best(session.attempts.iter()), near.score);
}

#[test]
fn the_step_is_crawled_or_an_axle_lifts() {
    let mut session = session("garden");
    // Slow enough to keep both axles down.
    let crawl = attempt(&mut session, Exercise::CrawlStep, |_| 0.45).unwrap();
    assert!(crawl.score.is_some_and(|torque| (0.1..20.0).contains(&torque)), "{crawl:?}");
    // A rig as tall as a ladder tips at the bank.
    session = {
        let mut loaded = easeoff_live::logic::load::Loaded::demo("garden").unwrap();
        loaded.scenario.rig.vehicle.cg_height_m = 0.4;
        Session::new(loaded).unwrap()
    };
    let tall = attempt(&mut session, Exercise::CrawlStep, |_| 0.45).unwrap();
    assert!(tall.score.is_none() && tall.words.contains("lifted"), "{tall:?}");
}

/// Off and bounded the wheels slow where a hand can feel it; with all it wants the part breaks unseen, unless
/// the hand lifts off at once.
#[test]
fn the_snag_is_felt_or_the_part_breaks() {
    let mut session = session("garden");
    let stubborn = attempt(&mut session, Exercise::FeelSnag, |_| 0.4).unwrap();
    assert!(stubborn.score.is_none() && stubborn.words.contains("broke"), "{stubborn:?}");
    let lifts = |row: &Row| if row.flows.snag_n_m > 0.5 { 0.0 } else { 0.4 };
    let quick = attempt(&mut session, Exercise::FeelSnag, lifts).unwrap();
    assert!((0.1..1.0).contains(&quick.score.unwrap()), "{quick:?}");
    assert_eq!(session.attempts.len(), 2);
}

#[test]
fn the_climb_is_done_in_time_or_not() {
    let mut session = session("garden");
    let done = attempt(&mut session, Exercise::KeepCool, |_| 1.0).unwrap();
    let gently = attempt(&mut session, Exercise::KeepCool, |_| 0.6).unwrap();
    let [done_j, gently_j] = [done, gently].map(|verdict| verdict.score.unwrap());
    // Haste and patience differ by more than a tenth, so that there is something to find.
    assert!(done_j > 5.0 && (done_j - gently_j).abs() > 0.1 * done_j, "{done_j} and {gently_j} J");
    let lazy = attempt(&mut session, Exercise::KeepCool, |_| 0.0).unwrap();
    assert!(lazy.score.is_none() && lazy.words.contains("after 30 s"), "{lazy:?}");
}

/// Coasting into the snag, giving throttle as it catches, switching the transmitter off: no attempt at all.
#[test]
fn a_snag_that_meets_no_held_throttle_does_not_count() {
    let mut session = session("garden");
    let mut free = *session.tunes.now();
    free.full.drag.strength = 0.0;
    session.tunes.change(free, "drag.strength", 0.0);
    let coasts = |row: &Row| if place(row) < 5.8 { 0.4 } else { 0.0 };
    let pumps = |row: &Row| if row.time_s % 0.4 < 0.2 { 0.5 } else { 0.3 };
    for verdict in [
        attempt(&mut session, Exercise::FeelSnag, coasts).unwrap(),
        attempt(&mut session, Exercise::FeelSnag, pumps).unwrap(),
    ] {
        assert!(!verdict.counts && verdict.words.contains("not held"), "{verdict:?}");
    }
    let scene = SCENES.iter().position(|scene| scene.exercise == Some(Exercise::FeelSnag)).unwrap();
    session.enter(scene).unwrap();
    let mut now_s = crate::common::drive(&mut session, 0.0, 0.8, &held(0.0));
    while session.row().unwrap().flows.snag_n_m <= 0.0 {
        now_s = crate::common::drive(&mut session, now_s, 0.02, &held(0.4));
        assert!(now_s < 30.0);
    }
    session.transmit(false);
    crate::common::drive(&mut session, now_s, 1.0, &held(0.4));
    let verdict = session.referee().and_then(|referee| referee.verdict()).unwrap().clone();
    assert!(!verdict.counts || verdict.score.is_none(), "{verdict:?}");
    assert!(session.attempts.iter().all(|attempt| attempt.verdict.score.is_none()));
}

/// Driving on over the end, and going back to the start on the way, are attempts that failed.
#[test]
fn who_does_not_finish_has_failed() {
    let mut session = session("garden");
    let over = attempt(&mut session, Exercise::StopOnMark, |_| 1.0).unwrap();
    assert!(over.score.is_none() && over.words.contains("end of the course"), "{over:?}");
    assert!(session.over().is_some());
    assert_eq!(session.attempts.len(), 1);
    // Before anything was begun there is nothing to give up.
    let scene = session.scene();
    session.enter(scene).unwrap();
    crate::common::drive(&mut session, 0.0, 1.0, &held(0.0));
    session.reset().unwrap();
    assert_eq!(session.attempts.len(), 1);
    let now_s = crate::common::drive(&mut session, 0.0, 0.8, &held(0.0));
    crate::common::drive(&mut session, now_s, 2.5, &held(0.5));
    session.enter(0).unwrap();
    let last = session.attempts.last().unwrap();
    assert_eq!(session.attempts.len(), 2);
    assert!(last.verdict.score.is_none() && last.verdict.words.contains("Given up"), "{last:?}");
}

/// What an attempt was driven with is that of its whole way; means are of one tune each.
#[test]
fn attempts_are_grouped_by_the_tune_of_their_whole_way() {
    let mut session = session("garden");
    let stop = |row: &Row| if place(row) < 7.0 { 0.4 } else { 0.0 };
    let hold = |session: &mut Session, authority: Option<f32>| {
        let mut sheet = *session.tunes.now();
        sheet.switch("hold.on", authority.is_some());
        sheet.set_number("hold.authority", authority.unwrap_or(0.1));
        session.tunes.change(sheet, "hold.on", 0.0);
    };
    for authority in [None, Some(0.1), None, Some(1.0)] {
        hold(&mut session, authority);
        attempt(&mut session, Exercise::StopOnMark, stop).unwrap();
    }
    // Changed before anything was begun: still one tune.
    let scene = session.scene();
    session.enter(scene).unwrap();
    hold(&mut session, None);
    drive_on(&mut session, stop).unwrap();
    // Changed on the way, and back: under none.
    session.enter(scene).unwrap();
    let now_s = crate::common::drive(&mut session, 0.0, 0.8, &held(0.0));
    let now_s = crate::common::drive(&mut session, now_s, 2.5, &held(0.4));
    hold(&mut session, Some(1.0));
    let now_s = crate::common::drive(&mut session, now_s, 0.2, &held(0.4));
    hold(&mut session, None);
    crate::common::drive(&mut session, now_s, 6.0, &held(0.0));
    assert_eq!(session.attempts.len(), 6);
    assert_eq!(session.attempts[5].under.hold(), "changed on the way");
    let groups = groups(session.attempts.iter().enumerate());
    let members: Vec<_> = groups.iter().map(|group| group.attempts.clone()).collect();
    assert_eq!(members, [vec![0, 2, 4], vec![1], vec![3]]);
    let scores: Vec<f64> =
        [0, 2, 4].iter().map(|index| session.attempts[*index].verdict.score.unwrap()).collect();
    assert_eq!(groups[0].mean(), Some(scores.iter().sum::<f64>() / 3.0));
    assert_eq!(groups[1].under.hold(), "on, may add 10 %");
}

/// A stronger rig meets a stronger snag.
#[test]
fn the_part_of_a_stronger_rig_can_break_too() {
    let mut loaded = easeoff_live::logic::load::Loaded::demo("garden").unwrap();
    loaded.scenario.rig.gears.rating_n_m = 4.4;
    let hold = loaded.scenario.tune.hold.as_mut().unwrap();
    hold.authority = 1.0;
    let mut session = Session::new(loaded).unwrap();
    let stubborn = attempt(&mut session, Exercise::FeelSnag, |_| 0.8).unwrap();
    assert!(stubborn.score.is_none() && stubborn.words.contains("broke at 4.4"), "{stubborn:?}");
}
