//! Every exercise can be done, and can be failed where it has a way to fail.
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

use common::{FRAME_S, held, session};
use easeoff_live::logic::exercise::{Exercise, Verdict, best};
use easeoff_live::logic::scenes::SCENES;
use easeoff_live::logic::session::Session;
use easeoff_sim::run::Row;

/// Drives an exercise with a throttle by what is seen; its verdict, if it comes within a minute.
fn attempt(
    session: &mut Session,
    exercise: Exercise,
    throttle: impl Fn(&Row) -> f64,
) -> Option<Verdict> {
    let scene = SCENES.iter().position(|scene| scene.exercise == Some(exercise)).unwrap();
    session.enter(scene).unwrap();
    let mut now_s = common::drive(session, 0.0, 0.8, &held(0.0));
    while session.over().is_none() && now_s < 60.0 {
        now_s += FRAME_S;
        let position = session.row().map_or(0.0, &throttle);
        session.frame(now_s, &held(position));
        if let Some(verdict) = session.referee().and_then(|referee| referee.verdict()) {
            return Some(verdict.clone());
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
